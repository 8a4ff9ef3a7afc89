"""A process that checks books: one path a line comes in, one line of JSON goes out.

Before the path stands ``as-nobody`` or ``as-is``: nothing is unreadable to root.

Each book gets a process of its own, so that time and memory are those of the check alone, and nothing that
one book does reaches the next. A check that does not end is ended.
"""

from __future__ import annotations

import json
import os
import resource
import signal
import sys
import time
import traceback
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages

from PIL import Image

import asfound
from asfound.rules.run import check_folder
from asfound.source import cache
from asfound.source.report import as_lines

SECONDS = 20  # of processor time, until a check is ended
NOBODY = 65534


def check(folder: Path, as_nobody: bool) -> dict[str, object]:
    """Findings and what would be printed; an error as its traceback."""
    if as_nobody and os.geteuid() == 0:
        os.setgid(NOBODY)
        os.setuid(NOBODY)
    begun = time.monotonic()
    try:
        _, findings = check_folder(folder)
        lines = list(as_lines(findings))
    except BaseException:
        return {"error": traceback.format_exc()}
    return {
        "seconds": time.monotonic() - begun,
        "findings": [[f.file, f.line, f.id, f.because] for f in findings],
        "lines": lines,
    }


def in_child(folder: Path, as_nobody: bool) -> dict[str, object]:
    """The same in a process of its own, with the memory it took."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
        signal.alarm(3 * SECONDS)
        with os.fdopen(write, "w") as out:
            json.dump(check(folder, as_nobody), out)
        os._exit(0)
    os.close(write)
    with os.fdopen(read) as answer:
        text = answer.read()
    _, status, usage = os.wait4(child, 0)
    said = json.loads(text) if text else {"error": f"the check was ended: status {status}"}
    return {**said, "megabytes": usage.ru_maxrss / 1024, "processor": usage.ru_utime + usage.ru_stime}


Image.init()
cache.program()  # reads all code once for all
for module in walk_packages(asfound.__path__, "asfound."):
    if module.name.split(".")[1] in ("source", "book", "rules"):
        import_module(module.name)
for line in sys.stdin:
    who, _, path = line.rstrip("\n").partition(" ")
    print(json.dumps(in_child(Path(path), who == "as-nobody")), flush=True)
