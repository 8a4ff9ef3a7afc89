"""What changed in the vehicle files: what was made, what may be fitted, how to tell."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from ..car.conditions import TRUE
from ..car.phrases import month_words
from ..car.values import decimal
from ..car.vehicles import Equipment, Fitted, Months, VehicleLine
from ..car.vin import VinPattern, VinSays
from ..car.vin_reading import positions
from ..car.words import say
from .both import Both, change, either, unreadable
from .cars import variants_words
from .review import Change, Subject, facts, from_to

T = TypeVar("T")


def line_changes(both: Both) -> Iterator[Change]:
    """Every change to a vehicle line, in order of their names."""
    for id in sorted({*both.before.lines, *both.after.lines}):
        was, now = both.before.lines.get(id), both.after.lines.get(id)
        path = f"vehicles/{id}.yml"
        where = both.unreadable("line", id)
        if was == now and path not in both.files and not where:
            continue
        one = now or was
        assert one is not None
        subject = Subject("line", id, one.name, both.state(path, was, now))
        if where:
            yield unreadable(replace(subject, state="changed"), where)
        elif was is None:
            yield change(subject, "line-added", "A vehicle line is described for the first time.")
        elif now is None:
            yield change(subject, "line-removed", "The vehicle line is no longer described.")
        else:
            yield from either(subject, tuple(_line(both, subject, was, now)))


def _line(both: Both, subject: Subject, was: VehicleLine, now: VehicleLine) -> Iterator[Change]:
    yield from _each(
        subject,
        "phase",
        was.phases,
        now.phases,
        lambda p: p.id,
        lambda p: _built(p.built),
        "was built in other months",
    )
    yield from _each(
        subject,
        "model",
        was.models,
        now.models,
        lambda m: m.id,
        lambda m: ", ".join(m.phases) or "every phase",
        "was made in other phases",
    )
    yield from _each(subject, "market", was.markets, now.markets, lambda m: m.id, lambda m: "", "")
    yield from _each(
        subject,
        "equipment",
        was.equipment,
        now.equipment,
        lambda e: e.id,
        _offered,
        "can be had on other variants",
    )
    yield from _fitted(both, subject, was, now)
    for kind, olds, news in (
        ("phase", was.phases, now.phases), ("model", was.models, now.models),
        ("market", was.markets, now.markets), ("equipment", was.equipment, now.equipment),
    ):  # fmt: skip
        for thing in news:
            before = next((t for t in olds if t.id == thing.id), None)
            if before is not None and before.look != thing.look:
                says = f"How to tell {thing.name} reads otherwise."
                yield change(subject, "looks-changed", says, from_to(before.look, thing.look))
            if before is not None and before.name != thing.name:
                says = f"The name of {kind} {thing.id} reads otherwise."
                yield change(subject, "line-words", says, from_to(before.name, thing.name))
    if was.vin != now.vin:
        told, tells = _vin(was.vin), _vin(now.vin)
        gone, come = [x for x in told if x not in tells], [x for x in tells if x not in told]
        says = "What its VINs tell of a car is described otherwise."
        yield change(subject, "vin-changed", says, facts(("gone", gone), ("new", come)))
    if was.power != now.power:
        old, new = (
            f"{decimal(p.key_on_amps)} A, {decimal(p.spare_amp_hours)} Ah ({p.measured})" if p else "none"
            for p in (was.power, now.power)
        )
        yield change(
            subject,
            "power-changed",
            "What the battery gives with the key on is said otherwise.",
            from_to(old, new),
        )
    for what in ("name", "about"):
        if getattr(was, what) != getattr(now, what):
            says = f"Its {what} reads otherwise."
            yield change(subject, "line-words", says, from_to(getattr(was, what), getattr(now, what)))
    made, made_now = was.variants(), now.variants()
    gained = [(now.id, *v) for v in made_now if v not in made]
    lost = [(now.id, *v) for v in made if v not in made_now]
    if gained or lost:
        world, names = both.world, both.names
        yield change(subject, "model-changed", "Other variants were made than was said.", facts(
            ("gained", variants_words(gained, world, names) if gained else ""),
            ("lost", variants_words(lost, world, names) if lost else ""),
        ))  # fmt: skip


def _fitted(both: Both, subject: Subject, was: VehicleLine, now: VehicleLine) -> Iterator[Change]:
    """Which cars have which module, and where."""
    old, new = ({f.module: f for f in line.fitted} for line in (was, now))
    for module in dict.fromkeys((*old, *new)):
        before, after = old.get(module), new.get(module)
        if before is None or after is None:
            says = f"No car has module {module} any more." if before else f"Cars have module {module}."
            one = before or after
            cars = say(one.fits or TRUE, both.names) if one else ""
            where = _places(one) if one else ""
            yield change(subject, "fitted-changed", says, facts(("on", cars), ("lies", where)))
            continue
        if (cars_now := both.cars(before.fits, after.fits)) is not None:
            says = f"{cars_now.says.capitalize()} have module {module}."
            yield change(subject, "fitted-changed", says, cars_now.facts)
        if before.places != after.places:
            says = f"Module {module} lies in other places."
            yield change(subject, "fitted-changed", says, from_to(_places(before), _places(after)))


def _each(
    subject: Subject,
    stem: str,
    before: Sequence[T],
    after: Sequence[T],
    id: Callable[[T], str],
    show: Callable[[T], str],
    differs: str,
) -> Iterator[Change]:
    """Things that came, went, or say something else about which cars there are."""
    old, new = {id(t): t for t in before}, {id(t): t for t in after}
    for name in dict.fromkeys((*old, *new)):
        if name not in old:
            yield change(subject, f"{stem}-changed", f"New {stem}: {name}.", facts(("is", show(new[name]))))
        elif name not in new:
            yield change(subject, f"{stem}-changed", f"Gone: {stem} {name}.", facts(("was", show(old[name]))))
        elif show(old[name]) != show(new[name]):
            says = f"{stem.capitalize()} {name} {differs}."
            yield change(subject, f"{stem}-changed", says, from_to(show(old[name]), show(new[name])))


def _vin(pattern: VinPattern | None) -> list[str]:
    """How a line's VINs are made and what they tell, a line for each thing."""
    if pattern is None:
        return []
    out = [f"they begin with {begin}" for begin in pattern.begins]
    out += ["position 9 is a check digit"] * pattern.check_digit
    for group in pattern.positions:
        where = positions(group.first, group.last)
        out += [f"{where}, {code}: {_tells(says)}" for code, says in group.codes.items()]
    if (year := pattern.model_year) is not None:
        out.append(f"position {year.at} is the model year, which starts in month {year.starts}")
    for one in pattern.serials:
        where = "".join(f" with {code} in position {at}" for at, code in one.where)
        told = _tells(one.says)
        out.append(f"{positions(one.first, one.last)}, {one.low} to {one.high}{where}: {told}")
    return out


