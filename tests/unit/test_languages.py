"""The languages of the interface: catalogues complete and sound, English unchanged, numbers by locale."""

from __future__ import annotations

import json
import re
import string
import subprocess
import sys
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog, Message

from asfound.car.conditions import All, Any, Equipped, Not, Vehicle
from asfound.car.words import Names, say
from asfound.pages.environment import environment
from asfound.pages.languages import catalogue, language, languages, own_name, script
from asfound.speech import Original, gettext, ngettext, number_words, speaking, spoken
from asfound.work.refusals import PANEL, REFUSALS

sys.path.insert(0, str(Path(__file__).parents[1] / "languages"))

import words

OTHERS = languages()[1:]
ASSETS = words.PACKAGE / "pages" / "assets"


@pytest.fixture(scope="module")
def template() -> Catalog:
    return words.template()


def forms(message: Message) -> list[tuple[str, str]]:
    """Each translation with the English sentence it stands for."""
    if isinstance(message.id, str):
        return [(message.id, str(message.string))]
    one, many = message.id
    first, *rest = message.string
    return [(one, first), *((many, other) for other in rest)]


def in_scripts(message: Message) -> bool:
    return any(str(where).endswith(".js") for where, _ in message.locations)


def placeholders(text: str) -> set[str]:
    """``{name}`` of Python and scripts, ``%(name)s`` of templates."""
    return {name for _, name, _, _ in string.Formatter().parse(text) if name} | set(
        re.findall(r"%\((\w+)\)s", text)
    )


def test_there_is_a_second_language() -> None:
    assert "nl" in OTHERS
    assert own_name("nl") == "Nederlands" and own_name("en") == "English"


@pytest.mark.parametrize("tag", OTHERS)
def test_every_sentence_is_translated_and_none_is_left_over(tag: str, template: Catalog) -> None:
    said = {message.id: message for message in catalogue(tag) if message.id}
    wanted = {message.id: message for message in template if message.id}
    assert sorted(map(str, wanted.keys() - said.keys())) == [], "run `make words` and translate"
    assert sorted(map(str, said.keys() - wanted.keys())) == [], "run `make words`"
    assert [m.id for m in said.values() if not all(text.strip() for _, text in forms(m))] == []
    assert [m.id for m in said.values() if m.fuzzy] == []
    # Where a sentence is said tells which of them the tools in the page are given.
    moved = [id for id in wanted if in_scripts(said[id]) != in_scripts(wanted[id])]
    assert moved == [], "run `make words`"


@pytest.mark.parametrize("tag", OTHERS)
def test_translations_have_the_placeholders_marks_and_spaces_of_the_original(tag: str) -> None:
    plurals = catalogue(tag).num_plurals
    for message in catalogue(tag):
        if not message.id:
            continue
        if not isinstance(message.id, str):
            assert len(message.string) == plurals
        for english, text in forms(message):
            assert placeholders(text) == placeholders(english), english
            assert re.findall(r"</?[a-z]+", text) == re.findall(r"</?[a-z]+", english), english
            assert (text[:1] == " ", text[-1:] == " ") == (english[:1] == " ", english[-1:] == " "), english
            if len(english) > 12:  # sentences end and begin as the original does
                assert (english[-1] in ".:!?") == (text[-1] in ".:!?"), english
                assert english[0].isupper() <= (text[0].isupper() or text[0] in "“<{V"), english


@pytest.mark.parametrize("tag", OTHERS)
def test_numbers_are_those_of_the_original(tag: str) -> None:
    """Every number in figures, with the decimal sign of the language (CLDR) or none."""
    for message in catalogue(tag):
        for english, text in forms(message) if message.id else ():
            digits = [re.sub(r"\D", "", number) for number in re.findall(r"\d[\d.,]*", english)]
            assert sorted(digits) == sorted(
                re.sub(r"\D", "", number) for number in re.findall(r"\d[\d.,]*", text)
            ), english


def test_the_catalogue_is_as_it_would_be_written() -> None:
    for tag in OTHERS:
        assert (words.FOLDER / f"{tag}.po").read_bytes() == words.written(catalogue(tag))


