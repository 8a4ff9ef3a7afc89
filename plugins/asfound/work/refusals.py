"""What to do when a module refuses, goes silent, or takes only some of several changes.

Numbers and names: ISO 14229-1, negative response codes. The advice is the project's own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from ..speech import N_
from .operations import OperationKind

After = Literal["try again", "wait", "stop"]
AFTER: tuple[After, ...] = (N_("try again"), N_("wait"), N_("stop"))


@dataclass(frozen=True, slots=True)
class Refusal:
    """A negative response code: number, name in the standard, what it means here, the one right thing to do.

    ``after`` says in a word how the job goes on: mended and tried again, waited for, or stopped.
    """

    code: int
    name: str
    means: str
    do: str
    after: After

    @property
    def hex(self) -> str:
        """The number as tools show it."""
        return f"0x{self.code:02X}"


REFUSALS: tuple[Refusal, ...] = (
    Refusal(
        0x13,
        N_("incorrect message length or invalid format"),
        N_("The module expects more or fewer bytes than were sent."),
        N_(
            "Compare the number of bytes with the note. If it differs from this layout, the layout is not"
            " that of the car: stop and write nothing."
        ),
        "stop",
    ),
    Refusal(
        0x22,
        N_("conditions not correct"),
        N_("The car is not in the state in which the module lets itself be written."),
        N_(
            "Check the key position, the battery voltage and that the engine stands still; put right what is"
            " wrong and repeat this one operation once."
        ),
        "try again",
    ),
    Refusal(
        0x31,
        N_("request out of range"),
        N_("The module does not know this record, or does not accept one of the values."),
        N_("This is perhaps the wrong layout for the car. Try no other values; ask the club."),
        "stop",
    ),
    Refusal(
        0x33,
        N_("security access denied"),
        N_("The module is locked."),
        N_("Unlock it as the job says. Without the code, stop here: never guess a code."),
        "stop",
    ),
    Refusal(
        0x35,
        N_("invalid key"),
        N_("The code was wrong."),
        N_(
            "Compare the code letter by letter with its source and enter it once more. Never guess a code:"
            " every wrong one counts."
        ),
        "try again",
    ),
    Refusal(
        0x36,
        N_("exceeded number of attempts"),
        N_("Too many wrong codes were entered; the module takes no more for now."),
        N_(
            "Enter nothing more. Leave the key on for ten minutes, then begin again at opening the module,"
            " with a code from a sure source."
        ),
        "wait",
    ),
    Refusal(
        0x37,
        N_("required time delay not expired"),
        N_("The module still waits after a wrong code or after it was switched on."),
        N_("Wait ten minutes with the key on and enter the code once more."),
        "wait",
    ),
    Refusal(
        0x72,
        N_("general programming failure"),
        N_("The module could not store what it was sent."),
        N_(
            "Do not switch off. Read the record back: if it is as found, check the battery voltage and"
            " repeat the writing once; if it is anything else, write back the note."
        ),
        "try again",
    ),
    Refusal(
        0x78,
        N_("request correctly received, response pending"),
        N_("The module is still at work. This is no refusal."),
        N_("Wait until it answers; touch neither the key nor the plug."),
        "wait",
    ),
    Refusal(
        0x92,
        N_("voltage too high"),
        N_("The supply is above what the module allows for writing."),
        N_(
            "Stop the engine or set the supply lower, wait for the voltage to settle, and repeat this"
            " operation."
        ),
        "try again",
    ),
    Refusal(
        0x93,
        N_("voltage too low"),
        N_("The supply is below what the module allows for writing."),
        N_("Connect a supply or charge the battery, measure again, and repeat this operation."),
        "try again",
    ),
)


_WHATEVER_IS_ASKED = {0x13, 0x22, 0x78, 0x92, 0x93}
ANSWERS: Mapping[OperationKind, frozenset[int]] = MappingProxyType(
    {
        "open": frozenset(_WHATEVER_IS_ASKED),  # DiagnosticSessionControl
        "unlock": frozenset(_WHATEVER_IS_ASKED | {0x31, 0x35, 0x36, 0x37}),  # SecurityAccess
        "write": frozenset(_WHATEVER_IS_ASKED | {0x31, 0x33, 0x72}),  # WriteDataByIdentifier
        "read-back": frozenset(_WHATEVER_IS_ASKED | {0x31, 0x33}),  # ReadDataByIdentifier
    }
)
"""Which of the refusals the service behind an operation can be answered with (ISO 14229-1, the supported
negative response codes of each service). Loading from a card is no such service. What only looks, before
anything is open for writing, is left out: there a refusal is dealt with as one with another number is."""


@dataclass(frozen=True, slots=True)
class Mishap:
    """Something that can happen during a job and is no numbered refusal: what, and what to do, in order.

    ``brief``: the same for paper, where every line counts.
    """

    title: str
    steps: tuple[str, ...]
    brief: str


UNKNOWN_REFUSAL = Mishap(
    N_("If the module refuses with a number that is not in this list"),
    (
        N_("Write the number down."),
        N_("Repeat the operation no more than once."),
        N_("If it is refused again, stop and ask the club, with the number."),
    ),
    N_("Write the number down, repeat once. Refused again: STOP and ask."),
)

SILENT = Mishap(
    N_("If the module goes silent"),
    (
        N_("Wait one minute. Touch neither the key nor the plug: it may still be storing."),
        N_("Measure the battery voltage; below 12.2 V connect a supply."),
        N_("Check that the plug sits firmly, then open the module again and read the record."),
        N_("If it reads as found, repeat the writing once. If it reads as written, go on with reading back."),
        N_("If it reads otherwise, write back the note."),
        N_(
            "If it stays silent, restart the module as the job describes and try once more; then stop and"
            " ask."
        ),
    ),
    N_(
        "Wait one minute, touch neither key nor plug. Below 12.2 V connect a supply. Plug firm? Open the"
        " module again and read: as found, repeat the writing once; as written, go on; else write the note"
        " back. Still silent: restart it and try once more, then STOP and ask."
    ),
)

ONE_OF_SEVERAL = Mishap(
    N_("If one change of several is refused"),
    (
        N_("Write nothing further."),
        N_("Put back the records already written, the last one first, from their notes."),
        N_("Read back each one: it must be as found."),
        N_("Restart the modules that were written, as the job describes."),
        N_("Read the faults once more and compare them with the first reading."),
    ),
    N_(
        "Write nothing further. Put back what is written, the last one first, from its note; read each back."
        " Restart those modules and read the faults once more."
    ),
)

MISHAPS: tuple[Mishap, ...] = (UNKNOWN_REFUSAL, SILENT, ONE_OF_SEVERAL)


@dataclass(frozen=True, slots=True)
class Brief:
    """Refusals with one and the same right thing to do, in few words for paper."""

    codes: tuple[int, ...]
    means: str
    do: str

    @property
    def hex(self) -> str:
        """The numbers as tools show them."""
        return " ".join(f"{code:02X}" for code in self.codes)

    @property
    def by(self) -> tuple[OperationKind, ...]:
        """The operations that can be answered so."""
        return tuple(kind for kind, codes in ANSWERS.items() if not codes.isdisjoint(self.codes))


PANEL: tuple[Brief, ...] = (
    Brief(
        (0x13, 0x31), N_("wrong length, out of range"),
        N_("STOP: perhaps the wrong layout. Try nothing else; ask."),
    ),
    Brief(
        (0x22,), N_("conditions not correct"),
        N_("Check key, voltage and that the engine rests; repeat once."),
    ),
    Brief(
        (0x33,), N_("locked"),
        N_("Unlock as the job says. No code: STOP. Never guess one."),
    ),
    Brief(
        (0x35,), N_("wrong code"),
        N_("Compare it letter by letter, enter it once more. Never guess: every wrong one counts."),
    ),
    Brief(
        (0x36, 0x37), "wait",
        N_("Leave the key on for ten minutes, then once more, with a code from a sure source."),
    ),
    Brief(
        (0x72,), N_("could not store it"),
        N_("Do not switch off. Read back: as found, check the voltage, repeat once; else write the note"
           " back."),
    ),
    Brief(
        (0x78,), N_("still at work"),
        N_("Wait until it answers; touch neither key nor plug."),
    ),
    Brief(
        (0x92, 0x93), N_("voltage too high, too low"),
        N_("Put the supply right, let it settle, measure, repeat."),
    ),
)  # fmt: skip


def panel(kinds: Iterable[OperationKind]) -> tuple[Brief, ...]:
    """What of the panel can come up in a job that has operations of these kinds."""
    every = frozenset(kinds)
    return tuple(one for one in PANEL if not every.isdisjoint(one.by))


LOADING_SILENT = N_(
    "Touch neither key nor card. Wait as long again as loading takes, ten minutes at least; below 12.2 V"
    " connect a supply. Then look at the version: as noted, load once more; as it is to be, go on."
    " Anything else, or still silent: STOP and ask."
)
"""What to do when a module goes silent while a file is loaded, for paper."""
