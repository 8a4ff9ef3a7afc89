"""What of two books must be read to compare them, without reading the rest.

A changed file can change more than itself: a module the recipes that name it, a recipe those that name it in
turn. Names are looked for in the files' bytes, unread. That finds too much rather than too little, since
every name is made of plain letters that stand in the file as they are; only a double-quoted text can spell
them otherwise, by a backslash (YAML 1.2.2, section 5.7), so a file that may counts as naming everything.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Set
from dataclasses import dataclass, replace
from types import MappingProxyType

from ..source.guards import Unreadable
from ..source.limits import FILE_BYTES, PICTURE_BYTES
from ..source.loader import Kept, Loaded, load
from ..source.names import original_of
from ..source.tree import Entry
from ..trust.reports import Club
from .lines import made, offered
from .sides import Side, Sides

_WORDS_ALONE = bytes(sign if sign in b"abcdefghijklmnopqrstuvwxyz0123456789-" else 32 for sign in range(256))
_SLUG = re.compile(rb"[a-z0-9]+(?:-[a-z0-9]+)*")
_HYPHEN_OUTSIDE = re.compile(rb"-(?:-|(?<![a-z0-9]-)[a-z0-9]|(?<=[a-z0-9]-)(?![a-z0-9]))")  # of a slug
_SPELT_OTHERWISE = re.compile(rb"\\[xuU/\r\n]")
_RECORD = re.compile(rb"[a-z0-9-]+/[a-z0-9-]+(?=/[a-z0-9-])")
_SETTING = re.compile(rb"[a-z0-9@-]+/[a-z0-9-]+/[a-z0-9-]+")


@dataclass(frozen=True, slots=True)
class Scope:
    """The paths to read and what the rules are asked about; None stands for everything.

    ``recipes`` are those that may come out otherwise, ``beside`` those that share a record with one of them:
    rules that weigh recipes against each other need both.
    """

    paths: frozenset[str] | None = None
    recipes: frozenset[str] = frozenset()
    beside: frozenset[str] = frozenset()
    lines: bool = True

    @property
    def wanted(self) -> Callable[[str], bool] | None:
        """Which paths the loader reads; None: every one."""
        return None if self.paths is None else self.paths.__contains__

    def together(self, recipe: str) -> bool:
        """Whether a recipe takes part where recipes are weighed against each other."""
        return self.paths is None or recipe in self.recipes or recipe in self.beside

    def asks(self, kind: str, id: str) -> bool:
        """Whether the rules are asked about something by itself."""
        if self.paths is None:
            return True
        return self.lines if kind == "line" else id in self.recipes if kind == "recipe" else True


WHOLE = Scope()


def narrow(sides: Sides, kept: Kept, names: Mapping[str, bytes] = MappingProxyType({})) -> Scope:
    """The least that gives the same review as reading both books whole; ``WHOLE`` where that is all of it.

    ``names``: what ``names_in`` said of files that are the same on both sides, which then need not be read.
    """
    return _Narrowing(sides, kept, names).scope()


def names_in(raw: bytes, known: Set[bytes]) -> bytes:
    """All of a file's bytes that tell which names it names; ``known`` are all there are."""
    # Expressions look only where a quick look says that they may find something.
    words = _SLUG.findall(raw) if _HYPHEN_OUTSIDE.search(raw) else raw.translate(_WORDS_ALONE).split()
    paths = b"\n".join([line for line in raw.split(b"\n") if b"/" in line])
    found = {*(known & set(words)), *_SETTING.findall(paths)}
    if b"needs" in raw:
        found.add(b"needs")
    if b"\\" in raw and (otherwise := _SPELT_OTHERWISE.search(raw)):
        found.add(otherwise[0])
    return b" ".join(sorted(found))


