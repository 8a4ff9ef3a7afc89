"""The sentences of the generated frame: plain instructions that leave nothing to guess."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from ..car.checksums import Checksum
from ..car.phrases import in_place, list_words, lower_first
from ..car.records import Layout, Module, Record
from ..car.settings import Setting
from ..car.values import with_unit
from ..speech import N_, gettext
from .recipes import Change, ExpectedFault, PowerState

# Half charged at rest: 12.24 V at 50 % (table credited to BCI, flooded lead-acid, 26.7 °C). With the key on
# the voltage is somewhat lower than at rest, so the demand is on the safe side.
LEAST_VOLTAGE = "12.2 V"


@dataclass(frozen=True, slots=True)
class Unit:
    """One control module in the car, as sentences name it."""

    module: Module
    place: str | None = None
    place_name: str = ""
    address: str | None = None

    @property
    def name(self) -> str:
        """``Step controller (left step)``."""
        return in_place(self.module.name, self.place and (self.place_name or self.place))

    @property
    def addressed(self) -> str:
        """The name with the diagnostic address, where it is known."""
        address = self.address or self.module.address
        return (
            gettext("{unit}, diagnostic address {address}", unit=self.name, address=address)
            if address
            else self.name
        )


def key(before: PowerState | None, after: PowerState) -> str:
    """How to come from one power state to another; None: not known."""
    match after:
        case "engine-running":
            return gettext("Start the engine, in the open air, and leave it running.")
        case "key-on" if before == "engine-running":
            return gettext("Stop the engine, then turn the key on again without starting.")
        case "key-on":
            return gettext("Turn the key on; do not start the engine.")
        case _:
            return (
                gettext("Stop the engine and turn the key off.")
                if before == "engine-running"
                else gettext("Turn the key off.")
            )


_POWER: Final[Mapping[PowerState, str]] = {
    "key-off": N_("the key off"),
    "key-on": N_("the key on"),
    "engine-running": N_("the engine running"),
}


def power(state: PowerState) -> str:
    """A power state inside a sentence."""
    return gettext(_POWER[state])


def quoted(shown: str) -> str:
    """What a screen shows, letter by letter: in quotation marks no sentence gives it a capital."""
    return gettext("“{shown}”", shown=shown)


def see_refusals() -> str:
    """What to do when a module does not do what it is told."""
    return gettext(
        "If the module refuses or goes silent, do what the recipe says under these words and nothing else."
    )


def record_name(record: Record) -> str:
    """``Lamps (identifier 0x3C21)``, ``Lamps (number 112)`` or ``Lamps``."""
    if record.identifier is None:
        return record.name
    what = gettext("number") if isinstance(record.identifier, int) else gettext("identifier")
    return f"{record.name} ({what} {record.identifier})"


def how_many(layouts: Sequence[Layout]) -> str:
    """``all 8 bytes``, or ``all its bytes (6 or 8, by layout)``."""
    lengths = sorted({x.length for x in layouts})
    if len(lengths) == 1:
        return gettext("all {n} bytes", n=lengths[0]) if lengths[0] > 1 else gettext("its one byte")
    return (
        gettext("all its bytes ({lengths}, by layout)", lengths=list_words([str(n) for n in lengths], "or"))
        if lengths
        else gettext("all its bytes")
    )


def access(unit: Unit, code: str) -> str:
    """What must be at hand to unlock a module."""
    return gettext("The access code of {unit}: {code}.", unit=unit.name, code=code)


def unlock(unit: Unit, code: str) -> str:
    """How to unlock a module."""
    given = (
        gettext("the access code the club gave you")
        if code == "ask the club"
        else gettext("the access code {code}", code=code)
    )
    return gettext("Unlock {unit} with {given}.", unit=unit.name, given=given)


def layout_asked(records: Sequence[tuple[Record, Sequence[Layout]]]) -> list[str]:
    """The records whose layout depends on the car, by name."""
    return [r.name for r, layouts in records if len(layouts) > 1 or any(x.fits is not None for x in layouts)]


def identify_expect(records: Sequence[tuple[Record, Sequence[Layout]]]) -> str:
    """What identifying a module must tell."""
    told = layout_asked(records)
    if not told:
        return gettext("The module answers.")
    return gettext(
        "The module answers, and you know which layout of {told} your car has.", told=list_words(told)
    )


def note(record: Record, layouts: Sequence[Layout], settings: Sequence[Setting], unit: Unit) -> str:
    """How to note a record before anything is written."""
    if record.names_only:
        what = gettext(
            "what it shows for {settings}, word for word", settings=list_words([s.name for s in settings])
        )
    elif record.shown_as is not None:
        what = gettext("the number it shows, digit by digit")
    else:
        what = how_many(layouts)
    return gettext(
        "Read record {record} of {unit} and note {what}.",
        record=record_name(record),
        unit=unit.name,
        what=what,
    )


def note_expect(changes: Sequence[tuple[Change, Setting]]) -> str:
    """What the settings may hold before."""
    held = dict.fromkeys(f"{setting.name}: {_before(c, setting)}" for c, setting in changes)
    return f"{'; '.join(held)}." if held else ""


def note_otherwise() -> str:
    """What to do when a record holds something else."""
    return gettext(
        "If a value is another one the recipe offers, or the new one already, you may go on. If it is"
        " anything else, or the checksum is wrong, write nothing at all and ask the club."
    )


def _before(change: Change, setting: Setting) -> str:
    if change.before is None:
        return gettext("any value with a known meaning")
    return with_unit(setting, change.before)


def write(
    record: Record, layouts: Sequence[Layout], wishes: Sequence[tuple[Setting, str]], unit: Unit
) -> str:
    """How to write a record; ``wishes`` are the settings with their new values in words."""
    if record.names_only:
        sets = dict.fromkeys(
            gettext("{setting} to “{to}”", setting=setting.name, to=with_unit(setting, to))
            for setting, to in wishes
        )
        return gettext(
            "In record {record} of {unit}, set {sets}.",
            record=record.name,
            unit=unit.name,
            sets=list_words(list(sets)),
        )
    if record.shown_as is not None:
        entered = gettext("the number of the line “to write”")
    else:
        entered = gettext("{what} of the line “to write”", what=how_many(layouts))
    sums = {x.id: _checksum(x.checksum) for x in layouts}
    if len(set(sums.values())) == 1:
        after = next(iter(sums.values()))
    else:
        after = " ".join(
            gettext("In layout {id}, {words}", id=id, words=words[0].lower() + words[1:])
            for id, words in sums.items()
            if words
        )
    return gettext(
        "Write record {record} of {unit}: enter {what}. {after}",
        record=record_name(record),
        unit=unit.name,
        what=entered,
        after=after,
    ).strip()


def _checksum(checksum: Checksum | None) -> str:
    if checksum is None:
        return ""
    last = checksum.at + checksum.size - 1
    if checksum.size == 1:
        where = gettext("byte {first}", first=checksum.at)
    elif checksum.size == 2:
        where = gettext("bytes {first} and {last}", first=checksum.at, last=last)
    else:
        where = gettext("bytes {first} to {last}", first=checksum.at, last=last)
    if checksum.by == "tool":
        return gettext("The tool puts the checksum in {where} right by itself.", where=where)
    return gettext("The checksum in {where} is part of it: enter it as worked out.", where=where)


def read_back(record: Record, unit: Unit, restarted: bool) -> str:
    """How to read back what was written."""
    if restarted:
        return gettext(
            "After the restart, read record {record} of {unit} once more and note it.",
            record=record_name(record),
            unit=unit.name,
        )
    return gettext(
        "Read back record {record} of {unit} and note it.", record=record_name(record), unit=unit.name
    )


def read_back_expect(record: Record, wishes: Sequence[tuple[Setting, str]]) -> str:
    """What reading back must show."""
    if record.names_only:
        return f"{'; '.join(dict.fromkeys(f'{s.name}: {with_unit(s, to)}' for s, to in wishes))}."
    if record.shown_as is not None:
        return gettext("The number is that of the line “to write”.")
    return gettext("Every byte is that of the line “to write”.")


def read_back_otherwise() -> str:
    """What to do when reading back shows something else."""
    return gettext("Write the note back, read it back, and stop: ask the club.")


def faults_expect(faults: Sequence[ExpectedFault]) -> str:
    """Which faults the last reading may show."""
    if not faults:
        return gettext("No fault that was not there before.")
    known = "; ".join(
        dict.fromkeys(f"{f.code} ({lower_first(f.when.rstrip('.'))}): {f.do.rstrip('.')}" for f in faults)
    )
    return gettext("No fault that was not there before, except perhaps {known}.", known=known)


Places = Mapping[tuple[str, str], tuple[str, str | None]]
"""Name and diagnostic address by module and place."""
