"""The procedure of a job as a state machine that accepts exactly the legal orders of operations.

Its ground: a module keeps its session only while the key stays on and nobody opens another (ISO 14229-1:
after a restart or some seconds of silence it is back in the default session, locked); a value that was not
noted cannot be put back; a value that was not read back is not known to be written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..car.origin import NOWHERE, Origin
from ..car.records import RecordPath
from .operations import Operation, OperationKind, UnitKey
from .recipes import PowerState
from .wording import power as power_words


@dataclass(frozen=True, slots=True)
class Violation:
    """An order that must not be: the authored object behind it, what is wrong, what to do; one line each."""

    origin: Origin
    message: str
    repair: str


def violations(operations: Sequence[Operation]) -> tuple[Violation, ...]:
    """Everything wrong with the order of a job's operations; () when it may be carried out as it is."""
    machine = _Machine(operations)
    for at, operation in enumerate(operations):
        machine.take(at, operation)
    machine.end()
    return tuple(dict.fromkeys(machine.found))


_READING: frozenset[OperationKind] = frozenset(
    (
        "identify",
        "read-faults",
        "measure-voltage",
        "note",
        "note-version",
        "open",
        "unlock",
        "write",
        "load-file",
        "read-back",
        "read-version",
        "close",
        "read-faults-last",
    )
)
_ORDER = "Leave the order of the generated frame as it is."
_MOMENT = "Choose another moment for the step, or leave its power state out."


