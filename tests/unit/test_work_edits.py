"""Edits: the laws as properties, the states, the stops, and the way back."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from asfound.car.bits import Part, Place, differing
from asfound.car.checksums import KINDS, Checksum
from asfound.car.origin import Origin
from asfound.car.records import Layout, Record, RecordPath, SettingPath
from asfound.car.settings import Choice, Choices, Number, Setting, Text
from asfound.work.edits import (
    Edit,
    EditProblem,
    UndoProblem,
    WrongChecksum,
    WrongLength,
    assess,
    assess_names,
    compile_edit,
    compile_names,
    compose,
    put_back_by_value,
    put_back_names,
    touched,
    undo,
    write,
    write_names,
)
from asfound.work.recipes import Alternative, Ask, Change

PATH = RecordPath("box", "rec")
ORIGIN = Origin("changes/some/recipe.yml", ("changes", 0))


def number(id: str, top: int, signed: bool = False, special: tuple[Choice, ...] = ()) -> Setting:
    low = -top if signed else 0
    kind = Number(Fraction(1), Fraction(0), "km", Fraction(low), Fraction(top), signed, special)
    return Setting(id, id.capitalize(), kind, ("comfort",), "club")


def choices(id: str, *means: str) -> Setting:
    kind = Choices(tuple(Choice(m, i) for i, m in enumerate(means)))
    return Setting(id, id.capitalize(), kind, ("comfort",), "club")


def path(id: str) -> SettingPath:
    return SettingPath("box", "rec", id)


def change(id: str, before: str | None, to: str | Ask) -> Change:
    return Change(path(id), before, to, origin=ORIGIN)


def record_of(layout: Layout, *settings: Setting) -> Record:
    return Record("rec", "Record", settings, (layout,), "0x3C21")


@st.composite
def jobs(draw, count: int = 3):
    """A record of disjoint settings in random parts, perhaps with a checksum, and changes to each."""
    checksum_kind = draw(st.sampled_from([None, *KINDS]))
    body = draw(st.integers(2, 6))
    size = KINDS[checksum_kind].width // 8 if checksum_kind else 0
    in_front = draw(st.booleans())
    checksum = None
    if checksum_kind:
        at, first = (0, size) if in_front else (body, 0)
        order = draw(st.sampled_from(["big", "little"]))
        checksum = Checksum(checksum_kind, first, first + body - 1, at, order)
    start = size if in_front and checksum else 0
    free = [(byte, bit) for byte in range(start, start + body) for bit in range(8)]
    free = draw(st.permutations(free))
    places, settings, changes = {}, [], []
    for i in range(count):
        width = draw(st.integers(1, 5))
        cells, free = free[:width], free[width:]
        places[f"s{i}"] = Place(tuple(Part(byte, bit, bit) for byte, bit in cells))
        settings.append(number(f"s{i}", (1 << width) - 1))
        to = draw(st.integers(0, (1 << width) - 1))
        changes.append(change(f"s{i}", None, str(to)))
    layout = Layout("one", None, body + size, places, checksum)
    found = draw(st.binary(min_size=body + size, max_size=body + size))
    if checksum:
        found = checksum.applied(found)
    return record_of(layout, *settings), layout, changes, found


def single(job) -> tuple[Edit, bytes]:
    record, layout, changes, found = job
    return compile_edit(record, PATH, layout, changes), found


@given(jobs())
def test_twice_is_once(job):
    edit, found = single(job)
    once = write(edit, found)
    assert write(edit, once) == once
    assert assess(edit, once).state == "already done"


@given(jobs())
def test_undo_after_write_is_as_found(job):
    edit, found = single(job)
    assert undo(edit, found, write(edit, found)) == found


@given(jobs())
def test_other_bits_never_move(job):
    edit, found = single(job)
    out = write(edit, found)
    may = touched(edit)
    assert all(may[byte] >> bit & 1 for byte, bit in differing(found, out))
    assert edit.checksum is None or edit.checksum.matches(out)


@given(jobs(), st.permutations([0, 1, 2]))
def test_disjoint_edits_commute_and_compose(job, order):
    record, layout, changes, found = job
    edits = [compile_edit(record, PATH, layout, [one]) for one in changes]
    out = found
    for i in order:
        out = write(edits[i], out)
    together = compose([edits[i] for i in order])
    assert out == write(together, found) == write(compile_edit(record, PATH, layout, changes), found)
    assert undo(together, found, out) == found


@given(jobs())
def test_composing_is_associative_and_an_edit_composed_with_itself_is_itself(job):
    record, layout, changes, _ = job
    a, b, c = (compile_edit(record, PATH, layout, [one]) for one in changes)
    assert compose([a]) == compose([a, a]) == a
    assert compose([compose([a, b]), c]) == compose([a, compose([b, c])]) == compose([a, b, c])
    assert compose([a, b, c]) == compile_edit(record, PATH, layout, changes)


@given(jobs(), st.permutations([0, 1, 2]))
def test_undoing_one_after_the_other_in_any_order_undoes_all(job, order):
    record, layout, changes, found = job
    edits = [compile_edit(record, PATH, layout, [one]) for one in changes]
    now = write(compose(edits), found)
    for i in order:
        now = undo(edits[i], found, now)
    assert now == found


@given(jobs())
def test_in_one_and_the_same_layout_putting_back_by_value_is_undoing(job):
    edit, found = single(job)
    written = write(edit, found)
    assert put_back_by_value(edit, found, edit, written) == undo(edit, found, written)


@given(jobs(count=2), st.data())
def test_undo_keeps_what_others_changed_meanwhile(job, data):
    record, layout, changes, found = job
    mine, theirs = (compile_edit(record, PATH, layout, [one]) for one in changes)
    now = write(theirs, write(mine, found))
    assert undo(mine, found, now) == write(theirs, found)


@given(st.integers(0, 255), st.sets(st.integers(0, 7), min_size=1))
def test_sums_of_switches_are_bits(found, switches):
    """A switch that is already on is not added twice: the sum is a bitwise or."""
    settings = [choices(f"s{bit}", "off", "on") for bit in sorted(switches)]
    layout = Layout("one", None, 1, {f"s{bit}": Place((Part(0, bit, bit),)) for bit in switches})
    edit = compile_edit(
        record_of(layout, *settings), PATH, layout, [change(s.id, None, "on") for s in settings]
    )
    assert write(edit, bytes([found]))[0] == found | sum(1 << bit for bit in switches)


LAMP = choices("lamp", "stays off", "follows", "always on")
RANGE = number("range", 200, special=(Choice("not learned", 255),))
LAYOUT = Layout("one", None, 3, {"lamp": Place((Part(0, 2, 4),)), "range": Place((Part(1),))})
RECORD = record_of(LAYOUT, LAMP, RANGE)


def compiled(*changes: Change, choose=None) -> Edit:
    return compile_edit(RECORD, PATH, LAYOUT, changes, choose or {})


@pytest.mark.parametrize(
    ("lamp", "state"),
    [(0, "ready"), (1, "already done"), (2, "another offered value"), (3, "unexpected"), (7, "unexpected")],
)
def test_the_four_states(lamp, state):
    edit = compiled(change("lamp", "stays off", "follows"))
    got = assess(edit, bytes([lamp << 2, 0, 0]), [Alternative(path("lamp"), "always on", "It stays on.")])
    assert got.state == state
    assert bool(got.stops) == (state == "unexpected")


def test_unexpected_names_what_it_holds():
    edit = compiled(change("lamp", "stays off", "follows"))
    (stop,) = assess(edit, bytes([2 << 2, 0, 0])).stops
    assert stop == "'Lamp' holds 'always on'; 'stays off' (before) or 'follows' (afterwards) was expected."
    (stop,) = assess(edit, bytes([5 << 2, 0, 0])).stops
    assert "'5', which has no known meaning" in stop


def test_from_any_is_ready_from_every_known_meaning_only():
    edit = compiled(change("range", None, "120"))
    assert assess(edit, bytes([0, 7, 0])).state == "ready"
    assert assess(edit, bytes([0, 255, 0])).state == "ready"  # not learned
    assert assess(edit, bytes([0, 120, 0])).state == "already done"
    assert assess(edit, bytes([0, 201, 0])).state == "unexpected"  # beyond the largest that makes sense


def test_an_asked_setting_takes_the_choice_else_the_suggestion():
    asked = change("range", "not learned", Ask("How far?", "90"))
    assert compiled(asked).fields[0].to_raw == 90
    edit = compiled(asked, choose={path("range"): "75"})
    assert edit.asked == (path("range"),)
    assert write(edit, bytes([1, 255, 3])) == bytes([1, 75, 3])
    assert assess(edit, bytes([0, 255, 0])).state == "ready"
    assert assess(edit, bytes([0, 90, 0])).state == "another offered value"
    assert assess(edit, bytes([0, 75, 0])).state == "already done"
    assert assess(edit, bytes([0, 230, 0])).state == "unexpected"
    with pytest.raises(EditProblem, match="limits"):
        compiled(asked, choose={path("range"): "201"})


def test_one_done_and_one_ready_is_ready():
    edit = compiled(change("lamp", "stays off", "follows"), change("range", "10", "20"))
    got = assess(edit, bytes([1 << 2, 10, 0]))
    assert [f.state for f in got.fields] == ["already done", "ready"]
    assert got.state == "ready"


def test_a_wrong_checksum_as_found_is_a_stop():
    layout = Layout("sum", None, 4, dict(LAYOUT.places), Checksum("crc8-j1850", 0, 2, 3))
    edit = compile_edit(record_of(layout, LAMP, RANGE), PATH, layout, [change("lamp", None, "follows")])
    found = layout.checksum.applied(bytes(4))
    wrong = found[:3] + bytes([found[3] ^ 1])
    with pytest.raises(WrongChecksum):
        write(edit, wrong)
    got = assess(edit, wrong)
    assert (got.state, got.checksum_ok) == ("unexpected", False)
    assert "checksum" in got.stops[0]
    assert assess(edit, found).checksum_ok is True
    with pytest.raises(WrongChecksum):
        undo(edit, wrong, write(edit, found))
    with pytest.raises(WrongChecksum):
        undo(edit, found, wrong)


def test_wrong_length_is_a_stop():
    edit = compiled(change("lamp", None, "follows"))
    for call in (write, assess):
        with pytest.raises(WrongLength, match="2 bytes"):
            call(edit, b"\0\0")
    with pytest.raises(WrongLength):
        undo(edit, b"\0\0\0", b"\0\0")


def test_undo_refuses_when_something_else_has_changed_it():
    edit = compiled(change("lamp", "stays off", "follows"))
    with pytest.raises(UndoProblem, match="always on") as error:
        undo(edit, bytes(3), bytes([2 << 2, 0, 0]))
    assert "\n" not in error.value.reason + error.value.repair


# Two changes on the same bits


def test_the_same_change_twice_is_one():
    edit = compiled(change("lamp", None, "follows"), change("lamp", "stays off", "follows"))
    assert len(edit.fields) == 1
    assert edit.fields[0].before_words == "stays off"  # the stricter demand stays


@pytest.mark.parametrize("other", [("stays off", "always on"), ("always on", "follows")])
def test_changes_that_clash_are_a_problem(other):
    with pytest.raises(EditProblem) as error:
        compiled(change("lamp", "stays off", "follows"), change("lamp", *other))
    (problem,) = error.value.problems
    assert problem.origin.file == ORIGIN.file
    assert "byte 0 bit" in problem.reason


def test_two_settings_on_shared_bits_agree_or_clash():
    whole = number("whole", 255)
    layout = Layout("one", None, 1, {"whole": Place((Part(0),)), "lamp": Place((Part(0, 0, 1),))})
    record = record_of(layout, whole, LAMP)
    agree = compile_edit(record, PATH, layout, [change("whole", None, "9"), change("lamp", None, "follows")])
    assert (agree.mask, agree.bits) == (b"\xff", b"\x09")
    with pytest.raises(EditProblem, match="share byte 0 bit 0"):
        compile_edit(record, PATH, layout, [change("whole", None, "8"), change("lamp", None, "follows")])


def test_composing_edits_that_clash_is_a_problem_and_of_two_layouts_an_error():
    one, two = compiled(change("lamp", None, "follows")), compiled(change("lamp", None, "always on"))
    with pytest.raises(EditProblem):
        compose([one, two])
    other = Layout("two", None, 3, LAYOUT.places)
    elsewhere = compile_edit(record_of(other, LAMP, RANGE), PATH, other, [change("range", None, "1")])
    with pytest.raises(ValueError, match="composed"):
        compose([one, elsewhere])
    with pytest.raises(ValueError, match="composed"):
        compose([])


# What cannot be compiled


@pytest.mark.parametrize(
    ("bad", "reason", "at"),
    [
        (change("lampp", None, "follows"), "no setting", "setting"),
        (change("lost", None, "follows"), "no place", "setting"),
        (change("far", None, "follows"), "beyond", "setting"),
        (change("twice", None, "follows"), "no proper run", "setting"),
        (change("sum", None, "follows"), "checksum", "setting"),
        (change("lamp", "nowhere", "follows"), "no value", "from"),
        (change("lamp", None, "nowhere"), "no value", "to"),
        (change("range", "1.4", "3"), "never '1.4'", "from"),
    ],
)
def test_problems_say_where_why_and_what_instead(bad, reason, at):
    places = {
        **LAYOUT.places,
        "far": Place((Part(4),)),
        "twice": Place((Part(0, 0, 1), Part(0, 1, 2))),
        "sum": Place((Part(3, 0, 1),)),
    }
    settings = [LAMP, RANGE] + [choices(id, "stays off", "follows") for id in ("lost", "far", "twice", "sum")]
    layout = Layout("one", None, 4, places, Checksum("crc8-j1850", 0, 2, 3))
    with pytest.raises(EditProblem) as error:
        compile_edit(record_of(layout, *settings), PATH, layout, [bad])
    (problem,) = error.value.problems
    assert reason in problem.reason
    assert problem.origin == ORIGIN.at(at)
    assert problem.repair and "\n" not in problem.reason + problem.repair


def test_all_problems_come_at_once():
    with pytest.raises(EditProblem) as error:
        compiled(change("lamp", "x", "y"), change("nothing", None, "z"))
    assert [p.origin.path[-1] for p in error.value.problems] == ["from", "to", "setting"]


@pytest.mark.parametrize(
    ("checksum", "reason"),
    [(Checksum("crc8-j1850", 0, 2, 3), "beyond"), (Checksum("crc8-j1850", 0, 2, 1), "among the bytes")],
)
def test_a_checksum_that_cannot_be_is_a_problem(checksum, reason):
    layout = Layout("one", None, 3, LAYOUT.places, checksum)
    with pytest.raises(EditProblem, match=reason):
        compile_edit(record_of(layout, LAMP, RANGE), PATH, layout, [change("lamp", None, "follows")])


def test_a_change_of_another_record_is_an_error():
    with pytest.raises(ValueError, match="does not lie in"):
        compile_edit(RECORD, RecordPath("box", "other"), LAYOUT, [change("lamp", None, "follows")])


def test_rounding_is_stated():
    coarse = Setting(
        "v", "V", Number(Fraction("0.5"), Fraction(0), "V", Fraction(0), Fraction(20), False), (), "club"
    )
    layout = Layout("one", None, 1, {"v": Place((Part(0),))})
    (field,) = compile_edit(record_of(layout, coarse), PATH, layout, [change("v", "1.5", "11.4")]).fields
    assert (field.to_raw, field.to_words, field.exact) == (23, "11.5", False)


# Put back by value, after the module changed its layout


def two_layouts(width: int) -> tuple[Edit, Edit]:
    deep = number("deep", 100, signed=True)
    name = Setting("name", "Name", Text(2, "space"), ("comfort",), "club")
    old = Layout("old", None, 4, {"deep": Place((Part(0),)), "name": Place((Part(1), Part(2)))})
    new_place = Place((Part(4, 0, width - 9), Part(3))) if width > 8 else Place((Part(3, 0, width - 1),))
    new = Layout(
        "new",
        None,
        6,
        {"deep": new_place, "name": Place((Part(1), Part(0)))},
        Checksum("crc8-j1850", 0, 4, 5),
    )
    changes = [change("deep", None, "20"), change("name", None, "AB")]
    return tuple(compile_edit(record_of(layout, deep, name), PATH, layout, changes) for layout in (old, new))


@given(st.integers(-100, 100))
def test_put_back_by_value_carries_the_meaning_not_the_bits(value):
    old, new = two_layouts(12)
    noted = bytes([value & 0xFF, *b"xy", 9])
    present = write(new, new.checksum.applied(bytes([0, 0, 7, 0, 0xF0, 0])))
    back = put_back_by_value(old, noted, new, present)
    assert back[:2] == b"yx"  # the new layout keeps the letters the other way round
    assert (back[4] & 15) << 8 | back[3] == value & 0xFFF  # two's complement, widened
    assert back[2] == 7 and back[4] >> 4 == 15  # nothing else moved
    assert new.checksum.matches(back)


def test_put_back_by_value_refuses_what_it_cannot_carry():
    old, new = two_layouts(12)
    present = write(new, new.checksum.applied(bytes(6)))
    with pytest.raises(UndoProblem, match="no known meaning"):
        put_back_by_value(old, bytes([127, *b"xy", 0]), new, present)
    with pytest.raises(UndoProblem, match="something else"):
        put_back_by_value(old, bytes([1, *b"xy", 0]), new, new.checksum.applied(bytes(6)))
    narrow_old, narrow = two_layouts(6)
    present = write(narrow, narrow.checksum.applied(bytes(6)))
    with pytest.raises(UndoProblem, match="cannot hold"):
        put_back_by_value(narrow_old, bytes([90, *b"xy", 0]), narrow, present)
    only_name = compose([new])
    without = Edit(
        new.record, new.layout, new.length, new.mask, new.bits, only_name.fields[1:], new.checksum, ()
    )
    with pytest.raises(UndoProblem, match="no place"):
        put_back_by_value(old, bytes([1, *b"xy", 0]), without, write(new, new.checksum.applied(bytes(6))))


# Records of which only names are known


def names_record() -> Record:
    sound = Setting(
        "sound",
        "Sound",
        Choices((Choice("soft", None), Choice("loud", None), Choice("off", None))),
        (),
        "club",
    )
    return Record("rec", "Record", (sound, number("delay", 30)), names_only=True)


def test_names_only_by_words():
    edit = compile_names(names_record(), PATH, [change("sound", "soft", "loud"), change("delay", None, "5")])
    found = {path("sound"): "soft", path("delay"): "9"}
    assert assess_names(edit, found).state == "ready"
    after = write_names(edit, found)
    assert after == {path("sound"): "loud", path("delay"): "5"}
    assert assess_names(edit, after).state == "already done"
    assert put_back_names(edit, found, after) == found
    offered = [Alternative(path("sound"), "off", "No sound.")]
    assert assess_names(edit, {**found, path("sound"): "off"}, offered).state == "another offered value"
    assert assess_names(edit, {**found, path("sound"): "off"}).state == "unexpected"
    assert assess_names(edit, {**found, path("delay"): "31"}).state == "unexpected"
    assert assess_names(edit, {path("sound"): "soft"}).state == "unexpected"
    with pytest.raises(UndoProblem, match="something else"):
        put_back_names(edit, found, {**after, path("sound"): "off"})
    with pytest.raises(UndoProblem, match="never noted"):
        put_back_names(edit, {}, after)


@pytest.mark.parametrize(
    "changes",
    [
        [change("sound", "soft", "deafening")],
        [change("sound", "faint", "loud")],
        [change("delay", None, "31")],
        [change("nothing", None, "1")],
        [change("sound", None, "loud"), change("sound", None, "off")],
        [change("sound", "soft", "loud"), change("sound", "off", "loud")],
    ],
)
def test_names_only_problems(changes):
    with pytest.raises(EditProblem):
        compile_names(names_record(), PATH, changes)


def test_names_only_same_change_twice_is_one():
    edit = compile_names(
        names_record(), PATH, [change("sound", None, "loud"), change("sound", "soft", "loud")]
    )
    assert [f.before_words for f in edit.fields] == ["soft"]


@given(jobs(), st.data())
def test_flipping_a_masked_bit_is_seen(job, data):
    """After writing, no other value of the mask counts as done."""
    edit, found = single(job)
    out = bytearray(write(edit, found))
    byte, bit = data.draw(st.sampled_from([b for f in edit.fields for b in f.place.bits()]))
    out[byte] ^= 1 << bit
    flipped = bytes(out) if edit.checksum is None else edit.checksum.applied(bytes(out))
    assume(flipped != write(edit, found))
    with pytest.raises(UndoProblem):
        undo(edit, found, flipped)
