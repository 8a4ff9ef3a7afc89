"""Worked examples: each through the edits and back, with every differing bit named."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ..car.bits import differing, hex_pairs
from ..car.checksums import Checksum
from ..car.records import Layout, Module, Record, SettingPath
from .edits import (
    Edit,
    EditProblem,
    NamesEdit,
    Stop,
    WrongChecksum,
    assess,
    assess_names,
    compile_edit,
    compile_names,
    position,
    put_back_names,
    touched,
    undo,
    write,
    write_names,
)
from .forms import Form, variants
from .held import HeldProblem, parse_held, parse_names, show_held, show_names
from .recipes import Ask, Change, Recipe, WorkedExample


@dataclass(frozen=True, slots=True)
class ExampleResult:
    """What came of a worked example.

    ``expected`` is what its author wrote, ``got`` what the edits give ("" when they give nothing), both as
    tools show the record. ``differing`` names every bit, checksum or setting in which the two differ.
    ``reasons`` are whole sentences; ``message`` is all of it in one line, empty when ``ok``. ``edit`` is what
    was run.
    """

    ok: bool
    expected: str
    got: str = ""
    differing: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()
    repair: str = ""
    edit: Edit | NamesEdit | None = None

    @property
    def message(self) -> str:
        """One line for a finding."""
        differing = f"{'; '.join(self.differing)}." if self.differing else ""
        return " ".join(filter(None, (*self.reasons, differing)))


def run_example(
    recipe: Recipe, example: WorkedExample, modules: Mapping[str, Module], forms: Sequence[Form] = ()
) -> ExampleResult:
    """Run one worked example.

    With ``forms`` (all of the recipe's) the example may show any set of changes that some car with this
    layout gets; the one that comes nearest is reported. Without, every change to the record is made. An
    example fails when it does not come out bit for bit, when all its changes are already done or a value is
    one nobody expects, when its checksum is wrong, when the way back does not give ``found`` again, or when a
    bit differs that no change touches.
    """
    record = _record(example, modules)
    if isinstance(record, ExampleResult):
        return record
    layout = record.layout(example.layout) if example.layout is not None else None
    if (example.layout is None) != record.names_only or (layout is None) != record.names_only:
        return _wrong_layout(example, record)
    path = example.record
    all_changes = tuple(
        c
        for c in recipe.changes
        if (c.setting.module, c.setting.record) == (path.module, path.record)
        and (path.place is None or c.place in (None, path.place))
    )
    sets = variants(forms, path, example.layout) if forms else (all_changes,)
    if not sets or not all_changes:
        where = f" in layout {example.layout!r}" if all_changes and layout is not None else ""
        repair = "Leave the example out, or correct its record or layout."
        return ExampleResult(
            False, example.write, reasons=(f"The recipe changes nothing in '{path}'{where}.",), repair=repair
        )
    choose = dict(example.choose)
    if stray := [
        str(s) for s in choose if not any(c.setting == s and isinstance(c.to, Ask) for c in all_changes)
    ]:
        reason = f"The reader is not asked for {', '.join(stray)}."
        return ExampleResult(False, example.write, reasons=(reason,), repair="Leave it out of 'choose'.")
    results = [_run(recipe, example, record, layout, changes, choose) for changes in sets]
    return next((r for r in results if r.ok), min(results, key=lambda r: (not r.got, len(r.differing))))


def _record(example: WorkedExample, modules: Mapping[str, Module]) -> Record | ExampleResult:
    module = modules.get(example.record.module)
    record = module.record(example.record.record) if module else None
    if record is None:
        reason = f"There is no record '{example.record}'."
        return ExampleResult(False, example.write, reasons=(reason,), repair="Correct its name.")
    return record


def _wrong_layout(example: WorkedExample, record: Record) -> ExampleResult:
    if record.names_only:
        reason = f"Of record {record.id!r} only names are known, so it has no layout."
        return ExampleResult(False, example.write, reasons=(reason,), repair="Leave 'layout' out.")
    names = ", ".join(x.id for x in record.layouts)
    reason = (
        "The example does not say which layout it shows."
        if example.layout is None
        else f"Record {record.id!r} has no layout {example.layout!r}."
    )
    return ExampleResult(False, example.write, reasons=(reason,), repair=f"Name one of: {names}.")


def _run(
    recipe: Recipe,
    example: WorkedExample,
    record: Record,
    layout: Layout | None,
    changes: Sequence[Change],
    choose: Mapping[SettingPath, str],
) -> ExampleResult:
    try:
        if layout is None:
            return _run_names(recipe, example, record, compile_names(record, example.record, changes, choose))
        edit = compile_edit(record, example.record, layout, changes, choose)
        return _run_bytes(recipe, example, record, layout, edit)
    except EditProblem as error:
        reasons, repair = tuple(p.reason for p in error.problems), error.problems[0].repair
        return ExampleResult(False, example.write, reasons=reasons, repair=repair)


def _run_bytes(
    recipe: Recipe, example: WorkedExample, record: Record, layout: Layout, edit: Edit
) -> ExampleResult:
    held: list[bytes] = []
    for key, text in (("found", example.found), ("write", example.write)):
        try:
            held.append(parse_held(record, layout.length, text))
        except HeldProblem as error:
            reasons = (f"{key!r}: {error.reason}",)
            return ExampleResult(False, example.write, reasons=reasons, repair=error.repair, edit=edit)
    found, expected = held
    wrong = [
        f"No change touches {bit}, yet it differs between 'found' and 'write'."
        for bit in _stray(edit, found, expected)
    ]
    try:
        got = write(edit, found)
    except WrongChecksum as error:
        wrong.insert(0, error.reason)
        repair = "Correct 'found', checksum and all; it must be a record some module could hold."
        if example.read_on == "made-up" and layout.checksum is not None:
            right = show_held(record, layout.checksum.applied(found))
            repair = f"Correct 'found'; if the other bytes are as you mean them, write {right}."
        return ExampleResult(False, example.write, "", (), tuple(wrong), repair, edit)
    state = assess(edit, found, recipe.alternatives)
    repair = "Correct 'found' or 'write', the recipe or the module's file, whichever is wrong."
    if state.state == "already done":
        wrong.insert(0, "In 'found' every change is already done, so the example shows nothing.")
        repair = (
            "Give a record as found before the changes; if it is one, correct the place in the module's file."
        )
    wrong.extend(f"As found: {stop}" for stop in state.stops)
    differ = tuple(_differ(edit, expected, got))
    if got != expected:
        wrong.append(f"The example writes {example.write}, the recipe {show_held(record, got)}:")
    elif not wrong:
        try:
            back = undo(edit, found, expected)
        except Stop as error:
            wrong.append(f"The way back fails: {error.reason}")
        else:
            if back != found:
                wrong.append(f"The way back gives {hex_pairs(back)} instead of the record as found.")
    ok = not wrong
    shown = show_held(record, got)
    return ExampleResult(ok, example.write, shown, differ, tuple(wrong), "" if ok else repair, edit)


def _run_names(recipe: Recipe, example: WorkedExample, record: Record, edit: NamesEdit) -> ExampleResult:
    ids = [f.setting.setting for f in edit.fields]
    paths = {f.setting.setting: f.setting for f in edit.fields}
    words: list[dict[str, str]] = []
    for key, text in (("found", example.found), ("write", example.write)):
        try:
            words.append(parse_names(ids, text))
        except HeldProblem as error:
            reasons = (f"{key!r}: {error.reason}",)
            return ExampleResult(False, example.write, reasons=reasons, repair=error.repair, edit=edit)
    found, expected = ({paths[id]: text for id, text in one.items()} for one in words)
    state = assess_names(edit, found, recipe.alternatives)
    wrong = [f"As found: {stop}" for stop in state.stops]
    if state.state == "already done":
        wrong.append("In 'found' every change is already done, so the example shows nothing.")
    got = write_names(edit, found)
    differing_names = tuple(
        f"{path.setting}: {expected[path]!r} in the example, {got[path]!r} worked out"
        for path in got
        if got[path] != expected[path]
    )
    shown = show_names(ids, {path.setting: text for path, text in got.items()})
    if differing_names:
        wrong.append(f"The example writes {example.write!r}, the recipe {shown!r}:")
    elif put_back_names(edit, found, got) != found:
        wrong.append("The way back does not give what was found.")
    ok = not wrong
    repair = "" if ok else "Correct 'found' or 'write', the recipe or the module's file, whichever is wrong."
    return ExampleResult(ok, example.write, shown, differing_names, tuple(wrong), repair, edit)


def _differ(edit: Edit, written: bytes, got: bytes) -> Iterator[str]:
    """Every bit in which the example and what the edits give differ; the checksum as one."""
    sealed = range(edit.checksum.at, edit.checksum.at + edit.checksum.size) if edit.checksum else range(0)
    for byte, bit in differing(got, written):
        if byte not in sealed:
            here, there = written[byte] >> bit & 1, got[byte] >> bit & 1
            yield f"{position(byte, bit)}: {here} in the example, {there} worked out"
    if edit.checksum and any(written[byte] != got[byte] for byte in sealed):
        yield _checksums(edit.checksum, written, got)


def _checksums(checksum: Checksum, held: bytes, right: bytes) -> str:
    """The checksum as it stands and as it should be, with its place."""
    of = slice(checksum.at, checksum.at + checksum.size)
    where = f"byte {checksum.at}" if checksum.size == 1 else f"bytes {checksum.at} to {of.stop - 1}"
    return f"checksum in {where}: {hex_pairs(held[of])} in the example, {hex_pairs(right[of])} worked out"


def _stray(edit: Edit, found: bytes, expected: bytes) -> tuple[str, ...]:
    may = touched(edit)
    return tuple(position(byte, bit) for byte, bit in differing(found, expected) if not may[byte] >> bit & 1)
