"""One spelling (British), one word for one thing, SI units, days by ISO 8601: in all that people read.

The spellings are the British headwords of the Oxford English Dictionary, with -ise (from memory); the words
that stand for others are those of the glossary and of the table in DEVELOPERS.md.
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "plugins" / "asfound"

# American, and what to write. Inside words too: "colored", "behavioral".
AMERICAN = {
    r"\w*(?:col|behavi|fav|hon|lab|neighb|harb|vap|od|arm|rum|vig|fl?av|hum)or(?:s|ed|ing|able|al|ful|hood|less)?":
        "-our",
    r"\w*cent(?:er|ers|ered|ering)": "centre",
    r"(?:kilo|centi|milli)meters?|liters?": "-re",
    r"(?:fib|calib|somb|theat)ers?": "-re",
    r"gr[a]y(?:ed|ish)?": "grey",
    r"(?:ana|para|cata)lyz(?:e|es|ed|ing)": "-yse",
    r"(?:real|recogn|organ|minim|maxim|normal|initial|summar|special|final|general|optim|capital|categor|serial|"
    r"visual|util|author|synchron|emphas|apolog|prior|standard|local|token|custom|stabil|character|mater|penal|"
    r"neutral|item|canonical|memo|rational|modern|equal)iz(?:e|es|ed|er|ing|ation|ations)": "-ise",
    r"(?:trave|cance|labe|mode|signa|leve|fue|tota|channe|dia)(?:led|ling|ler|lers)": "-lled, -lling",
    r"(?:defens|offens|pretens)e": "-ce",
    r"(?:windshield|gasoline|trunk|fender|flashlight|turn signal|license plate|parking brake|sedan)":
        "windscreen, petrol, boot, wing, torch, indicator, number plate, handbrake, saloon",
    r"(?:catalogs?|dialogs?|analogs?)": "-ogue",
    r"(?:aluminum|artifacts?|maneuvers?|skillful|fulfill|enroll|installment|jewelry|plow|pajamas|gotten|inquiry|"
    r"check(?:ered)|curb|mustache|skeptic\w*|program(?:ed|ing)|judgment|acknowledgment|whilst|toward)":
        "the British form",
}  # fmt: skip

# Words with another meaning here or none, and ours.
OTHER_WORDS = {
    r"ECUs?|control units?|controllers? units?|computer module": "control module",
    r"coding|adaptations?": "change, setting",
    r"tweaks?|hacks?|modding": "change",
    r"firmware": "software",
    r"roll(?:ed|ing|s)? ?back|revert(?:s|ed|ing)?": "put back, way back",
    r"original values?|factory values?|stock values?": "value as found",
    r"data ?bytes|payloads?|frames? id": "record, bytes",
    r"options? code": "equipment",
    r"(?:model|production) (?:series|range)|platforms?|facelift version": "vehicle line, phase",
    r"checkmarks?|tick ?boxes": "box",
    r"utili[sz]e\w*|leverage\w*|in order to|please|simply|obviously|aka|e\.g\.|i\.e\.|etc\.": "plainer words",
}
UNITS = r"(?:\d+ ?(?:inch(?:es)?|in\.|feet|ft|mph|psi|lbs?|gal(?:lons?)?|°F|hp|oz))"
_MONTHS = "(?:January|February|March|April|May|June|July|August|September|October|November|December)"
DAYS = rf"\d{{1,2}}[./]\d{{1,2}}[./](?:19|20)?\d\d|\d{{1,2}}(?:st|nd|rd|th)? {_MONTHS} \d{{4}}"
DAYS += rf"|{_MONTHS} \d{{1,2}},? \d{{4}}"

Said = tuple[str, str]  # where, and what is said there


def of_python(path: Path) -> Iterator[Said]:
    """Sentences in strings; names, patterns and single words are no sentences."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and " " in node.value.strip():
            if not re.search(r"\{\s*[a-z-]+: [^;]+;", node.value):  # a style
                yield f"{path.relative_to(ROOT)}:{node.lineno}", node.value


def of_script(path: Path) -> Iterator[Said]:
    for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
        for text in re.findall(r'"((?:[^"\\]|\\.)* (?:[^"\\]|\\.)*)"|/\*(.*?)\*/|(?<!:)//(.*)', line):
            yield f"{path.relative_to(ROOT)}:{number}", " ".join(text)


