"""The sentences of the generated frame: plain instructions that leave nothing to guess."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..car.checksums import Checksum
from ..car.records import Layout, Module, Record
from ..car.settings import Setting
from .recipes import Change, ExpectedFault, Media, PowerState

# Half charged at rest: 12.24 V at 50 % (table credited to BCI, flooded lead-acid, 26.7 °C). With the key on
# the voltage is somewhat lower than at rest, so the demand is on the safe side.
LEAST_VOLTAGE = "12.2 V"

SEE_REFUSALS = "If the module refuses or goes silent, do what the refusal panel says and nothing else."


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
        return f"{self.module.name} ({self.place_name or self.place})" if self.place else self.module.name

    @property
    def addressed(self) -> str:
        """The name with the diagnostic address, where it is known."""
        address = self.address or self.module.address
        return f"{self.name}, diagnostic address {address}" if address else self.name


def listed(words: Sequence[str], last: str = "and") -> str:
    """``a, b and c``."""
    return f" {last} ".join(filter(None, (", ".join(words[:-1]), words[-1]))) if words else ""


def key(before: PowerState | None, after: PowerState) -> str:
    """How to come from one power state to another; None: not known."""
    match after:
        case "engine-running":
            return "Start the engine, in the open air, and leave it running."
        case "key-on" if before == "engine-running":
            return "Stop the engine, then turn the key on again without starting."
        case "key-on":
            return "Turn the key on; do not start the engine."
        case _:
            return (
                "Stop the engine and turn the key off." if before == "engine-running" else "Turn the key off."
            )


def power(state: PowerState) -> str:
    """A power state inside a sentence."""
    return {"key-off": "the key off", "key-on": "the key on", "engine-running": "the engine running"}[state]


def record_name(record: Record) -> str:
    """``Lamps (identifier 0x3C21)``, ``Lamps (number 112)`` or ``Lamps``."""
    if record.identifier is None:
        return record.name
    what = "number" if isinstance(record.identifier, int) else "identifier"
    return f"{record.name} ({what} {record.identifier})"


def how_many(layouts: Sequence[Layout]) -> str:
    """``all 8 bytes``, or ``all its bytes (6 or 8, by layout)``."""
    lengths = sorted({x.length for x in layouts})
    if len(lengths) == 1:
        return f"all {lengths[0]} bytes" if lengths[0] > 1 else "its one byte"
    return (
        f"all its bytes ({listed([str(n) for n in lengths], 'or')}, by layout)"
        if lengths
        else "all its bytes"
    )


def access(unit: Unit, code: str) -> str:
    """What must be at hand to unlock a module."""
    return f"The access code of {unit.name}: {code}."


def unlock(unit: Unit, code: str) -> str:
    """How to unlock a module."""
    given = "the access code the club gave you" if code == "ask the club" else f"the access code {code}"
    return f"Unlock {unit.name} with {given}."


def identify_expect(records: Sequence[tuple[Record, Sequence[Layout]]]) -> str:
    """What identifying a module must tell."""
    told = [r.name for r, layouts in records if len(layouts) > 1 or any(x.fits is not None for x in layouts)]
    if not told:
        return "The module answers."
    return f"The module answers, and you know which layout of {listed(told)} your car has."


def note(record: Record, layouts: Sequence[Layout], settings: Sequence[Setting], unit: Unit) -> str:
    """How to note a record before anything is written."""
    what = f"Read record {record_name(record)} of {unit.name} and note "
    if record.names_only:
        return f"{what}what it shows for {listed([s.name for s in settings])}, word for word."
    if record.shown_as is not None:
        return f"{what}the number it shows, digit by digit."
    return f"{what}{how_many(layouts)}."


def note_expect(changes: Sequence[tuple[Change, Setting]]) -> str:
    """What the settings may hold before."""
    held = dict.fromkeys(
        f"{setting.name}: {'any value with a known meaning' if c.before is None else c.before}"
        for c, setting in changes
    )
    return f"{'; '.join(held)}." if held else ""


NOTE_OTHERWISE = (
    "If a value is another one the recipe offers, or the new one already, you may go on. If it is anything"
    " else, or the checksum is wrong, write nothing at all and ask the club."
)


def write(
    record: Record, layouts: Sequence[Layout], wishes: Sequence[tuple[Setting, str]], unit: Unit
) -> str:
    """How to write a record; ``wishes`` are the settings with their new values in words."""
    if record.names_only:
        sets = dict.fromkeys(f"{setting.name} to “{to}”" for setting, to in wishes)
        return f"In record {record.name} of {unit.name}, set {listed(list(sets))}."
    if record.shown_as is not None:
        entered = "the number of the line “to write”"
    else:
        entered = f"{how_many(layouts)} of the line “to write”"
    sums = {x.id: _checksum(x.checksum) for x in layouts}
    if len(set(sums.values())) == 1:
        after = next(iter(sums.values()))
    else:
        after = " ".join(
            f"In layout {id}, {words[0].lower()}{words[1:]}" for id, words in sums.items() if words
        )
    return f"Write record {record_name(record)} of {unit.name}: enter {entered}. {after}".strip()


def _checksum(checksum: Checksum | None) -> str:
    if checksum is None:
        return ""
    last = checksum.at + checksum.size - 1
    joined = "and" if checksum.size == 2 else "to"
    where = f"byte {checksum.at}" if checksum.size == 1 else f"bytes {checksum.at} {joined} {last}"
    if checksum.by == "tool":
        return f"The tool puts the checksum in {where} right by itself."
    return f"The checksum in {where} is part of it: enter it as worked out."


def read_back(record: Record, unit: Unit, restarted: bool) -> str:
    """How to read back what was written."""
    if restarted:
        return f"After the restart, read record {record_name(record)} of {unit.name} once more and note it."
    return f"Read back record {record_name(record)} of {unit.name} and note it."


def read_back_expect(record: Record, wishes: Sequence[tuple[Setting, str]]) -> str:
    """What reading back must show."""
    if record.names_only:
        return f"{'; '.join(dict.fromkeys(f'{s.name}: {to}' for s, to in wishes))}."
    what = "The number is" if record.shown_as is not None else "Every byte is"
    return f"{what} that of the line “to write”."


READ_BACK_OTHERWISE = "Write the note back, read it back, and stop: ask the club."


def card(media: Media) -> str:
    """What card a file needs."""
    size = f"{media.smallest_gb} GB or more"
    if media.largest_gb is not None:
        size = (
            f"{media.smallest_gb} GB"
            if media.largest_gb == media.smallest_gb
            else f"{media.smallest_gb} to {media.largest_gb} GB"
        )
    return f"A memory card of {size}, formatted as {media.file_system}."


def check_card(media: Media) -> tuple[str, str, str]:
    """How to check the card: what to do, to expect, to do otherwise."""
    return (
        f"Check the card: {media.file_system}, with the file {media.name} on it under exactly this name.",
        f"The file has {media.size} bytes and the SHA-256 {media.sha256}.",
        "Do not load it: get the file again from its origin and copy it anew.",
    )


def load(media: Media, unit: Unit) -> str:
    """How to load the file."""
    path = " > ".join(media.menu)
    time = f", about {media.minutes} minute{'' if media.minutes == 1 else 's'}" if media.minutes else ""
    return (
        f"Put the card into {unit.name}, choose {path}, and wait until the screen says that loading has"
        f" ended{time}. Touch neither key nor card meanwhile."
    )


def faults_expect(faults: Sequence[ExpectedFault]) -> str:
    """Which faults the last reading may show."""
    if not faults:
        return "No fault that was not there before."
    known = "; ".join(dict.fromkeys(f"{f.code} ({f.when.rstrip('.')}): {f.do.rstrip('.')}" for f in faults))
    return f"No fault that was not there before, except perhaps {known}."


Places = Mapping[tuple[str, str], tuple[str, str | None]]
"""Name and diagnostic address by module and place."""