class _Machine:
    def __init__(self, operations: Sequence[Operation]) -> None:
        self.found: list[Violation] = []
        self.operations = operations
        self.ever = {(o.kind, o.module) for o in operations}
        self.records = {o.record: o for o in operations if o.kind == "write" and o.record}
        self.last_restart = {o.unit: i for i, o in enumerate(operations) if o.kind == "restart"}
        self.files = {o.module: o for o in operations if o.kind == "load-file"}
        self.power: PowerState | None = None
        self.done: set[OperationKind] = set()
        self.identified: set[UnitKey] = set()
        self.session: UnitKey | None = None  # the one module that is open
        self.unlocked = False
        self.wrote_in_session = False
        self.cut = False  # a key turned in this session is reported once
        self.noted: set[RecordPath] = set()
        self.noted_versions: set[str | None] = set()
        self.written: dict[RecordPath, Operation] = {}
        self.unread: dict[RecordPath, Operation] = {}
        self.to_confirm: dict[RecordPath, Operation] = {}  # written, awaiting restart and another reading
        self.restarted: set[UnitKey] = set()
        self.loaded: set[str | None] = set()
        self.loading: str | None = None  # a file was loaded, its version not yet read

    def wrong(self, operation: Operation, message: str, repair: str = _ORDER) -> None:
        self.found.append(Violation(operation.origin, message, repair))

    def take(self, at: int, o: Operation) -> None:
        """One operation: is it legal now, and what holds afterwards."""
        if "read-faults-last" in self.done:
            self.wrong(o, "The last reading of the faults must come last.", "Move this before it.")
        if o.kind != "key" and o.power is not None and o.power != self.power:
            self.wrong(o, f"This needs {power_words(o.power)}.", "Turn the key before it.")
        elif o.kind in _READING - {"close"} and self.power != "key-on":
            self.wrong(o, "This needs the key on.", "Turn the key before it.")
        match o.kind:
            case "key":
                self.key(at, o)
            case "have-ready":
                if self.done - {"have-ready", "key", "step"}:
                    self.wrong(o, "What must be ready comes before everything else.")
            case "identify":
                self.identified.add(o.unit)
            case "read-faults" | "measure-voltage" | "precheck":
                what = {"read-faults": "The faults are read", "measure-voltage": "The voltage is measured"}
                if self.begun:
                    self.wrong(o, f"{what.get(o.kind, 'A precheck comes')} before anything is written.")
            case "note" | "note-version":
                self.note(o)
            case "open":
                self.open(o)
            case "unlock":
                if self.session != o.unit:
                    self.wrong(o, f"{_name(o)} is unlocked although it is not open.")
                self.unlocked = True
            case "write":
                self.write(o)
            case "load-file":
                self.before_first(o)
                if o.module not in self.noted_versions:
                    self.wrong(o, "The version shown must be noted before a file is loaded.")
                self.loaded.add(o.module)
                self.loading = o.module
            case "read-back":
                self.read_back(o)
            case "read-version":
                if o.module not in self.loaded:
                    self.wrong(o, "The version is read again before the file was loaded.")
                if self.loading == o.module:
                    self.loading = None
            case "restart":
                self.restart(at, o)
            case "close":
                if self.session != o.unit:
                    self.wrong(o, f"{_name(o)} is left although it is not open.")
                self.unread_in(o)
                self.session, self.unlocked = None, False
            case "check":
                self.all_proven(o, "A check comes")
            case "read-faults-last":
                self.all_proven(o, "The faults are read for the last time")
                if "check" not in self.done:
                    self.wrong(o, "The job proves nothing.", "Give at least one check with what to expect.")
            case "step":
                self.step(at, o)
        self.done.add(o.kind)

    @property
    def begun(self) -> bool:
        """Whether something was written already."""
        return bool(self.written or self.loaded)

    def key(self, at: int, o: Operation) -> None:
        if self.loading is not None:
            self.wrong(o, "The key is turned before the loaded version was read.", _MOMENT)
        if self.session is not None and o.power != "key-on":
            if self.busy(at, self.session):
                if not self.cut:
                    name = _unit(self.session)
                    self.wrong(
                        o, f"This turns the key while {name} is open: the module would forget it.", _MOMENT
                    )
                self.cut = True
            else:
                if self.last_restart.get(self.session, -1) < at:
                    self.wrong(
                        o, f"{_unit(self.session)} is still open.", "Close it before the key is turned."
                    )
                self.session, self.unlocked = None, False
        self.power = o.power

    def busy(self, at: int, unit: UnitKey) -> bool:
        """Whether something is still to be written in a module in this visit, or to be read back."""
        later = (o.kind for o in self.operations[at + 1 :] if o.unit == unit and o.kind in ("write", "open"))
        return next(later, None) == "write" or any(o.unit == unit for o in self.unread.values())

    def note(self, o: Operation) -> None:
        if o.unit not in self.identified:
            self.wrong(o, f"{_name(o)} must be identified before its records are noted.")
        if self.begun:
            self.wrong(o, "Every record is noted before the first one is written.")
        if o.kind == "note-version":
            self.noted_versions.add(o.module)
        elif o.record is not None:
            self.noted.add(o.record)

    def before_first(self, o: Operation) -> None:
        """What must be done before anything is changed in the car."""
        missing = sorted(str(r) for r in self.records if r not in self.noted)
        if missing:
            repair = "Note every record before the first is written."
            self.wrong(o, f"Not noted yet: {', '.join(missing)}.", repair)
        for kind, what in (("read-faults", "The faults"), ("measure-voltage", "The battery voltage")):
            if kind not in self.done:
                self.wrong(o, f"{what} must be read before anything is written.")

    def open(self, o: Operation) -> None:
        if o.unit not in self.identified:
            self.wrong(o, f"{_name(o)} must be identified before it is opened.")
        self.before_first(o)
        if self.session is not None:
            self.wrong(o, f"{_unit(self.session)} is still open.", "Close or restart it first.")
        if self.loading is not None:
            self.wrong(o, "The loaded version has not been read yet.")
        self.session, self.unlocked, self.wrote_in_session, self.cut = o.unit, False, False, False

    def write(self, o: Operation) -> None:
        if self.session != o.unit:
            self.wrong(o, f"{_name(o)} is written although it is not open.")
        elif o.access and not self.unlocked:
            self.wrong(o, f"{_name(o)} must be unlocked before this record is written.")
        if not self.begun:
            self.before_first(o)
        if o.record is None:
            return
        if o.record in self.written:
            self.wrong(o, f"{o.record} is written twice.", "Make one change of the two.")
        self.written[o.record] = self.unread[o.record] = o
        if o.restarts:
            self.to_confirm[o.record] = o
        self.restarted.discard(o.unit)
        self.wrote_in_session = True

    def read_back(self, o: Operation) -> None:
        if o.record not in self.written:
            self.wrong(o, f"{o.record} is read back before it was written.")
        elif o.record in self.unread:
            del self.unread[o.record]
        elif o.unit in self.restarted:
            self.to_confirm.pop(o.record, None)

    def unread_in(self, o: Operation) -> None:
        for record, written in self.unread.items():
            if written.unit == o.unit:
                self.wrong(o, f"{record} was written but not read back.")

    def restart(self, at: int, o: Operation) -> None:
        self.unread_in(o)
        if not any(w.unit == o.unit for w in self.written.values()):
            self.wrong(o, f"{_name(o)} is restarted before anything was written in it.")
        if self.session is not None and self.busy(at, self.session):
            self.wrong(o, f"A restart turns the key while {_unit(self.session)} is open.")
        if self.loading is not None:
            self.wrong(o, "A restart turns the key before the loaded version was read.")
        self.restarted.add(o.unit)
        self.session, self.unlocked, self.power = None, False, None

    def unproven(self) -> list[str]:
        """What is written and not yet known to be so, in words."""
        out = [f"{r} is not written yet" for r in self.records if r not in self.written]
        out += [f"{r} is not read back" for r in self.unread]
        for record, o in self.to_confirm.items():
            if o.unit not in self.restarted:
                out.append(f"{_name(o)} is not restarted")
            elif record not in self.unread:
                out.append(f"{record} is not read back after the restart")
        out += [f"the file for {m} is not loaded yet" for m in self.files if m not in self.loaded]
        if self.loading is not None:
            out.append(f"the version of {self.loading} is not read")
        return list(dict.fromkeys(out))

    def all_proven(self, o: Operation, what: str) -> None:
        for missing in self.unproven():
            self.wrong(o, f"{what} too early: {missing}.")
        if self.session is not None:
            self.wrong(o, f"{what} while {_unit(self.session)} is still open.")

    def step(self, at: int, o: Operation) -> None:
        open_here = self.session is not None and self.session[0] == o.module
        never = "Choose another moment for the step, or leave it out."
        match o.moment:
            case "start":
                if self.done & _READING:
                    self.wrong(o, "A step at the start comes before anything is read.", never)
            case "noted":
                self.before_first(o)
                if self.begun or self.session is not None:
                    self.wrong(o, "This step belongs between the noting and the writing.", never)
            case "opened":
                if not self.has("open", o):
                    self.wrong(o, _waits(o, "opened", "opens"), never)
                elif not open_here or self.unlocked or self.wrote_in_session:
                    self.wrong(o, f"This step belongs right after {o.module} is opened.", never)
            case "unlocked":
                if not self.has("unlock", o):
                    self.wrong(o, _waits(o, "unlocked", "unlocks"), never)
                elif not open_here or not self.unlocked or self.wrote_in_session:
                    self.wrong(o, f"This step belongs right after {o.module} is unlocked.", never)
            case "written":
                self.step_written(at, o, never)
            case "restarted":
                if not self.has("restart", o):
                    self.wrong(o, _waits(o, "restarted", "restarts"), never)
                elif not any(u[0] == o.module and o.place in (None, u[1]) for u in self.restarted):
                    self.wrong(o, f"This step belongs after {o.module} is restarted.", never)
            case "end":
                self.all_proven(o, "A step at the end comes")

    def step_written(self, at: int, o: Operation, never: str) -> None:
        if not self.has("write", o) and not self.has("load-file", o):
            self.wrong(o, _waits(o, "written", "writes anything in"), never)
            return
        unit = (o.module or "", o.place)
        late = self.loading == o.module or self.busy(at, unit) or unit in self.restarted
        if late or not (o.module in self.loaded or any(w.unit == unit for w in self.written.values())):
            self.wrong(o, f"This step belongs after {o.module} is written and read back.", never)

    def has(self, kind: OperationKind, o: Operation) -> bool:
        return (kind, o.module) in self.ever

    def end(self) -> None:
        """What the job must not end without."""
        last = self.operations[-1] if self.operations else Operation("step", "", origin=NOWHERE)
        if "read-faults-last" not in self.done:
            self.wrong(last, "The faults are not read once more at the end.")
            self.all_proven(last, "The job ends")
        for kind, what in (("read-faults", "The faults are"), ("measure-voltage", "The battery voltage is")):
            if kind not in self.done:
                self.wrong(last, f"{what} never read before the work.")
        for record in self.noted - set(self.records):
            self.wrong(last, f"{record} is noted but never written.")
        for module in self.noted_versions - set(self.files):
            self.wrong(last, f"The version of {module} is noted but no file is loaded.")
        if not self.records and not self.files:
            self.wrong(last, "The job writes nothing.", "Give a change that applies to these cars.")


def _name(o: Operation) -> str:
    return _unit(o.unit)


def _unit(unit: UnitKey) -> str:
    return f"{unit[0]}@{unit[1]}" if unit[1] else unit[0]


def _waits(o: Operation, done: str, does: str) -> str:
    return f"This step waits for {o.module} to be {done}, but the job never {does} it."
