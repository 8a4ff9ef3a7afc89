"""Doing something again whenever a file changes, for ``asfound check --watch``."""

from __future__ import annotations

import queue
from collections.abc import Callable
from pathlib import Path

from watchdog.events import FileSystemEvent, FileSystemEventHandler
from watchdog.observers import Observer
from watchdog.observers.polling import PollingObserver

_CHANGES = ("created", "modified", "moved", "deleted")  # the check itself opens files and closes them
_QUIET = 0.1  # seconds without a further change: editors write a file in several steps


class _Changes(FileSystemEventHandler):
    def __init__(self) -> None:
        self.seen: queue.SimpleQueue[str] = queue.SimpleQueue()

    def on_any_event(self, event: FileSystemEvent) -> None:
        if event.event_type in _CHANGES:
            self.seen.put(str(event.src_path))

    def wait(self) -> None:
        """Until something has changed, and no more does."""
        self.seen.get()
        try:
            while True:
                self.seen.get(timeout=_QUIET)
        except queue.Empty:
            return


def watch(folder: Path, once: Callable[[], int]) -> int:
    """Calls ``once``, and again after each change below the folder, until Ctrl-C; what it returned last."""
    changes = _Changes()
    observer = Observer()
    observer.schedule(changes, str(folder), recursive=True)
    try:
        observer.start()
    except OSError:  # the system watches no more folders, or none of this kind
        observer = PollingObserver()
        observer.schedule(changes, str(folder), recursive=True)
        observer.start()
    status = 0
    try:
        while True:
            status = once()
            changes.wait()
    except KeyboardInterrupt:
        return status
    finally:
        observer.stop()
        observer.join()