def _tells(says: VinSays) -> str:
    built = _built(says.built) if says.built != (None, None) else ""
    parts = [", ".join(says.models), ", ".join(says.phases), ", ".join(says.markets), built]
    parts += [f"with {item}" for item in says.equipment] + [f"without {item}" for item in says.without]
    return "; ".join(filter(None, parts))


def _built(built: Months) -> str:
    first, last = (month_words(month) if month else "" for month in built)
    return f"built {first or 'since the beginning'} to {last or 'now'}"


def _offered(item: Equipment) -> str:
    where = " and ".join(filter(None, (", ".join(item.models), ", ".join(item.phases))))
    always = "; ".join(" ".join(filter(None, pair)) for pair in item.standard)
    return f"on {where or 'every variant'}" + (f", always on {always}" if always else "")


def _places(fitted: Fitted) -> str:
    return ", ".join(f"{p.name} ({p.address or 'no address'})" for p in fitted.places) or "in one place"


def made(line: VehicleLine) -> tuple[object, ...]:
    """What a line says of which cars there are and what they have; not what things are called."""
    return (
        tuple((p.id, p.built) for p in line.phases),
        tuple((m.id, m.phases) for m in line.models),
        tuple(m.id for m in line.markets),
        {e.id: offered(e) for e in line.equipment},
        {f.module: (f.fits, f.places) for f in line.fitted},
    )


def offered(item: Equipment) -> tuple[object, ...]:
    """On which variants an item can be had."""
    return item.models, item.phases, item.standard
