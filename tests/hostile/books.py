"""Books made at random: sound ones in the schemas' vocabulary, and sound ones with something changed."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

from asfound.book import Book
from asfound.rules.leaks import holds_code
from asfound.source.guards import Unreadable, hidden, visible
from asfound.source.limits import FILE_BYTES
from asfound.source.loader import load
from asfound.source.names import modeline, sort_out
from asfound.source.prose import ProseProblem, mentioned
from asfound.source.tree import Entry
from asfound.work.edits import Edit, write

Data = dict[str, Any]


@dataclass(frozen=True)
class DataTree:
    """A tree of data by path, each file written as JSON, which is YAML."""

    data: Mapping[str, Any]

    def entries(self) -> Iterator[Entry]:
        """Every file and the folders around it."""
        paths = {"/".join(path.split("/")[:n]) for path in self.data for n in range(1, path.count("/") + 1)}
        for path in sorted({*self.data, *paths}):
            yield Entry(path, "file" if path in self.data else "folder")

    def read(self, path: str, limit: int = FILE_BYTES) -> bytes:
        """A file's bytes."""
        if path not in self.data:
            raise Unreadable("file-unreadable", "there is no such file", "add it")
        kind = sort_out([Entry(path, "file")])[0][0].kind
        text = json.dumps(self.data[path], indent=1, ensure_ascii=False)
        return f"{modeline(kind, path)}\n{text}\n".encode("utf-8", "surrogatepass")


def _sound(text: str) -> bool:
    return visible(text) and not hidden(text) and not holds_code(text) and text == text.strip()


def _sound_prose(text: str) -> bool:
    try:
        return not mentioned(text)
    except ProseProblem:
        return False


# Letters of many scripts, and what HTML, Markdown, YAML, templates and scripts make something of.
_SIGNS = st.sampled_from("abcXYZ012 äßжλ文ع😀<>&\"'`*_[](){}#+-.!|\\/:;=%$@~^?,")
LINES = st.text(_SIGNS, min_size=1, max_size=30).filter(_sound)
PROSE = LINES.filter(_sound_prose)


@st.composite
def sound_books(draw: st.DrawFn) -> dict[str, Any]:
    """Every file's data of a book that has nothing wrong."""
    phases = draw(st.integers(1, 3))
    models = draw(st.integers(1, 3))
    items = [f"item-{n}" for n in range(draw(st.integers(1, 3)))]
    text = draw(LINES)
    line = {
        "line": "van", "name": draw(LINES), "about": draw(PROSE),
        "phases": [
            {
                "phase": str(n), "name": f"{draw(LINES)} {n}", "look": text,
                "built": f"20{n}0-01/" + (f"20{n}9-12" if n < phases else ".."),
            }
            for n in range(1, phases + 1)
        ],
        "models": [{"model": f"m{n}", "name": f"{text} {n}", "look": draw(LINES)} for n in range(models)],
        "equipment": [{"item": item, "name": f"{text} {item}", "look": draw(LINES)} for item in items],
        "fitted": [{"module": "one"}],
    }  # fmt: skip
    records = [draw(_records(f"r{n}", phases)) for n in range(draw(st.integers(1, 2)))]
    files: dict[str, Any] = {
        "club.yml": {
            "club": "club", "name": draw(LINES), "about": draw(PROSE), "contact": draw(LINES),
            "reviewers": [{"handle": "ann", "since": "2020-01-01"}],
            "vetting": {"signatures": 1, "reports": 1, "most_bad": 0},
            "policy": {"access_codes": "ask", "publish_unvetted": True, "refuse_functions": ["braking"]},
            "times": {"faults": 3, "module": 2, "record": 3, "check": 2}, "long_key_on": 60,
        },
        "vehicles/van.yml": line,
        "modules/one.yml": {
            "module": "one", "name": draw(LINES), "duty": draw(PROSE), "address": "0x10",
            "restart": {"how": draw(LINES), "minutes": draw(st.integers(0, 9))}, "records": records,
        },
    }  # fmt: skip
    both = [(record, setting) for record in records for setting in record["settings"]]
    for number, (record, setting) in enumerate(both):
        fits: Any = {"line": "van"}
        if draw(st.booleans()):
            fits = {"all": [fits, {"equipped": draw(st.sampled_from(items))}]}
        files[f"changes/c{number}/recipe.yml"] = draw(_recipes(f"c{number}", record, setting, fits))
    return _with_examples(draw, files)


@st.composite
def _records(draw: st.DrawFn, id: str, phases: int) -> Data:
    """A record whose settings lie one after the other, in another order in each layout."""
    widths = draw(st.lists(st.integers(1, 8), min_size=1, max_size=3))
    settings = []
    for n, width in enumerate(widths):
        setting: Data = {
            "setting": f"s{n}", "name": f"{draw(LINES)} {n}", "functions": ["comfort"],
            "known_from": draw(st.sampled_from(["maker", "club", "guess"])),
        }  # fmt: skip
        if width > 3 and draw(st.booleans()):
            setting["number"] = {
                "factor": "1", "offset": "0", "unit": "s", "signed": False, "min": "0",
                "max": str(2**width - 1),
            }  # fmt: skip
        else:
            raws = draw(st.lists(st.integers(0, 2**width - 1), min_size=2, max_size=4, unique=True))
            setting["choices"] = [{"raw": raw, "means": f"{draw(LINES)} {raw}"} for raw in raws]
        settings.append(setting)
    checked, layouts = draw(st.booleans()), []
    for phase in range(1, phases + 1) if phases > 1 and draw(st.booleans()) else [0]:
        order = draw(st.permutations(range(len(widths))))
        places, at = {}, 0
        for n in order:  # a byte each, somewhere in it
            low = draw(st.integers(0, 8 - widths[n]))
            places[f"s{n}"] = {"byte": at, "bits": [low, low + widths[n] - 1]}
            if widths[n] == 1:
                places[f"s{n}"] = {"byte": at, "bit": low}
            elif widths[n] == 8:
                places[f"s{n}"] = {"byte": at}
            at += 1
        layout: Data = {"layout": f"l{phase}", "length": at + checked, "places": places}
        if phase:
            layout["for"] = {"line": "van", "phases": [str(phase)]}
        if checked:
            layout["checksum"] = {"kind": "crc8-j1850", "over": [0, at - 1], "at": at, "by": "tool"}
        layouts.append(layout)
    return {
        "record": id, "name": draw(LINES), "identifier": f"0x10{id[-1]}0", "shown_as": "bytes",
        "settings": settings, "layouts": layouts,
    }  # fmt: skip


