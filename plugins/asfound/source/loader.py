"""Loading a whole book: every file read, checked and built; what is wrong becomes findings."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, NamedTuple

from ..car.origin import Origin
from ..car.records import Module
from ..car.vehicles import VehicleLine
from ..trust.reports import Club, PastCode, Report, Signature
from ..work.recipes import Recipe
from .build import BUILD
from .findings import Finding, arrange, path_text, shown
from .guards import Unreadable
from .limits import PICTURE_BYTES
from .names import Named, meant, modeline, sort_out
from .positions import Positions
from .reader import EMPTY, EMPTY_ITEM, read
from .schemas import demanded, validate
from .translations import Translation
from .tree import FolderTree, Tree

__all__ = ["FolderTree", "Kept", "Loaded", "Tree", "load"]

# The key that repeats the file's own name, and whether another repeats the recipe's.
_ID_KEYS = {
    **{"line": "line", "module": "module", "recipe": "recipe", "report": "report", "signature": "by"},
    "translation": "language",
}
_OF_A_RECIPE = ("report", "signature", "codes")


@dataclass(frozen=True, slots=True)
class Loaded:
    """All that could be built, and all findings.

    ``lines``, ``modules`` and ``recipes`` are by id; ``reports`` (oldest first), ``signatures``,
    ``past_codes`` and ``pictures`` (names of the files that lie there) by recipe; ``translations`` by
    language and by the file they translate, without its ending. ``broken`` names, by kind and id, what exists
    but could not be built, with the key of the finding that says why: a reference to it is a consequence, not
    a mistake of its own. An empty id stands for all of a kind, whose folder is not read. ``files`` are all
    paths that were read.
    """

    tree: Tree
    club: Club | None = None
    lines: Mapping[str, VehicleLine] = field(default_factory=dict)
    modules: Mapping[str, Module] = field(default_factory=dict)
    recipes: Mapping[str, Recipe] = field(default_factory=dict)
    reports: Mapping[str, tuple[Report, ...]] = field(default_factory=dict)
    signatures: Mapping[str, tuple[Signature, ...]] = field(default_factory=dict)
    past_codes: Mapping[str, tuple[PastCode, ...]] = field(default_factory=dict)
    pictures: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    translations: Mapping[str, Mapping[str, Translation]] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    files: tuple[str, ...] = ()
    broken: Mapping[tuple[str, str], str] = field(default_factory=dict)
    _positions: dict[str, Positions] = field(default_factory=dict, compare=False, repr=False)

    def locate(self, origin: Origin) -> tuple[int, int]:
        """Line and column of what an origin names, or of the innermost thing around it; (1, 1) if unreadable.

        Reads the file again, since findings are few and files are many; positions are kept from then on.
        """
        if origin.file not in self._positions:
            try:
                found = read(self.tree.read(origin.file), origin.file).positions
            except Unreadable:
                found = Positions()
            self._positions[origin.file] = found
        return self._positions[origin.file].value(origin.path)


@dataclass(slots=True)
class Kept:
    """What was read from files, for the next loading: files whose bytes are the same are not read again."""

    _by_path: dict[str, tuple[bytes, Parsed]] = field(default_factory=dict)
    _pictures: set[tuple[str, bytes]] = field(default_factory=set)

    def parsed(self, file: Named, raw: bytes) -> Parsed:
        """The file's data, positions and findings."""
        before = self._by_path.get(file.path)
        if before is None or before[0] != raw:
            before = self._by_path[file.path] = (raw, parse(file, raw))
        return before[1]

    def prepare(self, tree: Tree, files: Sequence[Named]) -> None:
        """Called before the files are read one by one, in this order."""

    def ahead(self, file: Named) -> Parsed | None:
        """What the next file says, or that it is a picture, where that is known already."""
        return None

    def finished(self) -> None:
        """Called when all have been read."""

    def knows_picture(self, raw: bytes, name: str) -> bool:
        """Whether the picture is known to be one."""
        return (name.rpartition(".")[2], raw) in self._pictures

    def saw_picture(self, raw: bytes, name: str) -> None:
        """Called when the picture has been found to be one."""
        self._pictures.add((name.rpartition(".")[2], raw))


