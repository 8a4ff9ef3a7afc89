"""Doing something again whenever a file changes, for ``asfound check --watch``."""

from __future__ import annotations

import queue
from collections.abc import Callable, Iterable
from pathlib import Path

from watchdog.events import FileSystemEvent, FileSystemEventHandler
from watchdog.observers import Observer
from watchdog.observers.api import BaseObserver
from watchdog.observers.polling import PollingObserver

_CHANGES = ("created", "modified", "moved", "deleted")  # the check itself opens files and closes them
_QUIET = 0.1  # seconds without a further change: editors write a file in several steps


class Changes(FileSystemEventHandler):
    """What has changed below some folders."""

    def __init__(self) -> None:
        self.seen: queue.SimpleQueue[str] = queue.SimpleQueue()

    def on_any_event(self, event: FileSystemEvent) -> None:
        """Called for whatever happens to a file."""
        if event.event_type in _CHANGES:
            self.seen.put(str(event.src_path))
            if event.dest_path:
                self.seen.put(str(event.dest_path))

    def wait(self) -> set[Path]:
        """Until something has changed, and no more does; what."""
        changed = {self.seen.get()}
        try:
            while True:
                changed.add(self.seen.get(timeout=_QUIET))
        except queue.Empty:
            return {Path(path).resolve() for path in changed}


def observer(changes: Changes, folders: Iterable[Path]) -> BaseObserver:
    """Watches folders, by the system's means or else by looking again and again."""
    for kind in (Observer, PollingObserver):
        watching = kind()
        try:
            for folder in folders:
                watching.schedule(changes, str(folder), recursive=folder.is_dir())
            watching.start()
        except OSError:  # the system watches no more folders, or none of this kind
            continue
        return watching
    raise OSError("nothing here can watch folders")


def watch(folder: Path, once: Callable[[], int], wait: Callable[[], None]) -> int:
    """Calls ``once``, and again after each change below the folder, until Ctrl-C; what it returned last.

    ``wait`` is called when a call has returned and the next change is awaited.
    """
    changes = Changes()
    watching = observer(changes, (folder,))
    status = 0
    try:
        while True:
            status = once()
            wait()
            changes.wait()
    except KeyboardInterrupt:
        return status
    finally:
        watching.stop()
        watching.join()
