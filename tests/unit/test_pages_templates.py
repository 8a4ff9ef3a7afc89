"""Templates and style: the contract of each template, overriding, contrast, what scripts must not do."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from jinja2 import Environment, UndefinedError
from markupsafe import Markup

from asfound.book import Book
from asfound.pages import ASSETS, Pages, links
from asfound.pages.environment import FOLDER, environment
from asfound.source.loader import load

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = sorted((FOLDER / "templates").rglob("*.html"))
CSS = (ASSETS / "asfound.css").read_text("utf-8")


@pytest.fixture(scope="module")
def book() -> Book:
    return Book(load(ROOT / "recipes"))


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.stem)
def test_each_template_begins_with_its_contract(template: Path) -> None:
    text = template.read_text("utf-8")
    assert text.startswith("{#- ") and "Context:" in text.partition("-#}")[0]
    body = text.partition("#}")[2]
    assert not re.search(r"\son[a-z]+=|\sstyle=|<style|javascript:", body)
    assert "<script" not in body or template.name in ("preview.html", "tools.html")
    assert ("| safe" in body) == (template.name == "preview.html"), (
        "only the shell trusts HTML, and only ours"
    )


def test_undefined_names_are_errors() -> None:
    with pytest.raises(UndefinedError):
        environment().from_string("{{ page.nothing }}").render(page=object())


def test_autoescape_is_on() -> None:
    assert environment().from_string("{{ x }}").render(x="<b>&'\"") == "&lt;b&gt;&amp;&#39;&#34;"


def test_escaping_is_markupsafes() -> None:
    class Own(str):
        def __html__(self) -> str:
            return "<own>"

    form = "{{ x }}|{% set y %}{{ x }}{% endset %}{{ y }}|{{ x | upper }}|{{ x ~ '' }}"
    ours, plain = environment().from_string(form), Environment(autoescape=True).from_string(form)
    for value in ("", "a", *"&<>'\"", "a&b", Markup("<i>"), 5, True, None, 2.5, Own("<"), ["<"], "é"):
        assert ours.render(x=value) == plain.render(x=value), value


def test_a_site_overrides_one_block_and_keeps_the_rest(book: Book, tmp_path: Path) -> None:
    (tmp_path / "recipe").mkdir()
    (tmp_path / "recipe/checks.html").write_text(
        '{% extends "asfound/recipe/checks.html" %}'
        "{% block checks %}{{ super() }}<p>Ask at the pier.</p>{% endblock %}"
    )
    (tmp_path / "notice.html").write_text("<p>Our own notice.</p>")
    recipe = next(recipe for recipe in book.recipes.values() if recipe.status == "offered")
    key = links.recipe(recipe.id)
    ours = Pages(book).html(key, links.linker(key)).html
    theirs = Pages(book, tmp_path).html(key, links.linker(key)).html
    assert "Ask at the pier." in theirs and "How to know that it worked" in theirs
    assert "Our own notice." in theirs and "Standing notice" not in theirs
    assert "Standing notice" in ours and len(theirs) < len(ours)


def tokens(css: str) -> dict[str, str]:
    return dict(re.findall(r"(--asf-[a-z-]+):\s*(#[0-9a-fA-F]{3,6});", css))


def schemes() -> dict[str, dict[str, str]]:
    root, _, rest = CSS.partition("@media screen")
    dark = rest.partition("/* Safety colours")[0]
    safety = tokens(rest.partition("/* Safety colours")[2])
    light = tokens(root)
    assert set(tokens(dark)) == set(light), "each token has a light and a dark value"
    return {"light": {**light, **safety}, "dark": {**light, **tokens(dark), **safety}}


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 (definition; the threshold is 0.04045 as in its errata)."""
    digits = colour.lstrip("#")
    if len(digits) == 3:
        digits = "".join(digit * 2 for digit in digits)
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2 (definition)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_computed_as_published() -> None:
    # Two ratios that are published everywhere: the lightest greys that pass and fail 4.5:1 on white.
    assert round(contrast("#767676", "#fff"), 2) == 4.54
    assert round(contrast("#777777", "#fff"), 2) == 4.48
    assert contrast("#000", "#fff") == pytest.approx(21)


TEXT_ON = {  # by ground
    "paper": "ink soft link deep good if bad",
    "sheet": "ink soft link deep good if bad",
    "wash": "ink",
    "deep": "paper",
    "good-wash": "good",
    "if-wash": "if",
    "bad-wash": "bad ink soft link",
}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_is_readable(scheme: str) -> None:
    """WCAG 2.2, 1.4.3: 4.5:1."""
    of = schemes()[scheme]
    for text, ground in ((text, ground) for ground, texts in TEXT_ON.items() for text in texts.split()):
        assert contrast(of[f"--asf-{text}"], of[f"--asf-{ground}"]) >= 4.5, (text, ground)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_lines_that_mean_something_are_visible(scheme: str) -> None:
    """WCAG 2.2, 1.4.11: 3:1."""
    of = schemes()[scheme]
    for line in ("edge", "deep"):
        for ground in ("paper", "sheet", "wash"):
            assert contrast(of[f"--asf-{line}"], of[f"--asf-{ground}"]) >= 3, (line, ground)


def test_signal_words_are_readable_and_in_their_colours() -> None:
    """ANSI Z535.1: red, orange, yellow, blue; Z535.4: white on red and blue, black on orange and yellow."""
    of = schemes()["light"]
    hues = {}
    for word, text in (("danger", "#fff"), ("warning", "#000"), ("caution", "#000"), ("notice", "#fff")):
        panel = of[f"--asf-{word}"]
        assert contrast(panel, text) >= 4.5
        rule = re.search(rf"\.asf-signal--{word} \{{ background: var\(--asf-{word}\); color: (#\w+);", CSS)
        assert rule and rule[1] == text
        red, green, blue = (int(panel[i : i + 2], 16) for i in (1, 3, 5))
        hues[word] = (red > 150, 60 < green < 160, green > 180, blue > 120)
    assert hues == {
        "danger": (True, False, False, False),
        "warning": (True, True, False, False),
        "caution": (True, False, True, False),
        "notice": (False, True, False, True),
    }


def test_style_asks_no_other_host_and_keeps_focus_visible() -> None:
    every = "".join(path.read_text("utf-8") for path in ASSETS.glob("*.css"))
    assert not re.search(r"url\(\s*['\"]?(?:https?:)?//|@import", every)
    assert "outline: none" not in every and "outline: 0" not in every
    assert ":focus-visible" in CSS and "prefers-reduced-motion" in every


def test_scripts_are_classic_and_in_one_namespace() -> None:
    for script in ASSETS.glob("*.js"):
        text = script.read_text("utf-8")
        assert not re.search(r"\b(eval|Function|fetch|innerHTML|document\.write)\b", text), script.name
        assert not re.search(r"^\s*(import|export)\b", text, re.MULTILINE), script.name
        assert "window.asfound = window.asfound || {}" in text