def load(source: Tree | Path, kept: Kept | None = None, only: Callable[[str], bool] | None = None) -> Loaded:
    """Everything below a folder (or another tree). Never raises for anything that is in it.

    ``only`` says of a path whether its content is wanted; names are looked at all the same.
    """
    tree = FolderTree(source) if isinstance(source, Path) else source
    with _uncollected():
        return _Loader(tree, kept, only).load()


@contextmanager
def _uncollected() -> Iterator[None]:
    """Without the collector of reference cycles, which would look at what stays again and again."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


class Parsed(NamedTuple):
    """What one file says, whatever the others say; ``built`` is None when it has findings."""

    data: Any
    positions: Positions
    findings: tuple[Finding, ...]
    built: Any


def parse(file: Named, raw: bytes) -> Parsed:
    """Reads, validates and builds one file."""
    data, positions, found = read(raw, file.path)
    findings = list(found)
    first = modeline(file.kind, file.path)
    named = raw.startswith(first.encode()) and raw[len(first) : len(first) + 1] in (b"\n", b"\r", b"")
    if not named and data is not None:  # of a file that cannot be read, why is enough
        findings.append(
            Finding(
                "file-modeline",
                file.path,
                1,
                1,
                "",
                "the first line does not name the schema, so editors can neither complete nor check",
                f"write as first line: {first}",
            )
        )
    if data is not None:
        findings = [*_to_fill_in(file.kind, findings, positions)]
        findings += validate(file.kind, data, positions, file.path)
    sound = all(finding.id == "file-modeline" for finding in findings)
    built = BUILD[file.kind](data, Origin(file.path)) if sound else None
    return Parsed(data, positions, tuple(findings), built)


def _to_fill_in(kind: str, findings: Iterable[Finding], positions: Positions) -> Iterator[Finding]:
    """The findings; those of empty values say what is to be written, and which key may be left out."""
    paths = {path_text(path): path for path in positions.spoilt}
    for finding in findings:
        if finding.repair in (EMPTY, EMPTY_ITEM):
            from .fields import wanted

            path = paths.get(finding.path, ())
            needed = finding.repair == EMPTY and path and demanded(kind, path)
            repair = "write the value" if needed else finding.repair
            what = wanted(kind, finding.path)
            finding = replace(finding, repair=f"{repair}: {what}" if what else repair)
        yield finding


class _Loader:
    def __init__(self, tree: Tree, kept: Kept | None, only: Callable[[str], bool] | None) -> None:
        self.tree = tree
        self.only = only
        self.kept = kept
        self.parse = kept.parsed if kept else parse
        self.built: dict[str, list[tuple[Named, Any]]] = {kind: [] for kind in BUILD}
        self.findings: list[Finding] = []
        self.broken: dict[tuple[str, str], str] = {}
        self.declared: dict[tuple[str, str, str], str] = {}

    def load(self) -> Loaded:
        files, stray = sort_out(self.tree.entries())
        self.findings += stray
        there = {file.kind for file in files}
        self.broken = {
            (kind, name): finding.key
            for finding in stray
            for kind, name in meant(finding.file)
            if name or kind not in there  # where some of a kind are read, a folder is not all of it
        }
        if self.only:
            files = [file for file in files if self.only(file.path)]
        if self.kept:
            self.kept.prepare(self.tree, files)
        pictures: dict[str, list[str]] = {}
        for file in files:
            if file.kind == "picture":
                if self._picture(file):
                    pictures.setdefault(file.recipe, []).append(file.name)
            else:
                self._file(file)
        if self.kept:
            self.kept.finished()
        built = self.built
        return Loaded(
            tree=self.tree,
            club=next((club for _, club in built["club"]), None),
            lines={line.id: line for _, line in built["line"]},
            modules={module.id: module for _, module in built["module"]},
            recipes={recipe.id: recipe for _, recipe in built["recipe"]},
            reports=_by_recipe(built["report"], lambda report: (report.date, report.id)),
            signatures=_by_recipe(built["signature"], lambda signature: (signature.on, signature.by)),
            past_codes={file.recipe: codes for file, codes in built["codes"]},
            pictures={recipe: tuple(names) for recipe, names in pictures.items()},
            translations=_by_language(built["translation"]),
            findings=arrange(self.findings),
            files=tuple(file.path for file in files),
            broken=self.broken,
        )

    def _file(self, file: Named) -> None:
        try:
            known = self.kept.ahead(file) if self.kept else None
            data, positions, found, built = known or self.parse(file, self.tree.read(file.path))
        except Unreadable as why:
            unreadable = Finding(why.id, file.path, 1, 1, "", why.message, why.repair)
            data, built, findings = None, None, [unreadable]
        else:
            findings = list(found)
            if isinstance(data, dict):
                said = {finding.path for finding in found}
                findings += (one for one in self._ids(file, data, positions) if one.path not in said)
        lasting = [finding for finding in findings if finding.id != "file-modeline"]
        self.findings += findings
        if lasting:
            names = {file.name or file.kind}
            if isinstance(data, dict) and isinstance(data.get(_ID_KEYS.get(file.kind, "")), str):
                names.add(data[_ID_KEYS[file.kind]])
            for name in names:
                self.broken.setdefault((file.kind, name), arrange(lasting)[0].key)
        else:
            self.built[file.kind].append((file, built))

    def _ids(self, file: Named, data: dict[str, Any], positions: Positions) -> list[Finding]:
        """Whether the file says of itself what its path says."""
        wanted = {}
        if file.kind in _OF_A_RECIPE:
            wanted["recipe"] = file.recipe
        if file.kind in _ID_KEYS:
            wanted[_ID_KEYS[file.kind]] = file.name
        out = []
        for key, name in wanted.items():
            value = data.get(key)
            if not isinstance(value, str) or positions.is_spoilt((key,)):
                continue
            other = None
            if key == _ID_KEYS.get(file.kind):
                other = self.declared.setdefault(
                    (file.kind, file.recipe * (file.kind != "recipe"), value), file.path
                )
            if other not in (None, file.path):
                line, column = positions.value((key,))
                out.append(
                    Finding(
                        "duplicate-id",
                        file.path,
                        line,
                        column,
                        path_text((key,)),
                        f"{key} {shown(value)} stands here and in {other}",
                        f"write {key}: {name}",
                        also=((str(other), 1, 1),),
                    )
                )
            elif value != name:
                line, column = positions.value((key,))
                whose = "its folder is" if key == "recipe" else "its file is"
                out.append(
                    Finding(
                        "file-name-mismatch",
                        file.path,
                        line,
                        column,
                        path_text((key,)),
                        f"{key} is {shown(value)}, but {whose} called {name}",
                        f"write {key}: {name}, or rename what is called {name}",
                    )
                )
        return out

    def _picture(self, file: Named) -> bool:
        """Whether it can be shown; the decoder, slow to load, only where there is one."""
        if self.kept and self.kept.ahead(file):
            return True
        try:
            raw = self.tree.read(file.path, PICTURE_BYTES)
        except Unreadable as why:
            repair = "save it smaller" if why.id == "file-too-large" else why.repair
            return self._no_picture(file, why.id, why.message, repair)
        if self.kept and self.kept.knows_picture(raw, file.name):
            return True
        from .pictures import PictureProblem, decode

        try:
            decode(raw, file.name)
        except PictureProblem as why:
            return self._no_picture(file, why.id, why.reason, why.repair)
        if self.kept:
            self.kept.saw_picture(raw, file.name)
        return True

    def _no_picture(self, file: Named, id: str, message: str, repair: str) -> bool:
        finding = Finding(id, file.path, 1, 1, "", message, repair)
        self.findings.append(finding)
        self.broken["picture", f"{file.recipe}/{file.name}"] = finding.key
        return False


def _by_recipe(built: list[tuple[Named, Any]], order: Any) -> dict[str, tuple[Any, ...]]:
    out: dict[str, list[Any]] = {}
    for file, each in built:
        out.setdefault(file.recipe, []).append(each)
    return {recipe: tuple(sorted(each, key=order)) for recipe, each in out.items()}


def _by_language(built: list[tuple[Named, Any]]) -> dict[str, dict[str, Translation]]:
    out: dict[str, dict[str, Translation]] = {}
    for file, each in built:
        out.setdefault(file.name, {})[file.recipe] = each
    return out