@st.composite
def _recipes(draw: st.DrawFn, id: str, record: Data, setting: Data, fits: Any) -> Data:
    if "choices" in setting:
        before, to = (choice["means"] for choice in setting["choices"][:2])
    else:
        before, to = "1", str(draw(st.integers(2, int(setting["number"]["max"]))))
    path = f"one/{record['record']}/{setting['setting']}"
    return {
        "recipe": id, "title": draw(LINES), "by": "cay", "purpose": draw(PROSE), "annoyance": draw(LINES),
        "changes": [{"setting": path, "from": draw(st.sampled_from([before, "any"])), "to": to}],
        "fits": fits,
        "hazards": [
            {
                "hazard": draw(LINES), "consequence": draw(LINES), "avoid": draw(LINES),
                **draw(st.sampled_from([{"harm": "none", "loss": "marginal"}, {"harm": "death"}])),
                "certainty": draw(st.sampled_from(["will", "could"])), "likelihood": "remote",
            }
        ],
        "steps": [{"step": draw(PROSE), "at": draw(st.sampled_from(["start", "end"]))}],
        "checks": [{"check": draw(LINES), "expect": draw(LINES), "power": "key-on"}],
        "way_back": draw(st.sampled_from(["automatic", "none"])),
        "status": draw(st.sampled_from(["draft", "offered"])),
        "history": [{"date": "2021-04-01", "what": draw(LINES)}],
    }  # fmt: skip


def _with_examples(draw: st.DrawFn, files: dict[str, Any]) -> dict[str, Any]:
    """With a worked example for each edit, worked out by the program itself."""
    book = Book(load(DataTree(files)))
    for recipe in book.recipes.values():
        examples = []
        for edit in book.edits(recipe.id):
            assert isinstance(edit, Edit)
            raw = draw(st.binary(min_size=edit.length, max_size=edit.length))
            for one in edit.fields:
                before = one.before_raw if one.before_raw is not None else _another(one)
                raw = one.place.scatter(raw, before)
            found = edit.checksum.applied(raw) if edit.checksum else raw
            examples.append(
                {
                    "record": str(edit.record), "layout": edit.layout, "read_on": "made-up",
                    "found": found.hex(" ").upper(), "write": write(edit, found).hex(" ").upper(),
                }
            )  # fmt: skip
        files[f"changes/{recipe.id}/recipe.yml"]["worked_examples"] = examples
    return files


def _another(one: Any) -> int:
    """A stored number that has a meaning and is not what is written."""
    kind = one.definition.kind
    known = [choice.raw for choice in kind.choices] if hasattr(kind, "choices") else [0, 1]
    return next(raw for raw in known if raw != one.to_raw)


# mutations

ODD = st.one_of(
    st.none(), st.booleans(), st.integers(-(2**70), 2**70), st.just([]), st.just({}), st.just(""),
    st.text(max_size=20), st.sampled_from(
        ["<script>", "any", "..", "constructor", "\ud800", "a" * 5000, "01", "0x10", "2021-02-30", "~"]
    ), st.just([[[[]]]]), st.just({"all": []}), st.just({"not": {"not": {"line": "van"}}}),
)  # fmt: skip


def spots(data: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The paths of everything inside."""
    if isinstance(data, dict | list):
        for key, value in data.items() if isinstance(data, dict) else enumerate(data):
            yield (*path, key)
            yield from spots(value, (*path, key))


@st.composite
def mutated(draw: st.DrawFn, book: Mapping[str, Any]) -> dict[str, Any]:
    """The book with up to three things in it changed."""
    files = deepcopy(dict(book))
    for _ in range(draw(st.integers(1, 3))):
        file = draw(st.sampled_from(sorted(files)))
        paths = list(spots(files[file]))
        if not paths:
            continue
        path = draw(st.sampled_from(paths))
        holder = files[file]
        for key in path[:-1]:
            holder = holder[key]
        match draw(st.sampled_from(["drop", "odd", "transplant", "twice", "rename", "file"])):
            case "drop":
                del holder[path[-1]]
            case "odd":
                holder[path[-1]] = draw(ODD)
            case "transplant":
                other = draw(st.sampled_from(sorted(files)))
                value: Any = deepcopy(files[other])
                for key in draw(st.sampled_from(list(spots(value)) or [()])):
                    value = value[key]
                holder[path[-1]] = value
            case "twice" if isinstance(holder, list):
                holder.append(deepcopy(holder[path[-1]]))
            case "rename" if isinstance(holder, dict):
                name = draw(st.sampled_from(["name", "for", "x", "setting", "is", "__proto__"]))
                holder[name] = holder.pop(path[-1])
            case "file" if file.count("/") > 1:
                files[file.replace("/recipe", "-too/recipe")] = files.pop(file)
    return files
