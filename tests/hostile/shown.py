"""A book in which every text field holds one of the texts of ``shown.yml``, one recipe a text."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from asfound.source.names import modeline, sort_out
from asfound.source.tree import Entry

MODULES = ("shown-a", "shown-b")  # a module has at most 64 records
TEXTS = Path(__file__).parent / "shown.yml"
SITE = """\
site_name: Hostile
docs_dir: site_src
site_url: https://hostile.example/
use_directory_urls: false
strict: true
nav: [{Home: index.md}, {Find: find.md}, {Modules: modules/index.md}, {Vehicles: vehicles/index.md}]
theme: {name: material, font: false}
plugins: [asfound]
"""


@dataclass(frozen=True)
class Shown:
    """One text: its recipe, how it stands in lines and in prose; ``read``: what one reads of the latter."""

    id: str
    text: str
    prose: str
    read: str


def texts() -> tuple[Shown, ...]:
    """All of them; the first is harmless."""
    out = []
    for number, one in enumerate(yaml.safe_load(TEXTS.read_text("utf-8"))):
        prose = one.get("prose", one["text"]) or "Refused here."
        out.append(Shown(f"shown-{number:02}", one["text"], prose, one.get("read", prose)))
    return tuple(out)


def write(folder: Path) -> None:
    """The book, and what a site needs besides."""
    every = texts()
    (folder / "site_src").mkdir(parents=True)
    (folder / "mkdocs.yml").write_text(SITE, "utf-8")
    for path, data in files(every).items():
        file = folder / "recipes" / path
        file.parent.mkdir(parents=True, exist_ok=True)
        kind = sort_out([Entry(path, "file")])[0][0].kind
        # JSON is YAML, and needs no second opinion on quoting.
        text = json.dumps(data, indent=1, ensure_ascii=False)
        file.write_text(f"{modeline(kind, path)}\n{text}\n", "utf-8")


def files(every: tuple[Shown, ...]) -> dict[str, Any]:
    """Every file's data by its path."""
    worst = every[1]
    out: dict[str, Any] = {
        "club.yml": {
            "club": "hostile", "name": worst.text, "about": worst.prose, "contact": worst.text,
            "site": "https://hostile.example/",
            "reviewers": [{"handle": "ann", "since": "2020-01-01"}],
            "vetting": {"signatures": 1, "reports": 1, "most_bad": 0},
            "policy": {"access_codes": "ask", "publish_unvetted": True, "refuse_functions": ["braking"]},
            "times": {"faults": 3, "module": 2, "record": 3, "check": 2}, "long_key_on": 60,
        },
        "vehicles/dory.yml": {
            "line": "dory", "name": worst.text, "about": worst.prose,
            "phases": [{"phase": "1", "name": worst.text, "built": "2015-01/..", "look": worst.text}],
            "models": [{"model": "open", "name": worst.text, "look": worst.text}],
            "markets": [{"market": "north", "name": worst.text, "look": worst.text}],
            "equipment": [{"item": one.id, "name": one.text, "look": one.text} for one in every],
            "fitted": [{"module": module} for module in MODULES],
        },
    }  # fmt: skip
    for module, part in zip(MODULES, (every[0::2], every[1::2]), strict=True):
        out[f"modules/{module}.yml"] = {
            "module": module, "name": worst.text, "duty": worst.prose,
            "restart": {"how": worst.text, "minutes": 1}, "records": [_record(one) for one in part],
        }  # fmt: skip
    for one in every:
        out[f"changes/{one.id}/recipe.yml"] = _recipe(one)
    return out


def _record(one: Shown) -> dict[str, Any]:
    return {
        "record": one.id, "name": one.text, "names_only": True,
        "settings": [
            {
                "setting": "mode", "name": one.text, "about": one.prose,
                "choices": [{"means": f"{one.text[:200]} {n}"} for n in "ABC"],
                "functions": ["entry"], "known_from": "guess", "search_words": [one.text[:40]],
            }
        ],
    }  # fmt: skip


def _recipe(one: Shown) -> dict[str, Any]:
    before, to, other = (f"{one.text[:200]} {n}" for n in "ABC")
    record = f"{MODULES[int(one.id[-2:]) % 2]}/{one.id}"
    return {
        "recipe": one.id, "title": one.text, "by": "cay", "purpose": one.prose, "annoyance": one.text,
        "changes": [{"setting": f"{record}/mode", "from": before, "to": to}],
        "alternatives": [{"setting": f"{record}/mode", "to": other, "does": one.text}],
        "fits": {"all": [{"line": "dory"}, {"equipped": one.id}]},
        "hazards": [
            {
                "hazard": one.text, "consequence": one.text, "avoid": one.text,
                "harm": "none", "loss": "negligible", "certainty": "could", "likelihood": "improbable",
            }
        ],
        "ready": [one.text],
        "before": [
            {"precheck": one.text, "expect": one.text, "else": one.text, "power": "key-on", "proves": "entry"}
        ],
        "steps": [{"step": one.prose, "at": "start"}],
        "checks": [{"check": one.text, "expect": one.text, "power": "key-on"}],
        "may_show": [{"message": one.text, "means": one.text}],
        "faults_to_expect": [{"code": "U0140", "when": one.text, "do": one.text}],
        "way_back": {"steps": [one.text]},
        "worked_examples": [{"record": record, "found": before, "write": to, "read_on": "made-up"}],
        "status": "offered",
        "history": [{"date": "2021-04-01", "what": one.text}],
    }  # fmt: skip
