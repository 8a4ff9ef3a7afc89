"""The four formats of a review: what they hold, and that nothing of the data turns into anything else."""

from __future__ import annotations

import json
import sys
from html.parser import HTMLParser
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from markdown_it import MarkdownIt
from markdown_it.token import Token

from asfound.review import words
from asfound.review.data import as_json
from asfound.review.kinds import ASKS, KINDS
from asfound.review.markdown import as_markdown, plain
from asfound.review.review import Change, Fact, FindingChange, OwnersFile, Review, Subject
from asfound.review.text import WIDTH, as_text
from asfound.review.web import as_html
from asfound.source.findings import Finding

sys.path.insert(0, str(Path(__file__).parents[1] / "review"))
from review_cases import CASES, reviewed

SCHEMA = json.loads((Path(__file__).parents[2] / "schema" / "review.schema.json").read_text("utf-8"))
of_every_case = pytest.mark.parametrize("case", CASES, ids=lambda path: path.name)

HOSTILE = (
    "<script>alert(1)</script>",
    "<!-- hidden -->",
    "&lt;b&gt; &amp; &#60;",
    "[text](https://evil.example/a)",
    "![picture](https://evil.example/a.png)",
    "https://evil.example www.evil.example mail@evil.example ftp://evil.example",
    "@everyone #1 owner/repo#2 GH-3 :smile: !4 $5 ~~gone~~",
    "*a* _b_ **c** __d__ `e` ``f`` ```g",
    "# heading",
    "1. list - list + list * list",
    "> quote | table | cell",
    "a\\*b\\_c \\[d\\] \\` \\\\",
    "{{ 7 * 7 }} {% raw %} {# comment #}",
    "```\n~~~",
    "'\"></li></ul><img src=x onerror=alert(1)>",
    "-",
    "===",
    "[ref]: https://evil.example",
    "[^note] [x] [ ]",
    "<https://evil.example> <a@evil.example>",
    "&copy; \u202etxt\u202c",
    "evil.example/path evil.com",
)


def hostile() -> Review:
    """A review in which every text that comes from data is an attack."""
    changes = [
        Change(
            Subject("recipe", text, text, "changed"), "step-changed", "look", f"Changed: {text}.",
            (Fact("before", text), Fact("after", f"{text} {text}")),
        )
        for text in HOSTILE
    ]  # fmt: skip
    findings = [FindingChange("new", Finding("some-id", text, 1, 1, text, text, text)) for text in HOSTILE]
    owners = [OwnersFile(text, "changed", "outside the book") for text in HOSTILE]
    return Review("<b>main</b>", "*head*", "recipes", HOSTILE, tuple(owners), tuple(changes), tuple(findings))


def spoken(tokens: list[Token]) -> str:
    """The words that a reader of rendered Markdown sees, without what only shapes them."""
    out = []
    for token in tokens:
        for child in token.children or ():
            out.append(child.content if child.type in ("text", "code_inline") else " ")
        out.append(" ")
    return " ".join("".join(out).split())


OURS = {
    "heading",
    "paragraph",
    "bullet_list",
    "ordered_list",
    "list_item",
    "inline",
    "text",
    "code_inline",
    "strong",
}


def kinds_of(tokens: list[Token]) -> set[str]:
    found = {token.type.removesuffix("_open").removesuffix("_close") for token in tokens}
    for token in tokens:
        found |= {child.type.removesuffix("_open").removesuffix("_close") for child in token.children or ()}
    return found


READER = MarkdownIt("commonmark").enable(["table", "strikethrough"])


@pytest.mark.parametrize("text", HOSTILE)
def test_markdown_keeps_text_as_text(text: str) -> None:
    """markdown-it-py, with tables and strikethrough on, is the reference."""
    tokens = READER.parse(f"- {plain(text)}")
    assert spoken(tokens) == " ".join(text.split())
    assert kinds_of(tokens) <= OURS


def test_nothing_of_the_data_becomes_markup() -> None:
    tokens = READER.parse(as_markdown(hostile()))
    assert kinds_of(tokens) <= OURS
    for token in tokens:
        for child in token.children or ():
            if child.type == "text":  # what forges make of mentions and numbers, they make of text
                assert not set("@#<>[]`*_~|\\$") & set(child.content), child.content
                assert "://" not in child.content and "www." not in child.content


@of_every_case
def test_markdown_says_what_the_text_says(case: Path) -> None:
    review = reviewed(case)
    said = spoken(READER.parse(as_markdown(review)))
    for change in review.changes:
        assert " ".join(change.says.split()) in said
        for fact in change.facts:
            assert f"{fact.label}: {' '.join(fact.text.split())}" in said
    for look in review.looks:
        assert look.ask in said


