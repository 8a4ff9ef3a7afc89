"""What to do when a module refuses, goes silent, or takes only some of several changes.

Numbers and names: ISO 14229-1, negative response codes. The advice is the project's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

After = Literal["try again", "wait", "stop"]


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
        "incorrect message length or invalid format",
        "The module expects more or fewer bytes than were sent.",
        "Compare the number of bytes with the note. If it differs from this layout, the layout is not that of"
        " the car: stop and write nothing.",
        "stop",
    ),
    Refusal(
        0x22,
        "conditions not correct",
        "The car is not in the state in which the module lets itself be written.",
        "Check the key position, the battery voltage and that the engine stands still; put right what is"
        " wrong and repeat this one operation once.",
        "try again",
    ),
    Refusal(
        0x31,
        "request out of range",
        "The module does not know this record, or does not accept one of the values.",
        "Stop: this is perhaps the wrong layout for the car. Try no other values; ask the club.",
        "stop",
    ),
    Refusal(
        0x33,
        "security access denied",
        "The module is locked.",
        "Unlock it as the job says. Without the code, stop here: never guess a code.",
        "stop",
    ),
    Refusal(
        0x35,
        "invalid key",
        "The code was wrong.",
        "Compare the code letter by letter with its source and enter it once more. Never guess a code: every"
        " wrong one counts.",
        "try again",
    ),
    Refusal(
        0x36,
        "exceeded number of attempts",
        "Too many wrong codes were entered; the module takes no more for now.",
        "Enter nothing more. Leave the key on for ten minutes, then begin again at opening the module, with a"
        " code from a sure source.",
        "wait",
    ),
    Refusal(
        0x37,
        "required time delay not expired",
        "The module still waits after a wrong code or after it was switched on.",
        "Wait ten minutes with the key on and enter the code once more.",
        "wait",
    ),
    Refusal(
        0x72,
        "general programming failure",
        "The module could not store what it was sent.",
        "Do not switch off. Read the record back: if it is as found, check the battery voltage and repeat the"
        " writing once; if it is anything else, write back the note.",
        "try again",
    ),
    Refusal(
        0x78,
        "request correctly received, response pending",
        "The module is still at work. This is no refusal.",
        "Wait until it answers; touch neither the key nor the plug.",
        "wait",
    ),
    Refusal(
        0x92,
        "voltage too high",
        "The supply is above what the module allows for writing.",
        "Stop the engine or set the supply lower, wait for the voltage to settle, and repeat this operation.",
        "try again",
    ),
    Refusal(
        0x93,
        "voltage too low",
        "The supply is below what the module allows for writing.",
        "Connect a supply or charge the battery, measure again, and repeat this operation.",
        "try again",
    ),
)

BY_CODE: dict[int, Refusal] = {one.code: one for one in REFUSALS}


@dataclass(frozen=True, slots=True)
class Mishap:
    """Something that can happen during a job and is no numbered refusal: what, and what to do, in order.

    ``brief``: the same for paper, where every line counts.
    """

    title: str
    steps: tuple[str, ...]
    brief: str


UNKNOWN_REFUSAL = Mishap(
    "If the module refuses with a number that is not in this list",
    (
        "Write the number down.",
        "Repeat the operation no more than once.",
        "If it is refused again, stop and ask the club, with the number.",
    ),
    "Write the number down, repeat once. Refused again: STOP and ask.",
)

SILENT = Mishap(
    "If the module goes silent",
    (
        "Wait one minute. Touch neither the key nor the plug: it may still be storing.",
        "Measure the battery voltage; below 12.2 V connect a supply.",
        "Check that the plug sits firmly, then open the module again and read the record.",
        "If it reads as found, repeat the writing once. If it reads as written, go on with reading back.",
        "If it reads otherwise, write back the note.",
        "If it stays silent, restart the module as the job describes and try once more; then stop and ask.",
    ),
    "Wait one minute, touch neither key nor plug. Below 12.2 V connect a supply. Plug firm? Open the module"
    " again and read: as found, repeat the writing once; as written, go on; else write the note back. Still silent:"
    " restart it and try once more, then STOP and ask.",
)

ONE_OF_SEVERAL = Mishap(
    "If one change of several is refused",
    (
        "Write nothing further.",
        "Put back the records already written, the last one first, from their notes.",
        "Read back each one: it must be as found.",
        "Restart the modules that were written, as the job describes.",
        "Read the faults once more and compare them with the first reading.",
    ),
    "Write nothing further. Put back what is written, the last one first, from its note; read each back."
    " Restart those modules and read the faults once more.",
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


PANEL: tuple[Brief, ...] = (
    Brief(
        (0x13, 0x31), "wrong length, out of range",
        "STOP: perhaps the wrong layout. Try nothing else; ask.",
    ),
    Brief(
        (0x22,), "conditions not correct",
        "Check key, voltage and that the engine rests; repeat once.",
    ),
    Brief(
        (0x33,), "locked",
        "Unlock as the job says. No code: STOP. Never guess one.",
    ),
    Brief(
        (0x35,), "wrong code",
        "Compare it letter by letter, enter it once more. Never guess: every wrong one counts.",
    ),
    Brief(
        (0x36, 0x37), "wait",
        "Leave the key on for ten minutes, then once more, with a code from a sure source.",
    ),
    Brief(
        (0x72,), "could not store it",
        "Do not switch off. Read back: as found, check the voltage and repeat once; else write the note back.",
    ),
    Brief(
        (0x78,), "still at work",
        "Wait until it answers; touch neither key nor plug.",
    ),
    Brief(
        (0x92, 0x93), "voltage too high, too low",
        "Put the supply right, let it settle, measure, repeat.",
    ),
)  # fmt: skip