def test_english_is_what_the_code_says() -> None:
    assert spoken() == "en" and language("en") is None
    assert gettext("{n} of {m}", n=1, m=2) == "1 of 2" and gettext("{n}") == "{n}"
    assert [ngettext("{n} day", "{n} days", n) for n in (0, 1, 2)] == ["0 days", "1 day", "2 days"]
    assert number_words("12.2") == "12.2"


def test_dutch_plurals_and_decimals() -> None:
    """CLDR 45, plural rules for nl: one for 1, other for the rest; decimal sign comma."""
    with speaking(language("nl")):
        assert [ngettext("{n} day", "{n} days", n) for n in (0, 1, 2)] == ["0 dagen", "1 dag", "2 dagen"]
        assert number_words("-12.25") == "-12,25"
        assert spoken() == "nl"
    assert spoken() == "en"
    with pytest.raises(KeyError):
        language("xx")


def test_conditions_are_put_together_soundly() -> None:
    names = Names(
        lines={"skerry": "Tarnwell Skerry"},
        phases={("skerry", "2"): "Fase 2"},
        equipment={"awning": "een luifel", "tow-bar": "een trekhaak"},
    )
    both = All((Vehicle("skerry", phases=("2",)), Equipped("awning"), Not(Equipped("tow-bar"))))
    either = Any((Equipped("awning"), Equipped("tow-bar")))
    with speaking(language("nl")):
        assert say(both, names) == "Fase 2 met een luifel en zonder een trekhaak"
        assert say(either, names) == "een auto met óf een luifel of een trekhaak"
        lettered = Any((Vehicle("skerry", phases=("2",), built=("2020-01", None)), either.of[0]))
        assert (
            say(lettered, names)
            == "óf (a) Fase 2, gebouwd in januari 2020 of later, of (b) een auto met een luifel"
        )


def test_templates_are_said_when_compiled_and_escape_what_is_put_in() -> None:
    source = '{{ _("Search") }} {% trans name=name %}Written by {{ name }}.{% endtrans %} {{ "stop" | said }}'
    with speaking(language("nl")):
        dutch = environment().from_string(source)
    with speaking(language("nl")):
        assert dutch.render(name="<i>") == "Zoeken Geschreven door &lt;i&gt;. stop"
    assert environment().from_string(source).render(name="<i>") == "Search Written by &lt;i&gt;. stop"
    marked = environment(marks=True).from_string('{{ text }} <img alt="{{ text | plain }}">')
    assert marked.render(text=Original('"a"', "en")) == (
        '<span lang="en">&#34;a&#34;</span> <img alt="&#34;a&#34;">'
    )


def test_the_browser_says_the_same() -> None:
    """The script of the catalogue, read by node, against Python."""
    program = f"""
    global.window = global;
    {script("nl").decode()}
    {(ASSETS / "tools-01-speech.js").read_text("utf-8")}
    const s = asfound.speech;
    const counted = [0, 1, 2, 101, 1001].map((n) => s.ngettext("{{n}} step", "{{n}} steps", n));
    const left = s.gettext("Leave {{unit}}.", {{ unit: "x" }});
    console.log(JSON.stringify([s.tag, left, counted, s.numberWords("1.5"), s.gettext("no such message")]));
    """
    ended = subprocess.run(["node", "-e", program], capture_output=True, text=True, check=True, timeout=60)
    tag, leave, counted, number, other = json.loads(ended.stdout)
    with speaking(language("nl")):
        assert (tag, leave, number, other) == (
            "nl",
            gettext("Leave {unit}.", unit="x"),
            "1,5",
            "no such message",
        )
        assert counted == [ngettext("{n} step", "{n} steps", n) for n in (0, 1, 2, 101, 1001)]


def test_refusals_are_said_in_both() -> None:
    for one in REFUSALS:
        with speaking(language("nl")):
            assert all(gettext(text) != text for text in (one.means, one.do))
    assert all(gettext(one.do) == one.do for one in PANEL)
