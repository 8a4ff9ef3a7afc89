"""The corpus: small books, each with one thing in it that a stranger might send.

``cases/*.yml`` hold the cases, made over the sound book of ``tests/unit/rules_book.py``. What a case may say:

==============  ==============================================================================================
change          file, old text, new text; several
append, put     text at the end of a file, or a whole file; with ``modeline`` the first line is added
prose           the purpose of a recipe
big             one text many times over, as a file or in place of a text in one
encode, hex     a file in another encoding, or as bytes
rename, move    a file, or a recipe with what names it; ``copy``, ``remove``
twin, twins     the same recipe under a second name, or an empty one under two names
make            what is no ordinary file; or what is tedious to write out
picture         the picture of a recipe, of any format and size
==============  ==============================================================================================

``finds`` are all findings that are no consequence of others: file, line and id. ``ASFOUND_ACCEPT=1`` writes
them anew; read the difference.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import sys
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from struct import pack
from typing import Any
from zlib import compress, crc32

import yaml
from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "unit"))

import rules_book

from asfound.source.names import modeline, sort_out
from asfound.source.tree import Entry

Case = dict[str, Any]
CASES = Path(__file__).parent / "cases"
HELLO = "changes/hello/recipe.yml"
PLUG = "changes/brighter/plug.png"


def cases() -> dict[str, Case]:
    """Every case by its file and name."""
    return {
        f"{file.stem}/{case['case']}": case
        for file in sorted(CASES.glob("*.yml"))
        for case in yaml.safe_load(file.read_text("utf-8"))
    }


def write_base(folder: Path) -> None:
    """The sound book on disk."""
    tree = rules_book.book_of().tree
    for entry in tree.entries():
        path = folder / entry.path
        if entry.kind == "folder":
            path.mkdir(parents=True, exist_ok=True)
        else:
            path.write_bytes(tree.read(entry.path))


def make(case: Case, folder: Path) -> None:
    """What the case says, done to a sound book in ``folder``."""
    for step, value in case.items():
        if step not in ("case", "why", "finds", "modeline", "as"):
            STEPS[step](folder, value)
    for path in case.get("modeline", ()):
        kind = sort_out([Entry(path, "file")])[0][0].kind
        replace(folder, path, "", f"{modeline(kind, path)}\n")


def replace(folder: Path, path: str, old: str, new: str) -> None:
    file, old, new = folder / path, rules_book._filled(old), rules_book._filled(new)
    text = file.read_bytes().decode()
    assert old in text, f"{path} does not hold {old}"
    file.write_bytes(text.replace(old, new, 1).encode("utf-8", "surrogatepass"))


def _change(folder: Path, changes: list[list[str]]) -> None:
    for change in changes:
        replace(folder, *change)


def _append(folder: Path, texts: dict[str, str]) -> None:
    for path, text in texts.items():
        (folder / path).write_bytes((folder / path).read_bytes() + text.encode())


def _put(folder: Path, texts: dict[str, str]) -> None:
    for path, text in texts.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(rules_book._filled(text).encode())


def _prose(folder: Path, text: str) -> None:
    quoted = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    replace(folder, HELLO, "purpose: Joy.", f'purpose: "{quoted}"')


def _repeated(said: Case) -> str:
    return f"{said.get('before', '')}{said['repeat'] * said.get('times', 1)}{said.get('after', '')}"


def _big(folder: Path, said: Case) -> None:
    if "change" in said:
        replace(folder, said["file"], said["change"], _repeated(said))
    else:
        (folder / said["file"]).write_bytes(_repeated(said).encode())


def _encode(folder: Path, files: dict[str, str]) -> None:
    for path, encoding in files.items():
        (folder / path).write_bytes((folder / path).read_bytes().decode().encode(encoding))


def _hex(folder: Path, files: dict[str, str]) -> None:
    for path, content in files.items():
        (folder / path).write_bytes(bytes.fromhex(content))


def _fsname(name: str) -> str:
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "surrogateescape")


def _move(folder: Path, names: list[str]) -> None:
    """A recipe under another name, which its files say too."""
    old, new = names
    (folder / "changes" / old).rename(folder / "changes" / _fsname(new))
    quoted = "".join(s if s.isprintable() and s not in '"\\' else f"\\u{ord(s):04X}" for s in new)
    for file in (folder / "changes" / _fsname(new)).rglob("*.yml"):
        text = file.read_text("utf-8")
        file.write_text(text.replace(f"\nrecipe: {old}\n", f'\nrecipe: "{quoted}"\n'), "utf-8")


def _twin(folder: Path, names: list[str]) -> None:
    shutil.copytree(folder / "changes" / names[0], folder / "changes" / names[1])


def _twins(folder: Path, names: list[str]) -> None:
    for name in names:
        (folder / "changes" / name).mkdir()
        (folder / "changes" / name / "recipe.yml").write_text("recipe: cafe\n")


def _make(folder: Path, said: Case) -> None:
    path = folder / said["file"]
    match said["kind"]:
        case "unreadable":
            path.chmod(0)
            return
        case "deep":
            (path / "/".join("a" * said["levels"])).mkdir(parents=True)
            return
        case "stairs":
            path.write_text("".join(f"{' ' * n}a:\n" for n in range(said["levels"])))
            return
        case "branches":
            condition = "{equipped: screen}"
            for _ in range(said["depth"]):
                condition = f"{{any: [{condition}, {condition}]}}"
            replace(folder, said["file"], "fits: {equipped: screen}", f"fits: {condition}")
            return
        case "backticks":
            replace(folder, said["file"], "Joy.", "'" + " ".join("`" * n for n in range(1, 80)) + "'")
            return
        case "many":
            text = path.read_text("utf-8")
            text = re.sub(rf"(?ms)^{said['key']}:\n(?:  .*?\n)+(?=\S)", "", text)
            path.write_text(f"{text}{said['key']}:\n" + f"  - {said['entry']}\n" * said["times"], "utf-8")
            return
    if path.is_dir():
        shutil.rmtree(path)
    path.unlink(missing_ok=True)
    path.parent.mkdir(parents=True, exist_ok=True)
    match said["kind"]:
        case "link":
            path.symlink_to(said["to"])
        case "fifo":
            os.mkfifo(path)
        case "socket":
            here = os.getcwd()
            os.chdir(path.parent)  # a socket's path is short
            socket.socket(socket.AF_UNIX).bind(path.name)
            os.chdir(here)
        case "folder":
            path.mkdir()
        case "file":
            path.write_text("")
        case "sparse":
            with path.open("wb") as file:
                file.truncate(said["size"])


def _picture(folder: Path, said: Case) -> None:
    name = said.get("name", "plug.png")
    (folder / PLUG).unlink()
    (folder / "changes/brighter" / name).write_bytes(picture(said))
    if name != "plug.png":
        for key in ("picture", "file"):
            replace(folder, "changes/brighter/recipe.yml", f"{key}: plug.png", f"{key}: {name}")


def picture(said: Case) -> bytes:
    """The bytes that a case describes."""
    if "text" in said:
        return str(said["text"]).encode()
    if "hex" in said:
        return bytes.fromhex(said["hex"])
    if "claims" in said:
        return b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", pack(">II5B", *said["claims"], 8, 0, 0, 0, 0))
    if "bomb" in said:
        (width, height), colours = said["bomb"], "colours" in said  # 32 bits a pixel, or one
        kind = (8, 6) if colours else (1, 0)
        head = _chunk(b"IHDR", pack(">II5B", width, height, *kind, 0, 0, 0))
        rows = compress(bytes(((width * 4 if colours else width // 8) + 1) * height), 1)
        return b"\x89PNG\r\n\x1a\n" + head + _chunk(b"IDAT", rows) + _chunk(b"IEND", b"")
    width, height = (said.get(key, said.get("side", 8)) for key in ("width", "height"))
    shape = Image.new(said.get("mode", "RGB"), (width, height))
    if "side" in said:  # something that does not pack into a few bytes
        shape.putdata([(x * 7 % 256, x * x % 256, x * 3 % 256) for x in range(width * height)])
    content, more = BytesIO(), {key: said[key] for key in ("progressive",) if key in said}
    if "frames" in said:
        others = [Image.new("RGB", (width, height), (9 * n, 0, 0)) for n in range(1, said["frames"])]
        more |= {"save_all": True, "append_images": others}
    shape.save(content, said["format"], **more)
    raw = bytearray(content.getvalue())
    if "spoil" in said:
        raw[int(len(raw) * said["spoil"])] ^= 0xFF
    if "cut" in said:
        del raw[int(len(raw) * said["cut"]) :]
    return bytes(raw) + said.get("tail", "").encode()


def _chunk(kind: bytes, content: bytes) -> bytes:
    return pack(">I", len(content)) + kind + content + pack(">I", crc32(kind + content))


STEPS: dict[str, Callable[[Path, Any], None]] = {
    "append": _append,
    "big": _big,
    "big-prose": lambda folder, said: _prose(folder, _repeated(said)),
    "change": _change,
    "copy": lambda folder, paths: shutil.copy(folder / paths[0], folder / paths[1]) and None,
    "encode": _encode,
    "hex": _hex,
    "make": _make,
    "move": _move,
    "picture": _picture,
    "prose": _prose,
    "put": _put,
    "remove": lambda folder, paths: [(folder / path).unlink() for path in paths] and None,
    "rename": lambda folder, paths: (folder / paths[0]).rename(folder / paths[1]) and None,
    "twin": _twin,
    "twins": _twins,
}
