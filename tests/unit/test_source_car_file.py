"""Files that readers keep of their cars: read strictly, and written so that they read the same again."""

from __future__ import annotations

import json
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from car_files import car_text, log_text, reading_text

from asfound.car.known import Known
from asfound.car.records import RecordPath
from asfound.source.car_file import CarFile, ReadingFile, open_car, open_log, open_reading
from asfound.work.log import Did, LoadedFile, Log, Moved, Read, Wrote

slugs = st.from_regex(r"[a-z0-9]{1,6}(-[a-z0-9]{1,4})?", fullmatch=True)
versions = st.from_regex(r"[0-9A-Za-z.]{1,8}", fullmatch=True)
parts = st.from_regex(r"[0-9A-Z]{1,4}( [0-9A-Z]{1,3})?", fullmatch=True)
words = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x17F, exclude_characters="\x7f\xad"), min_size=1
).filter(
    lambda text: len(text) < 100 and not text.isspace() and not any(0x7F <= ord(c) <= 0x9F for c in text)
)
held = st.binary(min_size=1, max_size=6)
paths = st.builds(RecordPath, slugs, slugs, st.none() | slugs)
dates = st.dates(min_value=date(1970, 1, 1)).map(str)
sets = st.none() | st.frozensets(slugs, min_size=1, max_size=3)
knowns = st.builds(
    Known,
    sets,
    sets,
    sets,
    sets,
    st.none() | st.sampled_from(["2019-03", "2022-12"]),
    st.dictionaries(slugs, st.booleans(), max_size=3),
    st.dictionaries(slugs, versions, max_size=2),
    st.dictionaries(slugs, parts, max_size=2),
    st.dictionaries(st.builds(lambda a, b: f"{a}/{b}", slugs, slugs), held, max_size=2),
    st.dictionaries(st.builds(lambda a, b: f"{a}/{b}/{b}", slugs, slugs), words, max_size=2),
)
named = st.dictionaries(slugs, words, min_size=1, max_size=2)
dids = st.lists(
    st.builds(
        Did,
        slugs,
        st.just("4M7Q0Z2K"),
        st.lists(st.builds(Moved, slugs, words, words), min_size=1, max_size=2).map(tuple),
    ),
    min_size=1,
    max_size=2,
).map(tuple)


@st.composite
def written(draw: st.DrawFn) -> Wrote:
    layout = draw(st.none() | slugs)
    size = draw(st.integers(1, 5))
    content = named if layout is None else st.binary(min_size=size, max_size=size)
    return Wrote(
        draw(dates),
        draw(paths),
        layout,
        draw(content),
        draw(content),
        draw(st.none() | content),
        draw(dids),
        draw(st.booleans()),
        draw(st.none() | versions),
        draw(st.none() | parts),
    )


reads = st.builds(Read, dates, paths, st.just("late"), held, st.none() | versions) | st.builds(
    Read, dates, paths, st.none(), named, st.none() | versions
)
loads = st.builds(LoadedFile, dates, slugs, slugs, st.just("4M7Q0Z2K"), words, words, words)


@given(st.builds(CarFile, knowns, st.just("") | words))
@settings(max_examples=60, deadline=None)
def test_a_car_survives_the_file(car: CarFile) -> None:
    opened = open_car(car_text(car).encode(), "car.json")
    assert opened.findings == ()
    assert opened.value == car


@given(
    st.builds(Log, st.lists(written() | reads | loads, max_size=4).map(tuple), knowns, st.just("") | words)
)
@settings(max_examples=60, deadline=None)
def test_a_log_survives_the_file(log: Log) -> None:
    opened = open_log(log_text(log).encode(), "log.json")
    assert opened.findings == ()
    assert opened.value == log