class _Narrowing:
    def __init__(self, sides: Sides, kept: Kept, names: Mapping[str, bytes]) -> None:
        self.sides, self.kept, self.names = sides, kept, names
        self.changed = frozenset(c.path for c in sides.within)
        self.paths = frozenset((*sides.before.files, *sides.after.files))
        self.modules = {p[8:-4] for p in self.paths if p.startswith("modules/") and p.endswith(".yml")}
        self.folders: dict[str, list[str]] = {}
        for path in self.paths:
            if path.startswith("changes/"):
                self.folders.setdefault(path.split("/")[1], []).append(path)

    def scope(self) -> Scope:
        small = sorted(path for path in self.paths if path == "club.yml" or path.startswith("vehicles/"))
        own = [path for path in self.changed if path.startswith("modules/")]
        self._prefetch((*small, *own))
        before, after = (
            load(Part(side, {*small, *own}), self.kept) for side in (self.sides.before, self.sides.after)
        )
        made_by = self._lines(before, after)
        signers = _signers(before, after) if "club.yml" in self.changed else frozenset()
        if made_by is None or signers is None:
            return WHOLE
        items, fitted = made_by
        # Reports name equipment and modules too, but only ask whether they are there.
        everywhere = bool(items or fitted) or before.modules.keys() != after.modules.keys()
        self._prefetch(
            path
            for path in (self.paths - self.names.keys() if self.names else self.paths)
            if everywhere
            or path.startswith("modules/")
            or path.endswith("/recipe.yml")
            or path in self.changed
        )
        of_items = _any_of(items)
        modules = {path[8:-4] for path in own} | fitted
        modules |= {m for m in self.modules if items and self._names(f"modules/{m}.yml", of_items)}
        recipes = self._affected(modules | items, signers, everywhere)
        beside = self._beside(recipes)
        wanted = {*small, *self.changed}
        wanted |= {of for path in self.changed if (of := original_of(path)) and of in self.paths}
        wanted |= {path for recipe in recipes | beside for path in self.folders[recipe]}
        wanted |= {f"changes/{recipe}/recipe.yml" for recipe in self._named(recipes)}
        lines = any(path.startswith("vehicles/") for path in self.changed)
        wanted |= self._modules(wanted.difference(small), modules)
        wanted |= {p for p in self.paths if p.startswith("languages/") and original_of(p) in wanted}
        self._prefetch(wanted)
        return Scope(frozenset(wanted), frozenset(recipes), frozenset(beside), lines)

    def _modules(self, paths: Iterable[str], modules: Iterable[str]) -> set[str]:
        """The files of modules, of those that files name, and of those that these name in turn."""
        self._prefetch(paths)
        waiting = set(modules).union(*(self._tokens(path) for path in paths)) & self.modules
        out: set[str] = set()
        while waiting:
            out |= waiting
            waiting = (
                set().union(*(self._tokens(f"modules/{module}.yml") for module in waiting)) & self.modules
            )
            waiting -= out
        return {f"modules/{module}.yml" for module in out}

    def _affected(self, names: set[str], signers: frozenset[str], everywhere: bool) -> set[str]:
        """The recipes that may come out otherwise, or of which a rule may say something else.

        Those that name one of the names, in the recipe itself or, ``everywhere``, in reports too.
        """
        own = {path.split("/")[1] for path in self.changed if path.startswith("changes/")}
        rewritten = {
            p.split("/")[1] for p in self.changed if p.startswith("changes/") and p.endswith("/recipe.yml")
        }
        wanted = _any_of({*names, *rewritten})
        found = set(own)
        for recipe, paths in self.folders.items():
            if everywhere:
                named = any(self._names(path, wanted) for path in paths)
            else:
                named = self._names(f"changes/{recipe}/recipe.yml", wanted)
            if named or any(f"changes/{recipe}/vetted/{handle}.yml" in self.paths for handle in signers):
                found.add(recipe)
        return found & self.folders.keys()

    def _named(self, recipes: set[str]) -> set[str]:
        """The recipes that those name, and on through needs, which must not run in a circle."""
        out: set[str] = set()
        waiting = list(recipes)
        while waiting:
            recipe = waiting.pop()
            path = f"changes/{recipe}/recipe.yml"
            if recipe in recipes or any(b"needs" in raw for raw in self._raw(path)):
                new = (self._tokens(path) & self.folders.keys()) - out
                out |= new
                waiting.extend(new)
        return out

    def _beside(self, recipes: set[str]) -> set[str]:
        """The recipes that share a record with one of those."""
        own = [raw for recipe in recipes for raw in self._raw(f"changes/{recipe}/recipe.yml")]
        records = {record for raw in own for record in _RECORD.findall(raw)}
        if not records:
            return set()
        pattern = re.compile(rb"(?<![a-z0-9-])(?:" + b"|".join(map(re.escape, sorted(records))) + rb")/")
        others = self.folders.keys() - recipes
        return {
            recipe for recipe in others if any(map(pattern.search, self._raw(f"changes/{recipe}/recipe.yml")))
        }

    def _lines(self, before: Loaded, after: Loaded) -> tuple[frozenset[str], set[str]] | None:
        """Equipment and modules for which other cars were made than was said; None: for all."""
        if not any(path.startswith("vehicles/") for path in self.changed):
            return frozenset(), set()
        if before.lines.keys() != after.lines.keys() or any(
            kind == "line" for side in (before, after) for kind, _ in side.broken
        ):
            return None
        items: set[str] = set()
        modules: set[str] = set()
        for id, was in before.lines.items():
            now = after.lines[id]
            if made(was)[:3] != made(now)[:3]:
                return None
            old, new = ({e.id: offered(e) for e in line.equipment} for line in (was, now))
            items |= {item for item in {*old, *new} if old.get(item) != new.get(item)}
            fits, fits_now = ({f.module: (f.fits, f.places) for f in line.fitted} for line in (was, now))
            modules |= {m for m in {*fits, *fits_now} if fits.get(m) != fits_now.get(m)}
        if items:
            # Which module is fitted where may hang on the item, in whichever way it is written.
            modules |= {
                f.module
                for side in (before, after)
                for line in side.lines.values()
                for f in line.fitted
                if f.fits
            }
        return frozenset(items), modules

    def _names(self, path: str, wanted: re.Pattern[bytes] | None) -> bool:
        """Whether a file, on either side, has one of the names in it."""
        known = self.names.get(path)
        if known is not None:
            return bool((wanted and wanted.search(known)) or _SPELT_OTHERWISE.search(known))
        return any(_SPELT_OTHERWISE.search(raw) or (wanted and wanted.search(raw)) for raw in self._raw(path))

    def _tokens(self, path: str) -> set[str]:
        """Every name that stands in a file on either side; all there are where one may be spelt otherwise."""
        raws = self._raw(path)
        if any(map(_SPELT_OTHERWISE.search, raws)):
            return self.modules | set(self.folders)
        return {token.decode() for raw in raws for token in _SLUG.findall(raw)}

    def _raw(self, path: str) -> list[bytes]:
        """The file's bytes on either side, once where they are the same; pictures name nothing."""
        if not path.endswith(".yml"):
            return []
        if path in self.names:
            return [self.names[path]]
        out: list[bytes] = []
        for side in (self.sides.before, self.sides.after):
            if path in side.files and not (out and self.sides.before.files.get(path) == side.files[path]):
                try:
                    out.append(side.read(path, PICTURE_BYTES))
                except Unreadable:
                    continue
        return out

    def _prefetch(self, paths: Iterable[str]) -> None:
        wanted = list(paths)
        for side in (self.sides.before, self.sides.after):
            side.prefetch(wanted)