class Seen(HTMLParser):
    """Every tag, every attribute and all text of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: set[str] = set()
        self.attributes: set[tuple[str, str | None]] = set()
        self.text = ""
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= set(attrs)
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data if self.open[-1:] != ["style"] else ""


def seen(html: str) -> Seen:
    page = Seen()
    page.feed(html)
    page.close()
    assert page.open == []
    return page


TAGS = {
    "html", "head", "meta", "title", "style", "body", "h1", "h2", "p", "ul", "ol", "li", "b", "code", "table",
    "tr", "th", "td", "br",
}  # fmt: skip


def test_html_stands_by_itself_and_escapes_everything() -> None:
    page = seen(as_html(hostile()))
    assert page.tags <= TAGS
    assert {name for name, _ in page.attributes} <= {
        "lang",
        "charset",
        "http-equiv",
        "content",
        "name",
        "scope",
    }
    assert ("content", "default-src 'none'; style-src 'unsafe-inline'") in page.attributes
    squeezed = " ".join(page.text.split())
    for text in HOSTILE:
        assert " ".join(text.split()) in squeezed


@of_every_case
def test_html_says_what_the_text_says(case: Path) -> None:
    review = reviewed(case)
    page = seen(as_html(review))
    assert page.tags <= TAGS
    said = " ".join(page.text.split())
    for change in review.changes:
        assert change.says in said
        for fact in change.facts:
            assert " ".join(fact.text.split()) in said
    assert (words.NOTHING_BY_HAND in said) == (not review.looks)


@pytest.mark.parametrize("case", [*CASES, None], ids=lambda path: path.name if path else "hostile")
def test_json_is_as_its_schema_says(case: Path | None) -> None:
    review = reviewed(case) if case else hostile()
    text = as_json(review)
    assert text.isascii()
    data = json.loads(text)
    Draft202012Validator(SCHEMA).validate(data)
    assert data["needs_a_human"] == bool(data["look_at"])
    assert len(data["changes"]) == len(review.changes)


def test_the_schema_names_every_kind_and_is_one() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    kinds = SCHEMA["properties"]["changes"]["items"]["properties"]["kind"]["enum"]
    assert kinds == sorted(KINDS)


def test_every_question_can_be_asked() -> None:
    assert {kind.ask for kind in KINDS.values()} - {""} | {"owners", "findings"} == set(ASKS)


def test_the_schema_explains_every_key() -> None:
    def walk(schema: dict[str, object], where: str) -> None:
        assert schema.get("title") and schema.get("description"), where
        properties = schema.get("properties", {})
        assert isinstance(properties, dict)
        for key, below in properties.items():
            walk(below, f"{where}.{key}")
        if isinstance(schema.get("items"), dict):
            walk(schema["items"], f"{where}[]")  # type: ignore[arg-type]

    walk(SCHEMA, "review")


@of_every_case
def test_text_is_narrow_where_words_allow(case: Path) -> None:
    for line in as_text(reviewed(case)).splitlines():
        assert len(line) <= WIDTH or not any(" " in part for part in line.strip().split("  ")[-1:]), line


def test_a_long_list_of_files_is_cut_for_people_only() -> None:
    files = tuple(OwnersFile(f"plugins/{n}.py", "changed", "outside the book") for n in range(30))
    review = Review("a", "b", "recipes", (), files, (), ())
    for text in (as_text(review), as_markdown(review), as_html(review)):
        assert "plugins/19.py" in text and "plugins/20.py" not in text and "and 10 more" in text
    assert len(json.loads(as_json(review))["owners_files"]) == 30


def test_new_findings_lead_to_what_the_base_calls_the_site() -> None:
    finding = Finding("unknown-key", "club.yml", 1, 1, "motto", "there is no key motto", "remove it")
    review = Review(
        "a", "b", "recipes", (), (), (), (FindingChange("new", finding),), "https://circle.example"
    )
    address = "https://circle.example/findings.html#unknown-key"
    assert f"What they mean: [unknown-key]({address})" in as_markdown(review)
    assert f'<a href="{address}">unknown-key</a>' in as_html(review)
    fixed = Review("a", "b", "recipes", (), (), (), (FindingChange("fixed", finding),), review.site)
    assert words.EXPLAINED not in as_markdown(fixed) + as_html(fixed)
    without = Review("a", "b", "recipes", (), (), (), (FindingChange("new", finding),))
    assert words.EXPLAINED not in as_markdown(without) + as_html(without)