def of_template(path: Path) -> Iterator[Said]:
    text = re.sub(
        r"\{[%{#].*?[%}#]\}|<[^>]*>",
        lambda found: re.sub(r"[^\n]", " ", found[0]),
        path.read_text("utf-8"),
        flags=re.S,
    )
    for number, line in enumerate(text.splitlines(), 1):
        yield f"{path.relative_to(ROOT)}:{number}", line


def of_schema(path: Path) -> Iterator[Said]:
    def walk(value: Any) -> Iterator[str]:
        if isinstance(value, dict):
            for key, inner in value.items():
                if key in ("title", "description") and isinstance(inner, str):
                    yield inner
                yield from walk(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from walk(inner)

    for text in walk(json.loads(path.read_text("utf-8"))):
        yield str(path.relative_to(ROOT)), text


def of_text(path: Path) -> Iterator[Said]:
    """Markdown, YAML and TOML: all but what is code, an address or a line for programs."""
    fenced = False
    for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
        fenced ^= line.lstrip().startswith("```")
        if not fenced and "yaml-language-server:" not in line and not line.startswith("bad = "):
            yield (
                f"{path.relative_to(ROOT)}:{number}",
                re.sub(r"`[^`]*`|https?://\S+|\$schema=\S+", " ", line),
            )


def everything() -> Iterator[Said]:
    for path in sorted(PACKAGE.rglob("*.py")):
        yield from of_python(path)
    for path in sorted(PACKAGE.rglob("*.js")):
        yield from of_script(path)
    for path in sorted(PACKAGE.rglob("*.html")):
        yield from of_template(path)
    for path in sorted((ROOT / "schema").glob("*.json")):
        yield from of_schema(path)
    hand_written = [
        *ROOT.glob("*.md"),
        *(ROOT / "site_src").rglob("*.md"),
        ROOT / "mkdocs.yml",
        ROOT / "Makefile",
    ]
    ours = [*PACKAGE.rglob("*.md"), *PACKAGE.rglob("*.toml"), *(PACKAGE / "commands").rglob("*.yml")]
    for path in sorted({*hand_written, *ours, *(ROOT / "recipes").rglob("*.yml")}):
        if path.parent.name == "reports" or "languages" in path.parts:
            continue  # members' own words, and not English
        yield from of_text(path)


QUOTED = ("software fault localization", "JSON Canonicalization Scheme")  # titles of what others published


@cache
def all_said() -> tuple[Said, ...]:
    return tuple((where, re.sub("|".join(QUOTED), "", said)) for where, said in everything())


def found(pattern: str, texts: tuple[Said, ...] | None = None) -> list[str]:
    word = re.compile(rf"(?<![\w-])(?:{pattern})(?![\w-])", re.IGNORECASE)
    return [
        f"{where}: {match[0]} in {text.strip()[:90]!r}"
        for where, text in texts or all_said()
        for match in word.finditer(text)
    ]


def test_it_reads_enough() -> None:
    assert len(all_said()) > 8000
    assert {Path(where.split(":")[0]).suffix for where, _ in all_said()} >= {
        ".py",
        ".js",
        ".html",
        ".json",
        ".md",
        ".yml",
        ".toml",
    }


@pytest.mark.parametrize("pattern", AMERICAN, ids=AMERICAN.values())
def test_the_spelling_is_british(pattern: str) -> None:
    assert found(pattern) == [], f"write {AMERICAN[pattern]}"


@pytest.mark.parametrize("pattern", OTHER_WORDS, ids=OTHER_WORDS.values())
def test_one_word_for_one_thing(pattern: str) -> None:
    assert found(pattern) == [], f"write {OTHER_WORDS[pattern]}"


def test_units_are_those_of_the_si_and_days_those_of_iso_8601() -> None:
    assert [*found(UNITS), *found(DAYS)] == []


@pytest.mark.parametrize(
    ("text", "pattern"),
    [
        ("The color of the lamp", next(iter(AMERICAN))),
        ("It was canceled", r"(?:cance)(?:led)"),
        ("12 psi", UNITS),
        ("on 3/4/2021", DAYS),
        ("on 4 March 2021", DAYS),
    ],
)
def test_the_test_finds_what_it_is_for(text: str, pattern: str) -> None:
    assert found(pattern, (("x", text),))
