"""What may lie below ``recipes/`` and what it may be called."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache

from .findings import Finding, bare, printable
from .limits import NAME_LENGTH, RESERVED_NAMES
from .schemas import KINDS
from .tree import Entry

_NAME = r"([^/]+)"
_FILES: tuple[tuple[str, re.Pattern[str]], ...] = (
    ("club", re.compile(r"club\.yml\Z")),
    ("line", re.compile(rf"vehicles/{_NAME}\.yml\Z")),
    ("module", re.compile(rf"modules/{_NAME}\.yml\Z")),
    ("recipe", re.compile(rf"changes/{_NAME}/recipe\.yml\Z")),
    ("codes", re.compile(rf"changes/{_NAME}/codes\.yml\Z")),
    ("report", re.compile(rf"changes/{_NAME}/reports/{_NAME}\.yml\Z")),
    ("signature", re.compile(rf"changes/{_NAME}/vetted/{_NAME}\.yml\Z")),
    ("translation", re.compile(rf"languages/{_NAME}/(?:(?:vehicles|modules|changes)/)?{_NAME}\.yml\Z")),
    ("picture", re.compile(rf"changes/{_NAME}/{_NAME}\.(?:png|jpg|webp)\Z")),
)
_FOLDERS = re.compile(
    rf"(?:vehicles|modules|changes(?:/{_NAME}(?:/(?:reports|vetted))?)?"
    rf"|languages(?:/{_NAME}(?:/(?:vehicles|modules|changes))?)?)\Z"
)
_SLUG = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*\Z")
_STRAY = "remove it, or move it out of recipes/"
_HOLDS = {"vehicles": "line", "modules": "module", "changes": "recipe", "languages": "translation"}


@dataclass(frozen=True, slots=True)
class Named:
    """A file in its place: its kind, and the names its path gives (a recipe's, its own).

    Of a translation these are the file that it translates, without its ending, and the language.
    """

    path: str
    kind: str
    recipe: str
    name: str


def modeline(kind: str, path: str) -> str:
    """The first line of a file: it names the schema to editors."""
    return f"# yaml-language-server: $schema={'../' * (path.count('/') + 1)}schema/{KINDS[kind]}"


def sort_out(entries: Iterable[Entry]) -> tuple[list[Named], list[Finding]]:
    """The files that have a place, and findings about everything else."""
    files: list[Named] = []
    findings: list[Finding] = []
    stray: tuple[str, ...] = ()  # what lies in these folders was said with the folder
    everything = list(entries)
    alike: dict[str, list[str]] = {}
    for entry in everything:
        alike.setdefault(_folded(entry.path), []).append(entry.path)
    for entry in everything:
        if stray and entry.path.startswith(stray):
            continue
        wrong = _wrong(entry)
        if wrong is None:
            if entry.kind == "file":
                files.append(_named(entry.path))
            continue
        twins = [path for path in alike[_folded(entry.path)] if path != entry.path]
        if twins:
            wrong = _about(
                entry,
                "file-twin-names",
                f"on some computers this is the same name as {printable(twins[0])}",
                "rename or remove one of the two",
            )
        findings.append(wrong)
        stray = (*stray, entry.path + "/")
    paths = {entry.path for entry in everything}
    folders = {f.recipe for f in files if f.kind in ("report", "signature", "codes", "picture")}
    for missing in sorted(folders - {f.recipe for f in files if f.kind == "recipe"}):
        if f"changes/{missing}/recipe.yml" not in paths:
            findings.append(
                Finding(
                    "file-missing",
                    f"changes/{missing}/recipe.yml",
                    1,
                    1,
                    "",
                    f"the folder changes/{missing} holds no recipe.yml",
                    "add it, or remove the folder",
                )
            )
    if "club.yml" not in paths:
        findings.append(
            Finding(
                "file-missing",
                "club.yml",
                1,
                1,
                "",
                "there is no club.yml",
                f"add one that starts with the line {modeline('club', 'club.yml')}",
            )
        )
    return files, findings


def original_of(path: str) -> str | None:
    """The path of the file that a translation at this path translates; None for any other path."""
    if kind_of(path) != "translation":
        return None
    of = path.split("/", 2)[2]
    return f"{of.removesuffix('.yml')}/recipe.yml" if of.startswith("changes/") else of


def kind_of(path: str) -> str | None:
    """The kind of the YAML file at that path below a book's folder; None where none belongs."""
    found = next((kind for kind, pattern in _FILES if pattern.match(path)), None)
    return None if found == "picture" else found


def _folded(path: str) -> str:
    """What a path is on a computer that folds case and normal forms."""
    return unicodedata.normalize("NFC", path).casefold()


@lru_cache(maxsize=1 << 17)  # a preview asks about the same names at each change
def _wrong(entry: Entry) -> Finding | None:
    """What is wrong with a file or folder by its name and kind alone."""
    if entry.kind == "link":
        return _about(
            entry, "file-link", "this is a link to another file or folder", "put the file itself here"
        )
    if entry.kind == "closed":
        return _about(entry, "file-unreadable", "this folder cannot be opened", "make it readable")
    if entry.kind == "other":
        return _about(
            entry,
            "file-not-regular",
            "this is a pipe, a socket or a device, not a file",
            "put an ordinary file here",
        )
    match = _FOLDERS.match(entry.path) if entry.kind == "folder" else _match(entry.path)
    if match is None:
        return _stray(entry)
    for name in filter(None, match.groups()):
        if wrong := bad_name(name):
            return _about(entry, "file-bad-name", *wrong)
    return None


def bad_name(name: str) -> tuple[str, str] | None:
    """What is wrong with a name for a file or folder, without its ending, and the repair."""
    if not name:
        return "the name is empty", "write one"
    if len(name) > NAME_LENGTH:
        return f"the name has {len(name)} characters; at most {NAME_LENGTH} are allowed", "rename it shorter"
    if not _SLUG.match(name):
        better = slug(name)
        return (
            f"the name {bare(name)} is not made of small letters and digits, joined by single hyphens",
            f"rename it to {better}" if better else "rename it",
        )
    if name in RESERVED_NAMES:
        return f"the name {name} is taken by Windows or by the site itself", "rename it"
    return None


def slug(text: str) -> str:
    """A text as it may stand in names and addresses; "" when nothing of it may."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:NAME_LENGTH].strip("-")


def _stray(entry: Entry) -> Finding:
    path = entry.path
    if entry.kind == "folder":
        near = _folder_near(path)
        return _about(
            entry,
            "folder-unexpected",
            "no folder of this name belongs here",
            f"rename it to {near}" if near else _STRAY,
        )
    stem, _, extension = path.rpartition(".")
    for right in {"yaml": ["yml"], "YML": ["yml"], "jpeg": ["jpg"]}.get(extension, []):
        return _about(
            entry,
            "file-unexpected",
            f"files of this kind end in .{right}",
            f"rename it to {bare(stem.rpartition('/')[2])}.{right}",
        )
    if path.startswith("changes/") and path.count("/") == 1:
        return _about(
            entry,
            "file-unexpected",
            "each recipe has a folder of its own below changes/",
            f"move it to changes/{bare(stem.rpartition('/')[2] or path[8:])}/recipe.yml",
        )
    return _about(entry, "file-unexpected", "no file of this name belongs here", _STRAY)


def _folders_beside(path: str) -> tuple[str, ...]:
    """The folders whose names are given that may lie where this path does."""
    match path.split("/"):
        case [_]:
            return tuple(_HOLDS)
        case ["changes", _, _]:
            return ("reports", "vetted")
        case ["languages", _, _]:
            return ("vehicles", "modules", "changes")
    return ()


def _folder_near(path: str) -> str:
    """The folder that was most likely meant by the name of this one; "" when none is near."""
    name = path.rpartition("/")[2].lower()
    return next(iter(get_close_matches(name, _folders_beside(path), 1, 0.6)), "")


def _match(path: str) -> re.Match[str] | None:
    return next((found for _, pattern in _FILES if (found := pattern.match(path))), None)


def forget() -> None:
    """Drops what is kept of names for another look at the same folder."""
    _wrong.cache_clear()
    _named.cache_clear()


@lru_cache(maxsize=1 << 16)
def _named(path: str) -> Named:
    for kind, pattern in _FILES:
        if match := pattern.match(path):
            names = match.groups() or ("",)
            if kind == "translation":
                return Named(path, kind, path.split("/", 2)[2].removesuffix(".yml"), names[0])
            name = path.rpartition("/")[2] if kind == "picture" else names[-1]
            return Named(path, kind, names[0] if path.startswith("changes/") else "", name)
    raise ValueError(path)


def meant(path: str) -> tuple[tuple[str, str], ...]:
    """Kind and name, as in ``Loaded.broken``, of what is not there when this path is wrong.

    An empty name: all of that kind, which the folder may hold.
    """
    if _match(path):
        file = _named(path)
        name = f"{file.recipe}/{file.name}" if file.kind == "picture" else file.name or file.kind
        return ((file.kind, name),)
    if recipe := re.match(rf"changes/{_NAME}\Z", path):
        return (("recipe", recipe[1]),)
    kind = None if "/" in path else _HOLDS.get(_folder_near(path))
    return ((kind, ""),) if kind else ()


def _about(entry: Entry, id: str, message: str, repair: str) -> Finding:
    return Finding(id, printable(entry.path), 1, 1, "", message, repair)
