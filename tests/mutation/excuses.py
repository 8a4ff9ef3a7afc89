"""When a mutation cannot be told from what may be meant: the conditions that ``survivors.yml`` names.

Each looks at what the demo holds, not at what the check found, so that a survivor which should have been
found is not excused by having survived.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

from mutate import Mutation
from overlay import Bench

from asfound.car.bits import Place
from asfound.car.conditions import Condition, SettingIs, leaves
from asfound.car.functions import category
from asfound.car.records import Layout, Module, Record, RecordPath, SettingPath
from asfound.car.settings import Choices, Setting, Text
from asfound.car.values import ValueProblem, accept
from asfound.source.build_car import place
from asfound.source.reader import read
from asfound.trust.reports import Report
from asfound.work.compiled import Edit
from asfound.work.examples import run_example
from asfound.work.held import HeldProblem, parse_held
from asfound.work.recipes import Ask, Change, Recipe, WorkedExample


def setting_unchanged(bench: Bench, m: Mutation) -> bool:
    """The setting is changed by no recipe, so nothing was ever read or written there."""
    module, record, setting = _setting(bench, m)
    path = SettingPath(module.id, record.id, setting.id)
    return all(path not in _changed(recipe) for recipe in bench.book.recipes.values())


def value_unused(bench: Bench, m: Mutation) -> bool:
    """No recipe changes the setting from or to the value, and no example has it chosen or holds it."""
    module, record, setting = _setting(bench, m)
    path = SettingPath(module.id, record.id, setting.id)
    choices = setting.kind.choices if isinstance(setting.kind, Choices) else setting.kind.special  # type: ignore[union-attr]
    choice = choices[m.path[-2]]  # type: ignore[index]
    for recipe in bench.book.recipes.values():
        for change in recipe.changes:
            if change.setting == path and choice.means in (change.before, change.to):
                return False
        for example in recipe.worked_examples:
            if dict(example.choose).get(path) == choice.means:
                return False
    return all(
        layout.places[setting.id].gather(held) != choice.raw
        for layout, held in _readings(bench, module, record)
        if setting.id in layout.places
    )


def value_unnamed(bench: Bench, m: Mutation) -> bool:
    """Nothing names the value."""
    module, record, setting = _setting(bench, m)
    path = SettingPath(module.id, record.id, setting.id)
    named: set[str] = set()
    for recipe in bench.book.recipes.values():
        for change in recipe.changes:
            if change.setting == path:
                to = change.to.suggest if isinstance(change.to, Ask) else change.to
                named |= {to, change.before or ""}
            named |= set(_asked(change.fits, path))
        named |= {one.to for one in recipe.alternatives if one.setting == path}
        named |= {words for one in recipe.worked_examples for s, words in one.choose if s == path}
        named |= set(_asked(recipe.fits, path))
        for report in bench.book.reports(recipe.id) if record.names_only else ():
            named |= {*report.found.values(), *report.left.values()}
    return not any(m.leaf.value in words for words in named)


def _asked(condition: Condition | None, path: SettingPath) -> Iterator[str]:
    for leaf in leaves(condition) if condition is not None else ():
        if isinstance(leaf, SettingIs) and leaf.setting == str(path):
            yield from leaf.values


def reads_alike(bench: Bench, m: Mutation) -> bool:
    """In every reading there is, the bits of the old and the new place hold the same number."""
    module, record, setting = _setting(bench, m)
    layout = _layout(record, m)
    data: Any = read(m.raw, m.file).data
    for key in m.path[: m.path.index("places") + 2]:
        data = data[key]
    old, new = layout.places[setting.id], place(data)
    readings = [held for other, held in _readings(bench, module, record) if other.id == layout.id]
    alike = (_gather(old, held) == _gather(new, held) is not None for held in readings)
    return bool(readings) and all(alike)


def never_negative(bench: Bench, m: Mutation) -> bool:
    """The first bit, which would be the sign, is nought in every reading there is."""
    module, record, setting = _setting(bench, m)
    return all(
        not layout.places[setting.id].gather(held) >> layout.places[setting.id].width - 1
        for layout, held in _readings(bench, module, record)
        if setting.id in layout.places
    )


def one_byte(bench: Bench, m: Mutation) -> bool:
    """A record of one byte, which has no order."""
    module = bench.book.modules[bench.named[m.file].name]
    shown = module.records[m.path[1]].shown_as  # type: ignore[index]
    return shown is not None and shown.size == 1


def stored_alike(bench: Bench, m: Mutation) -> bool:
    """A number that the module rounds to the same stored value."""
    change, _ = _change(bench, m)
    setting = bench.book.setting(change.setting)
    assert setting is not None
    try:
        return accept(setting, m.leaf.value) == accept(setting, m.value)
    except ValueProblem:
        return False


def asked(bench: Bench, m: Mutation) -> bool:
    """The reader chooses, the author only suggests, and every example says what is chosen."""
    change, recipe = _change(bench, m)
    forms = bench.book.forms(recipe.id)
    edits = {one: run_example(recipe, one, bench.book.modules, forms).edit for one in recipe.worked_examples}
    return isinstance(change.to, Ask) and all(
        change.setting in dict(example.choose)
        for example, edit in edits.items()
        if isinstance(edit, Edit) and change.setting in edit.asked
    )


def any_text(bench: Bench, m: Mutation) -> bool:
    """The setting is a text, which may be any words."""
    change, _ = _change(bench, m)
    setting = bench.book.setting(change.setting)
    return setting is not None and isinstance(setting.kind, Text)


def as_suggested(bench: Bench, m: Mutation) -> bool:
    """What is chosen is what would be suggested."""
    change, _ = _change(bench, m)
    return isinstance(change.to, Ask) and change.to.suggest == m.leaf.value


def any_found(bench: Bench, m: Mutation) -> bool:
    """Any value will do before, no checksum covers it, and nothing but the value changed."""
    recipe, example = _example(bench, m)
    record = bench.book.record(example.record)
    edit = run_example(recipe, example, bench.book.modules, bench.book.forms(recipe.id)).edit
    if record is None or not isinstance(edit, Edit) or example.read_on != "made-up":
        return False
    pair = [parse_held(record, None, text) for text in (m.leaf.value, m.value)]
    free = all(one.before_raw is None for one in edit.fields) and edit.checksum is None
    return free and all((a ^ b) & ~mask == 0 for a, b, mask in zip(*pair, edit.mask, strict=True))


def stands_alone(bench: Bench, m: Mutation) -> bool:
    """A reading that nothing is compared with.

    No checksum covers it, no example repeats it, and what the sheet of that day wrote is not known, or was
    not written, or was for the reader to choose.
    """
    recipe, report = _report(bench, m)
    name = str(m.path[-1])
    path = RecordPath.parse(name)
    record = bench.book.record(path)
    assert record is not None
    texts = (report.found.get(name), report.left.get(name))
    if any(_checked(record, text) for text in texts if text is not None):
        return False
    if m.path[0] == "found" and any(e.read_on == report.id for e in recipe.worked_examples):
        return False
    earlier = {code.sheet_code for code in bench.book.past_codes(recipe.id)}
    free = {c.setting for c in recipe.changes if isinstance(c.to, Ask)} | {
        a.setting for a in recipe.alternatives
    }
    chosen = any((s.module, s.record) == (path.module, path.record) for s in free)
    unwritten = report.outcome not in ("worked", "no-effect") or len({*report.found} & {*report.left}) == 0
    return chosen or unwritten or report.sheet_code in earlier


def default(bench: Bench, m: Mutation) -> bool:
    """What is left out is what holds when nothing is said."""
    return m.leaf.value == {"alone": False, "order": "big", "takes_effect": "after-restart"}.get(
        str(m.path[-1])
    )


def no_safety(bench: Bench, m: Mutation) -> bool:
    """Neither the old nor the new function is one of safety, or no recipe changes the setting."""
    functions = [each for each in (m.leaf.value, m.value) if each is not None]
    ordinary = all(category(each) != "safety" for each in functions)
    return ordinary or (m.kind == "module" and setting_unchanged(bench, m))


def proved_elsewhere(bench: Bench, m: Mutation) -> bool:
    """The function is not one of safety, or another precheck proves it."""
    recipe = bench.book.recipes[bench.named[m.file].recipe]
    others = [one.proves for n, one in enumerate(recipe.before) if n != m.path[1]]
    return category(m.leaf.value) != "safety" or m.leaf.value in others


Excuse = Callable[[Bench, Mutation], bool]
EXCUSES: dict[str, Excuse] = {
    excuse.__name__.replace("_", " "): excuse
    for excuse in (
        setting_unchanged, value_unused, value_unnamed, reads_alike, one_byte, never_negative, stored_alike,
        asked, any_text, as_suggested, any_found, stands_alone, default, no_safety, proved_elsewhere,
    )
}  # fmt: skip


# what a mutation is about


def _setting(bench: Bench, m: Mutation) -> tuple[Module, Record, Setting]:
    module = bench.book.modules[bench.named[m.file].name]
    record = module.records[m.path[1]]  # type: ignore[index]
    if m.path[2] == "settings":
        return module, record, record.settings[m.path[3]]  # type: ignore[index]
    setting = record.setting(str(m.path[m.path.index("places") + 1]))
    assert setting is not None
    return module, record, setting


def _layout(record: Record, m: Mutation) -> Layout:
    return record.layouts[m.path[3]]  # type: ignore[index]


def _change(bench: Bench, m: Mutation) -> tuple[Change, Recipe]:
    recipe = bench.book.recipes[bench.named[m.file].recipe]
    if m.path[0] == "changes":
        return recipe.changes[m.path[1]], recipe  # type: ignore[index]
    path = SettingPath.parse(str(m.path[-1]))
    return next(change for change in recipe.changes if change.setting == path), recipe


def _example(bench: Bench, m: Mutation) -> tuple[Recipe, WorkedExample]:
    recipe = bench.book.recipes[bench.named[m.file].recipe]
    return recipe, recipe.worked_examples[m.path[1]]  # type: ignore[index]


def _report(bench: Bench, m: Mutation) -> tuple[Recipe, Report]:
    file = bench.named[m.file]
    report = next(one for one in bench.book.reports(file.recipe) if one.id == file.name)
    return bench.book.recipes[file.recipe], report


# what there is to compare with


def _changed(recipe: Recipe) -> set[SettingPath]:
    return {change.setting for change in recipe.changes}


def _readings(bench: Bench, module: Module, record: Record) -> Iterator[tuple[Layout, bytes]]:
    """What worked examples show of a record, found and written, with its layout."""
    for recipe in bench.book.recipes.values():
        for example in recipe.worked_examples:
            layout = record.layout(example.layout) if example.layout is not None else None
            if layout is not None and (example.record.module, example.record.record) == (
                module.id,
                record.id,
            ):
                for text in (example.found, example.write):
                    yield layout, parse_held(record, layout.length, text)


def _gather(where: Place, held: bytes) -> int | None:
    try:
        return where.gather(held)
    except (IndexError, ValueError):  # beyond the record, or a bit below 0
        return None


def _checked(record: Record, text: str) -> bool:
    """Whether some layout of this length has a checksum, or the record's words are checked by name."""
    if record.names_only:
        return False
    try:
        held = parse_held(record, None, text)
    except HeldProblem:
        return True
    return any(layout.checksum is not None for layout in record.layouts if layout.length == len(held))


@cache
def excuse(name: str) -> Excuse:
    """The condition of that name. KeyError when there is none."""
    return EXCUSES[name]
