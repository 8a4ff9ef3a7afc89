"""A crew: this process and forked copies of it that share out the work on what it holds in memory.

Each copy has the state as it was at the fork, and keeps what it works out there; so the same subject should
always go to the same one. Answers come back in the order of the questions, a few at a time. This process
works along, since one more copy in its place would take as much memory again. What a copy cannot answer,
since it failed or was killed, is worked out here too, so that errors are raised where they would be without
a crew, and none is lost.

There is no crew where it would not pay or is not safe: on one core, without fork(2), in a program with
threads.
"""

from __future__ import annotations

import gc
import os
import pickle
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from multiprocessing.connection import Connection, Pipe, wait
from typing import Any, Generic, TypeVar

from .cache import CACHE

S = TypeVar("S")
T = TypeVar("T")
R = TypeVar("R")

_AHEAD = 64  # answers of one member held here while another is waited for


def cores() -> int:
    """How many processes pay: the cores this one may use; 1 where copies are not to be had."""
    if not hasattr(os, "fork") or sys.platform == "darwin" or threading.active_count() > 1:
        return 1
    asked = os.environ.get("ASFOUND_CORES", "")
    here = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return max(1, min(int(asked), 64)) if asked.isdigit() else min(here, 16)


class Crew(Generic[S]):
    """``state`` in ``size`` processes, this one among them; with a size of 1 everything is done here.

    ``busy``: this process has other things to do with the answers, and takes two parts to three of a copy;
    one beside two copies, none beside more. ``shares``: into how many equal parts the work is dealt out.
    ``close`` ends the copies; so does the end of this process, however it comes.
    """

    def __init__(self, state: S, size: int, busy: bool = False) -> None:
        self.state = state
        self.size = max(size, 1)
        self._members: list[_Member | None] = [None]  # this process first
        self._owners = [0]  # of each share
        if size > 1:
            gc.freeze()  # else the collector's marks would have each copy write to every shared page
            for _ in range(1, size):
                self._members.append(_fork(state, [one.line for one in self._members if one]))
            others = range(1, size)
            own = [[0]] if not busy else [[0] * (size < 4), [0] * (size < 3), []]
            # This process first, since it answers when it is that question's turn and the copies ahead of it.
            self._owners = [owner for one in own for owner in (*one, *others)]
        self.shares = len(self._owners)

    def everyone(self, work: Callable[..., object], *args: Any) -> None:
        """Has every copy do ``work(state, *args)``, and does it here too."""
        for member in filter(None, self._members):
            member.ask(("all", work, args))
        work(self.state, *args)

    def each(
        self, work: Callable[[S, T], R], items: Sequence[T], whose: Callable[[T], int] | None = None
    ) -> Iterator[R]:
        """``work(state, item)`` of each item, in order; ``work`` is a function of a module.

        The copies begin at once. ``whose`` numbers the items; those of one number, modulo the shares, are
        done by the same process. All answers must be taken before anything else is asked.
        """
        turns = [self._owners[(whose(item) if whose else at) % self.shares] for at, item in enumerate(items)]
        for turn, member in enumerate(self._members):
            if member:
                mine = [item for item, owner in zip(items, turns, strict=True) if owner == turn]
                member.ask(("each", work, mine))
        return self._answers(work, zip(items, turns, strict=True))

    def _answers(self, work: Callable[[S, T], R], asked: Iterable[tuple[T, int]]) -> Iterator[R]:
        for item, turn in asked:
            known, answer = self._answer(turn)
            yield answer if known else work(self.state, item)

    def _answer(self, turn: int) -> tuple[bool, Any]:
        member = self._members[turn]
        while member is not None and not member.answers:
            listening = [
                m for m in self._members if m is not None and (m is member or len(m.answers) < _AHEAD)
            ]
            ready = wait([m.line for m in listening])
            for one in listening:
                if one.line in ready and not one.listen() and one is member:
                    self._members[turn] = member = None
        return member.answers.popleft() if member is not None else (False, None)

    def close(self) -> None:
        """Ends the copies."""
        for member in filter(None, self._members):
            member.end()
        self._members, self._owners, self.size, self.shares = [None], [0], 1, 1


class _Member:
    def __init__(self, pid: int, line: Connection) -> None:
        self.pid, self.line = pid, line
        self.answers: deque[tuple[bool, Any]] = deque()

    def ask(self, question: object) -> None:
        with suppress(OSError):  # it is gone; listening says so
            self.line.send_bytes(pickle.dumps(question, 5))

    def listen(self) -> bool:
        """Takes an answer in; False when no more will come."""
        try:
            self.answers.append(pickle.loads(self.line.recv_bytes()))
        except (EOFError, OSError):
            return False
        return True

    def end(self) -> None:
        self.line.close()
        with suppress(ChildProcessError):
            os.waitpid(self.pid, 0)


def _fork(state: Any, others: list[Connection]) -> _Member:
    sys.stdout.flush()
    sys.stderr.flush()
    ours, theirs = Pipe()
    pid = os.fork()
    if pid:
        theirs.close()
        return _Member(pid, ours)
    try:  # the copy; nothing may return from here
        ours.close()
        for line in others:
            line.close()
        _serve(state, theirs)
        CACHE.flush()
    finally:
        os._exit(0)


def _serve(state: Any, line: Connection) -> None:
    while True:
        try:
            kind, work, given = pickle.loads(line.recv_bytes())
        except (EOFError, OSError):
            return
        if kind == "all":
            work(state, *given)
            continue
        given.reverse()
        while given:  # a book has many times as many items as recipes, and none is asked for twice
            try:
                answer = (True, work(state, given.pop()))
            except Exception:  # whatever it is, it is raised again where the answer is wanted
                answer = (False, None)
            try:
                line.send_bytes(pickle.dumps(answer, 5))
            except OSError:
                return
