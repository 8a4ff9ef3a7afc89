"""A git repository read through plumbing commands: names, trees, contents; nothing is run or fetched.

Only commands that execute nothing of the repository are used: no checkout, no filter, no hook, no external
difference program. Objects this clone lacks are reported, never fetched.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from ..source.findings import printable
from .review import Commit

_SAFE = (
    *("-c", "core.fsmonitor=false", "-c", f"core.hooksPath={os.devnull}", "-c", "protocol.allow=never"),
    *("-c", "log.showSignature=false", "-c", "core.quotePath=false"),
    *("--no-pager", "--no-replace-objects", "--no-optional-locks"),
)
_ENVIRONMENT = {"LC_ALL": "C", "GIT_TERMINAL_PROMPT": "0", "GIT_NO_LAZY_FETCH": "1"}
LINK, SUBMODULE = "120000", "160000"


class GitProblem(Exception):
    """The repository cannot tell what was asked; one line, with what to do."""


@dataclass(frozen=True, slots=True)
class Item:
    """A file of a tree: its mode and the id of its content."""

    mode: str
    id: str


class Repository:
    """A repository, with a working tree or bare. GitProblem when the folder is in none."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        try:
            self.bare = self._text("rev-parse", "--is-bare-repository") == "true"
        except GitProblem as problem:
            raise GitProblem(
                f"{printable(str(folder))} is in no git repository that can be read: {problem}"
            ) from None
        self.top = folder if self.bare else Path(self._text("rev-parse", "--show-toplevel"))
        self.shallow = self._text("rev-parse", "--is-shallow-repository") == "true"

    def commit(self, name: str) -> str:
        """The id of the commit that ``name`` stands for. GitProblem when this clone has none."""
        done = self._run("rev-parse", "--verify", "--quiet", "--end-of-options", f"{name}^{{commit}}")
        if done.returncode == 0:
            return done.stdout.decode().strip()
        remedy = "fetch it with git fetch, or name a commit that git log shows"
        if self.shallow:
            remedy = "this clone is shallow, so fetch it by name, or everything with git fetch --unshallow"
        raise GitProblem(f"this clone has no commit {printable(name)}; {remedy}")

    def fork(self, base: str, head: str) -> str | None:
        """Where ``head`` left ``base``; None when the history at hand does not tell."""
        done = self._run("merge-base", base, head)
        return done.stdout.decode().strip() if done.returncode == 0 else None

    def items(self, commit: str) -> dict[str, Item]:
        """Every file of a commit, link and submodule included, by path from the top."""
        out = {}
        for row in _rows(self._bytes("ls-tree", "-r", "-z", "--full-tree", commit)):
            about, _, path = row.partition("\t")
            mode, _, id = about.split(" ")
            out[path] = Item(mode, id)
        return out

    def staged(self) -> dict[str, Item]:
        """What the index holds, by path from the top."""
        out = {}
        for row in _rows(self._bytes("ls-files", "-s", "-z", "--full-name", top=True)):
            about, _, path = row.partition("\t")
            mode, id, _ = about.split(" ")
            out[path] = Item(mode, id)
        return out

    def untracked(self, beside: str = "") -> tuple[str, ...]:
        """Files of the working tree that the index does not know and no ignore file names.

        ``beside`` is a folder that is left out.
        """
        rest = ("--", f":(top,exclude,literal){beside}") if beside else ()
        listing = self._bytes("ls-files", "-o", "-z", "--exclude-standard", "--full-name", *rest, top=True)
        return tuple(_rows(listing))

    def contents(self, ids: Iterable[str], limit: int) -> Mapping[str, bytes | int | None]:
        """By id: the content; its size where it is longer than ``limit`` bytes; None where it is missing."""
        wanted = list(dict.fromkeys(ids))
        sizes: dict[str, bytes | int | None] = {}
        ask = "".join(f"{id}\n" for id in wanted).encode()
        for line in self._bytes("cat-file", "--batch-check", feed=ask).decode().splitlines():
            id, kind, *rest = line.split(" ")
            sizes[id] = int(rest[0]) if kind == "blob" and rest else None
        small = [id for id in wanted if isinstance(size := sizes.get(id), int) and size <= limit]
        raw = self._bytes("cat-file", "--batch", feed="".join(f"{id}\n" for id in small).encode())
        at = 0
        for id in small:
            start = raw.index(b"\n", at) + 1
            length = int(raw[at:start].split(b" ")[2])
            sizes[id] = raw[start : start + length]
            at = start + length + 1
        return {id: sizes.get(id) for id in wanted}

    def added_by(self, base: str, head: str, paths: Iterable[str]) -> dict[str, Commit]:
        """For each path, the last commit after ``base`` that added or changed it, as far as history goes."""
        named = list(paths)
        if not named:
            return {}
        form = "--format=%x01%H%x02%an%x02%ae"
        done = self._run(
            *("log", "--no-renames", "--diff-filter=AM", "--name-only", "-z", form, f"{base}..{head}"),
            *("--", *(f":(top,literal){path}" for path in named)),
            top=True,
        )
        out: dict[str, Commit] = {}
        for block in done.stdout.decode("utf-8", "surrogateescape").split("\x01")[1:]:
            head_line, *names = (part.strip("\n") for part in block.split("\0"))
            id, author, email = head_line.split("\x02")
            for name in names:
                out.setdefault(name, Commit(id, author, email))
        return {path: out[path] for path in named if path in out}

    def _text(self, *arguments: str) -> str:
        return self._bytes(*arguments).decode("utf-8", "surrogateescape").strip("\n")

    def _bytes(self, *arguments: str, feed: bytes = b"", top: bool = False) -> bytes:
        done = self._run(*arguments, feed=feed, top=top)
        if done.returncode:
            said = printable(done.stderr.decode("utf-8", "replace").strip()).split("\\n")
            if any("promisor remote" in line for line in said):
                raise GitProblem(
                    "this clone was made without the contents of files, and none are fetched here; "
                    "clone it without --filter"
                )
            fatal = [line.removeprefix("fatal: ") for line in said if line.startswith("fatal: ")]
            raise GitProblem((fatal or said)[0] or "git gave no reason")
        return done.stdout

    def _run(
        self, *arguments: str, feed: bytes = b"", top: bool = False
    ) -> subprocess.CompletedProcess[bytes]:
        where = self.top if top else self.folder
        try:
            return subprocess.run(
                ["git", *_SAFE, "-C", str(where), *arguments],
                input=feed,
                capture_output=True,
                env=os.environ | _ENVIRONMENT,
                check=False,
            )
        except OSError as error:
            raise GitProblem(f"git cannot be run: {error.strerror}") from None


def _rows(listing: bytes) -> Iterable[str]:
    return filter(None, listing.decode("utf-8", "surrogateescape").split("\0"))
