"""What changed in control modules: records, settings, where they lie, and which cars have which layout."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..car.bits import Place
from ..car.checksums import Checksum
from ..car.functions import category, words
from ..car.records import Layout, Module, Record, RecordPath, SettingPath
from ..car.settings import Choice, Choices, Number, Setting, Text
from ..car.values import decimal
from ..car.where import place_words
from ..car.words import say
from ..work.compiled import position
from .both import Both, change, either, unreadable
from .review import Change, Subject, facts, from_to


def module_changes(both: Both) -> Iterator[Change]:
    """Every change to a module, in order of their names."""
    for id in sorted({*both.before.modules, *both.after.modules}):
        was, now = both.before.modules.get(id), both.after.modules.get(id)
        path = f"modules/{id}.yml"
        where = both.unreadable("module", id)
        if was == now and path not in both.files and not where:
            continue
        one = now or was
        assert one is not None
        subject = Subject("module", id, one.name, both.state(path, was, now))
        if where:
            yield unreadable(replace(subject, state="changed"), where)
        elif was is None:
            yield from _added(both, subject, one)
        elif now is None:
            yield from _removed(both, subject, one)
        else:
            yield from either(subject, (*_module(subject, was, now), *_records(both, subject, was, now)))


def _added(both: Both, subject: Subject, module: Module) -> Iterator[Change]:
    came = _moves(both, module.id, into=True)
    records = [f"{r.name}: {', '.join(s.name for s in r.settings)}" for r in module.records]
    yield change(subject, "module-added", "A control module is described for the first time.", facts(
        ("records", records), ("was", came),
    ))  # fmt: skip


def _removed(both: Both, subject: Subject, module: Module) -> Iterator[Change]:
    went = _moves(both, module.id, into=False)
    homes = {both.settings[path].module for path in both.settings if path.module == module.id}
    settings = [SettingPath(module.id, r.id, s.id) for r in module.records for s in r.settings]
    if len(homes) == 1 and all(path in both.settings for path in settings):
        home = homes.pop()
        if home not in both.before.modules:
            says = f"The module is called {home} now; every setting went with it."
            yield change(subject, "module-renamed", says, facts(("now", went)))
            return
    used = sorted({r for record in module.records for r in both.users(RecordPath(module.id, record.id))})
    says = "The control module is no longer described."
    yield change(subject, "module-removed", says, facts(("now", went), ("used by", ", ".join(used))))


def _moves(both: Both, module: str, into: bool) -> list[str]:
    return [
        f"{old} → {new}"
        for old, new in both.settings.items()
        if (new.module if into else old.module) == module
    ]


def _module(subject: Subject, was: Module, now: Module) -> Iterator[Change]:
    if was.address != now.address:
        yield change(
            subject,
            "access-changed",
            "Its diagnostic address is another one.",
            from_to(was.address, now.address),
        )
    old = f"{was.restart_how} ({was.restart_minutes} min)"
    new = f"{now.restart_how} ({now.restart_minutes} min)"
    if old != new:
        yield change(subject, "restart-changed", "It is restarted in another way.", from_to(old, new))
    for what, one, other in (
        ("name", was.name, now.name),
        ("duty", was.duty, now.duty),
        ("where it is", was.where, now.where),
    ):
        if one != other:
            yield change(subject, "module-words", f"Its {what} reads otherwise.", from_to(one, other))


def _records(both: Both, subject: Subject, was: Module, now: Module) -> Iterator[Change]:
    for record in now.records:
        path = RecordPath(now.id, record.id)
        old = was.record(record.id)
        if old is None:
            came = [f"{a} → {b}" for a, b in both.settings.items() if b.record_path == path]
            yield change(subject, "record-added", f"Record “{record.name}” is new.", facts(
                ("settings", ", ".join(s.name for s in record.settings)), ("was", came),
                ("layouts", (_layout_words(both, x) for x in record.layouts)),
            ))  # fmt: skip
        elif old != record:
            yield from _record(both, subject, path, old, record)
    for record in was.records:
        if now.record(record.id) is None:
            path = RecordPath(was.id, record.id)
            went = [f"{a} → {b}" for a, b in both.settings.items() if a.record_path == path]
            yield change(subject, "record-removed", f"Record “{record.name}” is gone.", facts(
                ("now", went), ("used by", ", ".join(both.users(path))),
            ))  # fmt: skip


def _record(both: Both, subject: Subject, path: RecordPath, was: Record, now: Record) -> Iterator[Change]:
    used = ("used by", ", ".join(both.users(path)))
    where = f"Record “{now.name}”"
    for what, one, other in (
        ("is asked for under another identifier", was.identifier, now.identifier),
        ("is shown otherwise by the tool", _shown(was), _shown(now)),
        ("takes effect at another time", was.takes_effect, now.takes_effect),
    ):
        if one != other:
            yield change(subject, "record-changed", f"{where} {what}.", (*from_to(one, other), *facts(used)))
    if was.access_code != now.access_code:
        old, new = (_code(r.access_code) for r in (was, now))
        yield change(
            subject, "access-changed", f"{where} has another access code.", (*from_to(old, new), *facts(used))
        )
    if was.name != now.name:
        yield change(
            subject, "module-words", f"Record {now.id} has another name.", from_to(was.name, now.name)
        )
    yield from _settings(both, subject, path, was, now)
    yield from _layouts(both, subject, path, was, now)


def _shown(record: Record) -> str:
    if record.names_only:
        return "by name only"
    if record.shown_as is None:
        return "as bytes"
    return f"as a number of {record.shown_as.size} bytes, {record.shown_as.order} end first"


def _code(code: str | None) -> str:
    return {None: "none", "ask the club": "ask the club"}.get(code, "one that the file publishes")


def _settings(both: Both, subject: Subject, path: RecordPath, was: Record, now: Record) -> Iterator[Change]:
    came = {new: old for old, new in both.settings.items()}
    for setting in now.settings:
        here = SettingPath(path.module, path.record, setting.id)
        old = was.setting(setting.id)
        before = came.get(here)
        if old is None and before is not None and before.record_path == path:
            old = was.setting(before.setting)
            says = f"“{setting.name}” is called {setting.id} in the files now."
            yield change(subject, "setting-renamed", says, from_to(before.setting, setting.id))
        elif old is None and before is not None:
            says = f"“{setting.name}” came here from {before.record_path}."
            yield change(subject, "setting-moved", says)
            old = both.before.setting(before)
        elif old is None:
            yield change(subject, "setting-added", f"“{setting.name}” is new in record “{now.name}”.", facts(
                ("values", _kind_words(setting)), ("acts on", ", ".join(map(words, setting.functions))),
            ))  # fmt: skip
        if old is not None and old != setting:
            yield from _setting(both, subject, here, old, setting)
    for setting in was.settings:
        gone = SettingPath(path.module, path.record, setting.id)
        if now.setting(setting.id) is None and gone not in both.settings:
            used = facts(("used by", ", ".join(both.users(path, [setting.id]))))
            yield change(
                subject, "setting-removed", f"“{setting.name}” is gone from record “{now.name}”.", used
            )
        elif now.setting(setting.id) is None and both.settings[gone].record_path != path:
            says = f"“{setting.name}” went to {both.settings[gone].record_path}."
            yield change(subject, "setting-moved", says)


def _setting(both: Both, subject: Subject, path: SettingPath, was: Setting, now: Setting) -> Iterator[Change]:
    used = ("used by", ", ".join(both.users(path.record_path, {was.id, now.id})))
    name = f"“{now.name}”"
    if was.kind != now.kind:
        yield change(
            subject, "values-changed", f"The values of {name} are others.",
            (*from_to(_kind_words(was), _kind_words(now)), *facts(used)),
        )  # fmt: skip
    lost = [f for f in was.functions if f not in now.functions]
    new = [f for f in now.functions if f not in was.functions]
    if lost or new:
        graver = any(category(f) != "ordinary" for f in lost)
        says = f"{name} is said to act on something else" + ", no longer on what keeps people safe" * graver
        yield change(subject, "setting-functions", f"{says}.", facts(
            ("dropped", ", ".join(map(words, lost))), ("added", ", ".join(map(words, new))), used,
        ))  # fmt: skip
    if was.known_from != now.known_from:
        says = f"How the meaning of {name} is known has changed."
        yield change(
            subject, "meaning-changed", says, (*from_to(was.known_from, now.known_from), *facts(used))
        )
    for what, one, other in (
        ("name", was.name, now.name), ("description", was.about, now.about),
        ("search words", ", ".join(was.search_words), ", ".join(now.search_words)),
    ):  # fmt: skip
        if one != other:
            yield change(
                subject, "setting-words", f"The {what} of {name} reads otherwise.", from_to(one, other)
            )


def _kind_words(setting: Setting) -> str:
    match setting.kind:
        case Choices(choices):
            return _choice_words(choices)
        case Number() as n:
            scale = f"stored × {decimal(n.factor)} + {decimal(n.offset)} {n.unit}"
            limits = f"{decimal(n.min)} to {decimal(n.max)}{', signed' * n.signed}"
            return "; ".join(filter(None, (scale, limits, _choice_words(n.special))))
        case Text(length, pad):
            return f"text of {length} characters, filled up with {'spaces' if pad == 'space' else 'zeros'}"


def _choice_words(choices: tuple[Choice, ...]) -> str:
    return ", ".join(c.means if c.raw is None else f"{c.raw} {c.means}" for c in choices)


def _layouts(both: Both, subject: Subject, path: RecordPath, was: Record, now: Record) -> Iterator[Change]:
    renamed = {
        new[2]: old[2]
        for old, new in both.layouts.items()
        if old[:2] == (path.module, path.record) and old[2] and new[2]
    }
    used = ("used by", ", ".join(both.users(path)))
    for layout in now.layouts:
        old = was.layout(renamed.get(layout.id, layout.id) or layout.id)
        if old is None:
            says = f"Record “{now.name}” has a new layout, {layout.id}."
            yield change(subject, "layout-added", says, facts(("layout", _layout_words(both, layout)), used))
            continue
        if old.id != layout.id:
            says = f"Layout {old.id} of “{now.name}” is called {layout.id} now."
            yield change(subject, "layout-renamed", says, facts(used))
        yield from _layout(both, subject, path, old, layout, now)
    for layout in was.layouts:
        if now.layout(layout.id) is None and layout.id not in renamed.values():
            says = f"Layout {layout.id} of “{now.name}” is gone."
            yield change(subject, "layout-removed", says, facts(("was", _layout_words(both, layout)), used))


def _layout(
    both: Both, subject: Subject, path: RecordPath, was: Layout, now: Layout, record: Record
) -> Iterator[Change]:
    where = f"ayout {now.id} of “{record.name}”"  # with a small or a capital l
    used = facts(("used by", ", ".join(both.users(path))))
    if was.fits != now.fits:
        cars = both.cars(was.fits, now.fits)
        if cars is None:
            yield change(
                subject,
                "layout-cars-same",
                f"The condition of l{where} is rewritten; it means the same cars.",
            )
        else:
            yield change(subject, "layout-cars", f"L{where} is for {cars.says}.", (*cars.facts, *used))
    if was.length != now.length:
        says = f"L{where} has another length."
        yield change(
            subject, "layout-changed", says, (*from_to(f"{was.length} bytes", f"{now.length} bytes"), *used)
        )
    if was.checksum != now.checksum:
        says = f"The checksum of l{where} is another one."
        yield change(
            subject,
            "layout-changed",
            says,
            (*from_to(sum_words(was.checksum), sum_words(now.checksum)), *used),
        )
    yield from _places(both, subject, path, was, now, record)


def _places(
    both: Both, subject: Subject, path: RecordPath, was: Layout, now: Layout, record: Record
) -> Iterator[Change]:
    here = {
        both.settings.get(p := SettingPath(path.module, path.record, id), p): (id, place)
        for id, place in was.places.items()
    }
    for id, place in now.places.items():
        setting = record.setting(id)
        name = f"“{setting.name if setting else id}”"
        new = SettingPath(path.module, path.record, id)
        old_id, old = here.pop(new, (id, None))
        users = facts(("used by", ", ".join(both.users(path, {id, old_id}))))
        if old is None:
            says = f"{name} has a place in layout {now.id}."
            yield change(subject, "place-added", says, (*facts(("place", place_text(place))), *users))
        elif old != place:
            does, apart = _grown(old, place)
            says = f"{name} {does} in layout {now.id}."
            particulars = (
                *from_to(place_text(old), place_text(place)),
                *facts(("the difference", apart)),
                *users,
            )
            yield change(subject, "place-moved", says, particulars)
    for gone, (id, place) in here.items():
        if gone.record_path == path:
            users = facts(("used by", ", ".join(both.users(path, {id}))))
            says = f"{id} has no place in layout {now.id} any more."
            yield change(subject, "place-removed", says, (*facts(("was", place_text(place))), *users))


def _grown(old: Place, new: Place) -> tuple[str, str]:
    """What became of a place, in words, and which bits it takes or leaves where it only grew or shrank."""
    more, fewer = (sorted({*one.bits()} - {*other.bits()}) for one, other in ((new, old), (old, new)))
    if bool(more) == bool(fewer):
        return "lies elsewhere", ""
    does = "takes more bits" if more else "takes fewer bits"
    return does, ", ".join(position(byte, bit) for byte, bit in more or fewer)


def _layout_words(both: Both, layout: Layout) -> str:
    cars = "all cars" if layout.fits is None else say(layout.fits, both.names)
    checksum = f", checksum {sum_words(layout.checksum)}" if layout.checksum else ""
    return f"{layout.id}, {layout.length} bytes{checksum}, for: {cars}"


def place_text(place: Place) -> str:
    """A place as pages say it, in one line."""
    return " / ".join(place_words(place))


def sum_words(checksum: Checksum | None) -> str:
    """A checksum in one line."""
    if checksum is None:
        return "none"
    who = "put right by the tool" if checksum.by == "tool" else "entered by hand"
    order = f", {checksum.order} end first" if checksum.size > 1 else ""
    return (
        f"{checksum.kind} over bytes {checksum.first} to {checksum.last}, in byte {checksum.at}{order}, {who}"
    )
