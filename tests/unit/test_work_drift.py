"""The worksheet, the log and drift: laws over random jobs of an invented club, and single stories."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from asfound.book import Book
from asfound.car.bits import hex_pairs
from asfound.car.known import Known
from asfound.car.records import RecordPath, SettingPath
from asfound.source.loader import load
from asfound.work.compiled import Edit
from asfound.work.drift import Present, RecordDrift, drift, unread
from asfound.work.handover import handover
from asfound.work.log import Content, Did, LoadedFile, Log, Moved, Read, Wrote, log_job, standing
from asfound.work.plan import Plan, plan
from asfound.work.worksheet import Typed, worksheet

CLUB = Path(__file__).parents[1] / "vectors" / "club"
BUS = Known(
    frozenset(("knot",)),
    frozenset(("bus",)),
    frozenset(("2",)),
    equipment={"hook": True, "screen": True},
    software={"lamps": "0210"},
)
BAY = RecordPath.parse("lamps/bay")
JOBS = (
    ("bay-fades",),
    ("bay-stays",),
    ("bay-time", "bay-fades"),
    ("strip-with-door",),
    ("chime-then-lamp", "heater-greets"),
    ("watch-quick",),
    ("watch-on", "steps-wait", "left-step-waits"),
)
CODES = dict.fromkeys([name for job in JOBS for name in job] + ["bay-time", "chime-then-lamp"], "4M7Q0Z2K")


@cache
def book() -> Book:
    return Book(load(CLUB))


@cache
def planned(names: tuple[str, ...], known: Known = BUS) -> Plan:
    one = plan(names, book().shop, known)
    assert not one.troubles
    return one


@st.composite
def found(draw: st.DrawFn, names: tuple[str, ...]) -> dict[RecordPath, Typed]:
    """What each record of a job could hold before, so that the job may be done."""
    out: dict[RecordPath, Typed] = {}
    for record in planned(names).records:
        edit = record.edits[-1]
        if not isinstance(edit, Edit):
            words = {
                f.setting.setting: f.before_words or draw(st.sampled_from(_words(record.record, f)))
                for f in edit.fields
            }
            out[record.path] = words
            continue
        held = draw(st.binary(min_size=edit.length, max_size=edit.length))
        if edit.record.record == "catch":
            held = b"\x02" + held[1:]
        for field in edit.fields:
            if field.before_raw is not None:
                held = field.place.scatter(held, field.before_raw)
            elif not _known(field, held):
                held = field.place.scatter(held, field.to_raw)
        held = edit.checksum.applied(held) if edit.checksum else held
        out[record.path] = "0x" + held.hex()  # pairs such as 10 20 could be decimal
        if record.record.shown_as is not None:
            out[record.path] = str(int.from_bytes(held, record.record.shown_as.order))
    return out


def _words(record, field) -> list[str]:  # type: ignore[no-untyped-def]
    return [choice.means for choice in field.definition.kind.choices]


def _known(field, held: bytes) -> bool:  # type: ignore[no-untyped-def]
    from asfound.car.values import decode

    return decode(field.definition, field.place.gather(held), field.place.width).known


def done(names: tuple[str, ...], typed: Mapping[RecordPath, Typed], date: str = "2026-05-01") -> Log:
    """The log of a job that went as it should."""
    one = planned(names)
    sheet = worksheet(one, typed, book().world, BUS)
    assert sheet.ready, [(row.asks, row.stops) for row in sheet.rows]
    held = {row.path: row.found for row in sheet.rows if row.found is not None}
    to = {row.path: row.write for row in sheet.rows if row.write is not None}
    layouts = {row.path: row.layout for row in sheet.rows if row.layout}
    return Log(log_job(one, date, held, to, to, layouts, CODES, BUS), BUS)


def presents(log: Log) -> dict[RecordPath, Present]:
    """Every record of the log as it was left."""
    wrote = [entry for entry in log.entries if isinstance(entry, Wrote)]
    return {w.record: Present(w.layout, w.left if w.left is not None else w.written) for w in wrote}


def states(found: tuple[RecordDrift, ...]) -> set[str]:
    return {mark.state for one in found for mark in one.marks}


@given(st.data(), st.sampled_from(JOBS))
@settings(max_examples=60, deadline=None)
def test_an_unchanged_reading_stands(data: st.DataObject, names: tuple[str, ...]) -> None:
    log = done(names, data.draw(found(names)))
    result = drift(log, presents(log), book().modules)
    assert states(result) == {"stands"}
    assert not any(one.moved or one.bits or one.restore or one.problem for one in result)
    assert {s.setting for s in standing(log)} == {m.standing.setting for one in result for m in one.marks}
    assert unread(log, presents(log)) == () and unread(log, {}) != ()


@given(st.data(), st.sampled_from(JOBS))
@settings(max_examples=80, deadline=None)
def test_what_is_lost_is_put_back(data: st.DataObject, names: tuple[str, ...]) -> None:
    """Back to what was found: exactly the changes that changed anything are lost, and can be put back."""
    log = done(names, data.draw(found(names)))
    wrote = [entry for entry in log.entries if isinstance(entry, Wrote)]
    now = {w.record: Present(w.layout, w.found) for w in wrote}
    result = drift(log, now, book().modules)
    for one in result:
        for mark in one.marks:
            moved = next(
                m
                for d in mark.standing.wrote.did
                for m in d.changes
                if m.setting == mark.standing.setting.setting
            )
            assert mark.state == ("stands" if moved.before == moved.to else "lost")
            assert mark.now == moved.before
        assert not one.moved and not one.bits
        if one.restore is not None:
            assert one.restore.refused is None and one.restore.write is not None
            now[one.record] = Present(now[one.record].layout, one.restore.write)
    assert now == presents(log), "putting back gives what was left, bit for bit"
    assert states(drift(log, now, book().modules)) == {"stands"}


@given(st.data(), st.sampled_from(JOBS))
@settings(max_examples=80, deadline=None)
def test_every_flipped_bit_is_told(data: st.DataObject, names: tuple[str, ...]) -> None:
    """One bit turned in one record: a change lost, another setting moved, or a bit that belongs to none."""
    log = done(names, data.draw(found(names)))
    now = presents(log)
    path = data.draw(st.sampled_from(sorted(now)))
    content = now[path].content
    assume(isinstance(content, bytes))
    assert isinstance(content, bytes)
    at = data.draw(st.integers(0, 8 * len(content) - 1))
    turned = bytes(b ^ (1 << at % 8 if i == at // 8 else 0) for i, b in enumerate(content))
    now[path] = replace(now[path], content=turned)
    record = book().record(path)
    assert record is not None
    layout = record.layout(now[path].layout or "")
    assert layout is not None
    one = next(d for d in drift(log, now, book().modules) if d.record == path)
    owner = next((s for s, place in layout.places.items() if (at // 8, at % 8) in place.bits()), None)
    wanted = {m.standing.setting.setting for m in one.marks}
    lost = {m.standing.setting.setting for m in one.marks if m.state == "lost"}
    assert lost == ({owner} & wanted if owner else set())
    assert {m.setting for m in one.moved} == ({owner} - wanted if owner else set())
    in_checksum = layout.checksum is not None and (at // 8, at % 8) in layout.checksum.place.bits()
    assert one.bits == (() if owner or in_checksum else ((at // 8, at % 8),))


# single stories


def log_of(*entries: Wrote | Read | LoadedFile) -> Log:
    return Log(tuple(entries))


def wrote(layout: str | None, found: Content, written: Content, *moved: Moved, **more: object) -> Wrote:
    did = (Did("bay-fades", "4M7Q0Z2K", moved),)
    entry = Wrote("2026-05-01", BAY, layout, found, written, written, did)
    return replace(entry, **more)  # type: ignore[arg-type]


def seal(text: str, layout: str) -> bytes:
    record = book().record(BAY)
    assert record is not None
    one = record.layout(layout)
    assert one is not None and one.checksum is not None
    return one.checksum.applied(bytes.fromhex(text))


EARLY = wrote(
    "early",
    seal("00 14 00 00", "early"),
    seal("01 14 00 00", "early"),
    Moved("after-door", "goes out", "fades"),
)


def test_after_an_update_with_another_layout_by_value() -> None:
    """Layout late: after-door in byte 2 bits 4 and 5, time in byte 3 bits 0 to 3 and byte 2 bits 0 to 3."""
    kept = {BAY: Present("late", seal("00 00 14 01 00 00", "late"))}
    (one,) = drift(log_of(EARLY), kept, book().modules)
    assert one.by == "value" and [m.state for m in one.marks] == ["stands"] and not one.moved
    lost = {BAY: Present("late", seal("00 00 0C 00 00 00", "late"))}
    (one,) = drift(log_of(EARLY), lost, book().modules)
    assert [(m.state, m.now) for m in one.marks] == [("lost", "goes out")]
    assert [(m.setting, m.before, m.to) for m in one.moved] == [("time", "10", "6")]
    assert one.restore is not None and one.restore.by == "value"
    assert one.restore.write == seal("00 00 1C 00 00 00", "late")


def test_a_value_nobody_knows_is_not_overwritten() -> None:
    (one,) = drift(log_of(EARLY), {BAY: Present("early", seal("03 14 00 00", "early"))}, book().modules)
    assert one.marks[0].state == "lost" and one.marks[0].now == "3"
    assert one.restore is not None and one.restore.write is None and one.restore.refused is not None


def test_a_wrong_checksum_is_not_written_over() -> None:
    good = seal("00 14 00 00", "early")
    bad = good[:-1] + bytes([good[-1] ^ 1])
    (one,) = drift(log_of(EARLY), {BAY: Present("early", bad)}, book().modules)
    assert one.restore is not None and one.restore.write is None and one.restore.refused is not None
    assert "checksum" in one.restore.refused[0]


@pytest.mark.parametrize(
    ("present", "problem"),
    [
        (Present("other", b"\0\0\0\0"), "no layout"),
        (Present("early", b"\0\0"), "no layout"),
        (Present(None, {"after-door": "fades"}), "no layout"),
    ],
)
def test_what_cannot_be_compared(present: Present, problem: str) -> None:
    (one,) = drift(log_of(EARLY), {BAY: present}, book().modules)
    assert problem in one.problem and [m.state for m in one.marks] == ["cannot tell"]


def test_a_record_that_is_no_longer_described() -> None:
    (one,) = drift(log_of(EARLY), {BAY: Present("early", b"\0" * 4)}, {})
    assert "no longer" in one.problem


def test_a_choice_that_lost_its_name_does_not_stand() -> None:
    strange = wrote("early", EARLY.found, EARLY.written, Moved("after-door", "goes out", "glows"))
    (one,) = drift(log_of(strange), {BAY: Present("early", EARLY.written)}, book().modules)
    assert one.marks[0].state == "lost" and one.restore is not None and one.restore.refused is not None


def test_put_back_no_longer_stands() -> None:
    back = wrote("early", EARLY.written, EARLY.found, Moved("after-door", "fades", "goes out"), put_back=True)
    log = log_of(EARLY, back)
    assert standing(log) == ()
    (one,) = drift(log, {BAY: Present("early", EARLY.found)}, book().modules)
    assert one.marks == () and not one.moved
    again = log_of(EARLY, back, EARLY)
    assert [(s.original, s.to) for s in standing(again)] == [("goes out", "fades")]


def test_the_first_value_found_is_the_original() -> None:
    stays = wrote(
        "early", EARLY.written, seal("02 14 00 00", "early"), Moved("after-door", "fades", "stays lit")
    )
    (one,) = standing(log_of(EARLY, stays))
    assert (one.original, one.to) == ("goes out", "stays lit")


def test_a_later_reading_in_the_log_is_what_moved_is_measured_from() -> None:
    seen = Read("2026-06-01", BAY, "early", seal("01 20 00 00", "early"))
    (one,) = drift(log_of(EARLY, seen), {BAY: Present("early", seen.found)}, book().modules)
    assert not one.moved


def test_handover() -> None:
    lamp = done(
        ("watch-on", "steps-wait", "left-step-waits"),
        {
            RecordPath.parse("socket/trailer"): {"watch": "off"},
            RecordPath.parse("step@left/motion"): "00 10",
            RecordPath.parse("step@right/motion"): "00 18",
            RecordPath.parse("lamps/outside"): "769",
        },
    )
    files = (
        LoadedFile("2026-05-02", "screen", "new-map", "4M7Q0Z2K", "MAP.BIN", "1", "2"),
        LoadedFile("2026-06-02", "screen", "new-map", "4M7Q0Z2K", "MAP3.BIN", "2", "3"),
    )
    one = handover(Log(lamp.entries + files))
    assert [(m.module, m.place) for m in one.modules] == [
        ("socket", None),
        ("step", "left"),
        ("step", "right"),
        ("lamps", None),
    ]
    assert one.modules[-1].software == "0210" and one.modules[0].software is None
    level = one.modules[-1].changes[0]
    assert (level.setting, level.original, level.to) == (SettingPath.parse("lamps/outside/level"), "15", "35")
    assert [f.after for f in one.files] == ["3"]
    assert set(one.recipes) == {"watch-on", "steps-wait", "left-step-waits", "new-map"}


# the worksheet


def sheet(names: tuple[str, ...], known: Known = BUS, **typed: Typed):  # type: ignore[no-untyped-def]
    records = {RecordPath.parse(name.replace("__", "/")): text for name, text in typed.items()}
    return worksheet(planned(names, known), records, book().world, known)


def test_nothing_to_write_before_all_is_noted() -> None:
    names = ("chime-then-lamp",)
    bay = hex_pairs(seal("00 00 05 00 00 00", "late"))
    half = sheet(names, lamps__bay=bay)
    assert [str(p) for p in half.missing] == ["doors/catch"] and not half.ready
    assert all(row.write is None for row in half.rows)
    whole = sheet(names, lamps__bay=bay, doors__catch="02 00 00 00")
    assert whole.ready and [row.layout for row in whole.rows] == ["late", "two"]
    assert [hex_pairs(row.write) for row in whole.rows][1] == "02 00 00 40"
    assert whole.rows[1].changed == ((3, 6),)
    assert [(t.name, t.words) for t in whole.rows[1].told] == [("Chime", "silent"), ("Delay", "−1 s")]


def test_stops_and_questions() -> None:
    names = ("bay-fades",)
    good = seal("00 00 05 00 00 00", "late")
    wrong = good[:-1] + bytes([good[-1] ^ 1])
    assert "checksum" in sheet(names, lamps__bay=hex_pairs(wrong)).rows[0].stops[0]
    assert "instead of 6" in sheet(names, lamps__bay="00 11").rows[0].stops[0]
    assert "no row" in sheet(names, lamps__bay="zz").rows[0].stops[0]
    assert "not words" in sheet(names, lamps__bay={"after-door": "fades"}).rows[0].asks[0]
    three = seal("00 00 35 00 00 00", "late")
    assert "no known meaning" in sheet(names, lamps__bay=hex_pairs(three)).rows[0].stops[0]
    both = sheet(("watch-quick",), socket__trailer="off")
    assert "each of watch, tone" in both.rows[0].asks[0]
    unsure = sheet(("bay-fades",), known=Known(frozenset(("knot",))), lamps__bay="00 00 00 00 00 00")
    assert not unsure.rows[0].asks and unsure.rows[0].layout == "late"  # only late has six bytes
