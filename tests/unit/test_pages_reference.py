"""Glossary, findings and fields: complete, linked, and the same on every site; and what editors are told."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from asfound.book import Book
from asfound.pages import Pages, links
from asfound.pages.glossary import english, terms
from asfound.pages.languages import language
from asfound.pages.reference import outlines
from asfound.rules.kinds import every_kind
from asfound.source.fields import REFERENCE, Field, anchor_of, fields
from asfound.source.loader import load
from asfound.source.reader import read
from asfound.source.schemas import KINDS, READERS, documents, validate
from asfound.speech import speaking

ROOT = Path(__file__).parents[2]
TEMPLATES = sorted((ROOT / "plugins/asfound/pages/templates").rglob("*.html"))
sys.path.insert(0, str(ROOT / "tests/mutation"))

from fields import every_field  # noqa: E402  (a walk of its own through the schemas)


@cache
def pages() -> Pages:
    return Pages(Book(load(ROOT / "recipes")))


@cache
def html(key: str) -> str:
    return pages().html(key, links.linker(key)).html


def ids(text: str) -> list[str]:
    return re.findall(r'\bid="([^"]+)"', text)


@pytest.mark.parametrize("key", [key for key, *_ in outlines()])
def test_ids_are_unique_and_links_lead_somewhere(key: str) -> None:
    found = ids(html(key))
    assert len(found) == len(set(found))
    known = {out.key for out in pages().outlines()}
    for href in re.findall(r'\bhref="([^"]+)"', html(key)):
        target = (Path("/site", key).parent / href.partition("#")[0]).resolve()
        assert target.relative_to("/site").with_suffix("").as_posix() in known, href


@pytest.mark.parametrize("key", [key for key, *_ in outlines()])
def test_they_are_the_same_on_every_site(key: str) -> None:
    """So nothing of a book can slip in, and no script is loaded that answers for a car."""
    other = Pages(Book(load(ROOT / "tests/golden/minimal/in/recipes"))).html(key, links.linker(key)).html
    plain = re.sub(r'data-asf-recipes="[^"]*"', "", html(key))
    assert re.sub(r'data-asf-recipes="[^"]*"', "", other) == plain
    assert "<script" not in plain


def test_a_site_may_have_its_own_glossary() -> None:
    own = Pages(pages().book, None, frozenset({"glossary"}))
    assert "glossary" not in {out.key for out in own.outlines()}
    assert "findings" in {out.key for out in own.outlines()}


def test_in_another_language_those_for_writers_say_that_they_are_english() -> None:
    """WCAG 2.2, 3.1.2: the language of each part can be told; and a reader is told why it is another."""
    with speaking(language("nl")):
        dutch = Pages(pages().book, language="nl")
        for key in (links.FINDINGS, links.FIELDS, links.fields_of("recipe")):
            html = dutch.html(key, links.linker(key)).html
            assert ' lang="en">' in html[: html.index(">") + 1]
            assert (
                '<p class="asf-soft asf-translation" lang="nl">Deze pagina is voor wie recepten schrijft'
                in html
            )


def test_the_glossary_is_for_readers_and_in_their_language() -> None:
    with speaking(language("nl")):
        html = Pages(pages().book, language="nl").html(links.GLOSSARY, links.linker(links.GLOSSARY)).html
        said = {term.id: term for term in terms()}
    assert ' lang="en"' not in html
    assert '<dt id="control-module">regeleenheid</dt>' in html
    assert all(one.word in html for one in said.values())
    words = [one.word for one in said.values()]
    assert words == sorted(words)
    same = {one.id for one in english() if said[one.id].means == one.means}
    assert same == set()
    assert {one.id for one in english()} == said.keys()


# findings


def test_every_finding_can_be_linked_to() -> None:
    assert set(every_kind()) <= set(ids(html(links.FINDINGS)))


# fields


def general(path: str) -> str:
    """A field as the other walk writes it: entries of lists that hold single values have no path here."""
    return re.sub(r"\[\]$", "", path)


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_is_there(kind: str) -> None:
    known = {general(field.path) for field in fields(kind)}
    into = {field.path for field in fields(kind) if field.kind == "condition"}
    conditions = {general(field.path) for field in fields("condition")}
    for field in every_field(kind):
        path = general(field.partition(": ")[2])
        inside = [path.removeprefix(each).removeprefix(".") for each in into if path.startswith(f"{each}.")]
        assert path in known or (inside and general(inside[0]) in conditions), path


ALL = [(kind, field) for kind in (*KINDS, "condition", *READERS, "book", "review") for field in fields(kind)]


@pytest.mark.parametrize(("kind", "field"), ALL, ids=lambda each: getattr(each, "path", each))
def test_every_field_is_described(kind: str, field: Field) -> None:
    assert field.title and field.description.endswith(".") and field.takes != "any value"
    if kind in KINDS or kind == "condition":
        assert field.examples or field.values or "map" in field.takes or field.takes == "true or false"
        assert "Name used in files" not in field.title or field.path.endswith("*")


def test_the_pages_say_what_the_schema_says() -> None:
    by_path = {field.path: field for field in fields("recipe")}
    loss = by_path["hazards[].loss"]
    assert (loss.needed, loss.takes) == ("with harm: none", "text")
    assert loss.values == ("negligible", "marginal", "critical", "catastrophic")
    assert by_path["title"].needed == "always" and by_path["alone"].needed == ""
    assert by_path["changes"].needed == by_path["media"].needed == "one of changes, media"
    assert by_path["media.card.largest_gb"].limits == ("1 to 2048",)
    assert by_path["fits"].kind == "condition"
    page = html(links.fields_of("recipe"))
    assert 'id="hazards.loss"' in page and 'fields/condition.html"' in page


@pytest.mark.parametrize(
    ("kind", "path", "anchor"),
    [
        ("recipe", "changes[0].to.ask", "changes.to.ask"),
        ("recipe", "fits.all[1].equipped", "fits"),
        ("recipe", "hazrds", ""),
        ("recipe", 'worked_examples[2].choose["living-area/supply/cut-off"]', "worked_examples.choose.any"),
        ("module", "records[0].layouts[1].places.glow.byte", "records.layouts.places.any.byte"),
        ("module", "records[0].colour", "records"),
    ],
)
def test_where_a_finding_is_explained(kind: str, path: str, anchor: str) -> None:
    assert anchor_of(kind, path) == anchor


def wrong_files() -> Iterator[tuple[str, str]]:
    for path in sorted((ROOT / "tests/examples/negative").glob("*/*.yml")):
        kind = path.parent.name
        found = read(path.read_bytes(), "x.yml")
        if found.data is not None and kind in KINDS:
            yield from (
                (kind, finding.path) for finding in validate(kind, found.data, found.positions, "x.yml")
            )


def test_every_finding_of_a_schema_leads_to_a_field() -> None:
    led = 0
    for kind, path in wrong_files():
        anchor = anchor_of(kind, path)
        assert not anchor or anchor in ids(html(links.fields_of(kind)))
        led += bool(anchor)
    assert led > 150


# glossary


def test_the_glossary_is_in_order_and_its_links_lead_to_words() -> None:
    known = {term.id for term in terms()}
    assert known <= set(ids(html(links.GLOSSARY)))
    assert all(term.means.endswith(".") for term in terms())
    used = {
        word for path in TEMPLATES for word in re.findall(r"glossary \}\}#([a-z-]+)", path.read_text("utf-8"))
    }
    assert used and used <= known


# editors


def first_line(path: Path) -> str:
    return path.read_text("utf-8").partition("\n")[0]


YAML = sorted(path for path in (ROOT / "recipes").rglob("*.yml"))


@pytest.mark.parametrize("path", YAML, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_the_first_line_leads_editors_to_the_schema(path: Path) -> None:
    """The form is the YAML language server's own: its README, “Using inlined schema”."""
    schema = first_line(path).removeprefix("# yaml-language-server: $schema=")
    target = (path.parent / schema).resolve()
    assert target.is_file() and target.parent == ROOT / "schema"
    if "languages" in path.parts:
        assert target.name == KINDS["translation"]
        return
    kind = {"club.yml": "club", "codes.yml": "codes", "recipe.yml": "recipe"}.get(path.name) or {
        "vehicles": "line", "modules": "module", "reports": "report", "vetted": "signature",
    }[path.parent.name]  # fmt: skip
    assert target.name == KINDS[kind]


def references(schema: Any) -> Iterator[str]:
    if isinstance(schema, dict):
        if isinstance(schema.get("$ref"), str):
            yield schema["$ref"]
        for value in schema.values():
            yield from references(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from references(value)


@pytest.mark.parametrize("name", sorted(documents().documents))
def test_editors_can_follow_every_reference(name: str) -> None:
    """Relative to the schema's own file, which is how editors resolve them; nothing is fetched."""
    for reference in references(documents().documents[name]):
        file, _, pointer = reference.partition("#")
        target: Any = documents().documents[file or name]
        for key in filter(None, pointer.split("/")):
            target = target[key]


def test_every_kind_has_a_page() -> None:
    assert {kind for kind, _ in ALL} == set(REFERENCE)