@given(
    st.builds(
        ReadingFile,
        st.dictionaries(paths, st.just("01 4A") | named, min_size=1, max_size=3),
        st.dictionaries(slugs, versions, max_size=2),
        st.dictionaries(slugs, parts, max_size=2),
        st.just("") | dates,
    )
)
@settings(max_examples=40, deadline=None)
def test_a_reading_survives_the_file(reading: ReadingFile) -> None:
    opened = open_reading(reading_text(reading).encode(), "reading.json")
    assert opened.findings == ()
    assert opened.value == reading


CAR = '{"asfound": "car", "version": 1, "phases": ["2"]}'


@pytest.mark.parametrize(
    ("text", "id", "line"),
    [
        ('{"asfound": "car",\n "version": 1,\n "version": 1}', "yaml-duplicate-key", 3),
        ('{"asfound": "car",\n "version": 1, "VIN": "x"}', "unknown-key", 2),
        ('{"asfound": "log", "version": 1}', "not-allowed-value", 1),
        ('{"asfound": "car"}', "missing-key", 1),
        ("asfound: car\nversion: 1\n", "json-syntax", 1),
        ('{"asfound": "car", "version": 1,}', "json-syntax", 1),
        ('{"asfound": "car",\n # note\n "version": 1}', "json-syntax", 2),
        ('{"asfound": "car", "version": NaN}', "json-syntax", 1),
        ("", "json-syntax", 1),
        ("[" * 50_000, "yaml-too-deep", 1),
        ("\ufeff" + CAR, "file-not-utf-8", 1),
        (CAR.replace("2", "2\u202e"), "file-hidden-character", 1),
        (CAR.replace('["2"]', "[2]"), "wrong-type", 1),
        (CAR.replace('["2"]', '"2"'), "wrong-type", 1),
        (CAR.replace('"phases": ["2"]', '"records": {"a/b": "1 2"}'), "wrong-form", 1),
    ],
)
def test_what_is_wrong_with_a_car_file(text: str, id: str, line: int) -> None:
    opened = open_car(text.encode(), "car.json")
    assert opened.value is None
    assert (opened.findings[0].id, opened.findings[0].line) == (id, line)
    assert opened.findings[0].repair


def entry(**wrote: Any) -> str:
    one = {
        "record": "lamps/bay",
        "layout": "late",
        "found": "00 01",
        "written": "00 02",
        "recipes": [
            {
                "recipe": "bay-fades",
                "sheet_code": "4M7Q0Z2K",
                "changes": [{"setting": "after-door", "from": "a", "to": "b"}],
            }
        ],
    }
    one = {key: value for key, value in {**one, **wrote}.items() if value is not None}
    return json.dumps({"asfound": "log", "version": 1, "entries": [{"date": "2026-04-30", "wrote": one}]})


@pytest.mark.parametrize(
    ("text", "id", "path"),
    [
        (entry(layout=None), "contradiction", "entries[0].wrote.found"),
        (entry(found={"after-door": "a"}), "contradiction", "entries[0].wrote.found"),
        (entry(written="00"), "contradiction", "entries[0].wrote.written"),
        (entry(left="00 01 02"), "contradiction", "entries[0].wrote.left"),
        (entry(recipes=[]), "too-short", "entries[0].wrote.recipes"),
        (entry().replace("2026-04-30", "2026-04-31"), "means-nothing", "entries[0].date"),
        (entry().replace("wrote", "did"), None, "entries[0]"),
    ],
)
def test_what_is_wrong_with_a_log(text: str, id: str | None, path: str) -> None:
    opened = open_log(text.encode(), "log.json")
    assert opened.value is None
    assert opened.findings[0].path.startswith(path)
    assert id is None or opened.findings[0].id == id


def test_a_good_entry_is_good() -> None:
    assert open_log(entry().encode(), "log.json").findings == ()


@given(st.binary(max_size=60) | st.text(max_size=60).map(str.encode))
@settings(max_examples=80, deadline=None)
def test_any_bytes_at_all(raw: bytes) -> None:
    for opens in (open_car, open_log, open_reading):
        assert opens(raw, "x.json").findings