class Part:
    """A few files of a tree, as if there were no others."""

    def __init__(self, side: Side, paths: Iterable[str]) -> None:
        self.side, self.paths = side, paths

    def entries(self) -> Iterator[Entry]:
        """Those of the files that are there and are files; see ``Tree``."""
        return self.side.some(set(self.paths))

    def read(self, path: str, limit: int = FILE_BYTES) -> bytes:
        """A file's bytes; see ``Tree``."""
        return self.side.read(path, limit)


def without_unread(loaded: Loaded, files: Mapping[str, str], scope: Scope) -> Loaded:
    """The lines without the modules that have a file and were not read, so that nobody misses those."""
    if scope.paths is None:
        return loaded
    unread = {path for path in files if path.startswith("modules/") and path not in scope.paths}
    lines = {
        id: replace(line, fitted=tuple(f for f in line.fitted if f"modules/{f.module}.yml" not in unread))
        for id, line in loaded.lines.items()
    }
    return replace(loaded, lines=lines)


def _any_of(names: Iterable[str]) -> re.Pattern[bytes] | None:
    """Any of the names, standing by itself; None when there are none."""
    every = b"|".join(re.escape(name.encode("utf-8", "surrogateescape")) for name in sorted(names))
    return re.compile(rb"(?<![a-z0-9-])(?:" + every + rb")(?![a-z0-9-])") if every else None


def _signers(before: Loaded, after: Loaded) -> frozenset[str] | None:
    """Members whose signatures may weigh otherwise; None: anything may."""
    was, now = before.club, after.club
    if (
        was is None
        or now is None
        or _demands(was) != _demands(now)
        or bool(was.reviewers) != bool(now.reviewers)
    ):
        return None
    differing = set(was.reviewers) ^ set(now.reviewers)
    return frozenset(reviewer.handle for reviewer in differing)


def _demands(club: Club) -> Mapping[str, object]:
    """All but the words and the reviewers."""
    words = ("id", "name", "about", "contact", "site", "origin", "reviewers", "publish_unvetted")
    return {field: getattr(club, field) for field in club.__slots__ if field not in words}
