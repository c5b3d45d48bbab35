"""A record read once: what counts at its end, and where each of it was written.

Later entries beat earlier ones of the same name; a correction beats what it points to; what was
read in a step that was opened again no longer counts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Generic, TypeVar

from handsfree.record import entries as record
from handsfree.record.entries import Entry, Place, Value
from handsfree.record.paper import paper

Form = TypeVar("Form", bound=record.Base)


@dataclass(frozen=True, slots=True)
class Written(Generic[Form]):
    """An entry, its number in the record (from 1), and the correction that beats it, if any."""

    number: int
    entry: Form
    corrected: int = 0
    value: Value | None = None

    def counts(self, written: Value) -> Value:
        """Return the value that counts: what was written, or what a correction put in its place."""
        return written if self.value is None else self.value


@dataclass
class Person:
    """Who spoke: from when to when."""

    name: str
    on: datetime
    off: datetime


@dataclass
class Gathered:
    """What counts of a record."""

    job: str = ""
    software: str = ""
    begun: datetime | None = None
    ended: datetime | None = None
    entries: int = 0
    fields: dict[str, list[Written[record.FieldWritten]]] = field(default_factory=dict)
    facts: dict[str, Written[record.FactSet]] = field(default_factory=dict)
    values: dict[str, Written[record.ValueRead]] = field(default_factory=dict)
    stale: dict[str, Written[record.ValueRead]] = field(default_factory=dict)
    flags: dict[str, Written[record.FlagSet]] = field(default_factory=dict)
    cleared: dict[str, Written[record.FlagCleared]] = field(default_factory=dict)
    steps: dict[str, Written[record.StepClosed]] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    excused: list[Written[record.StepClosed]] = field(default_factory=list)
    reworks: list[Written[record.Reworked]] = field(default_factory=list)
    overrides: list[Written[record.Overridden]] = field(default_factory=list)
    corrections: list[Written[record.Corrected]] = field(default_factory=list)
    joints: dict[int, Written[record.JointMade]] = field(default_factory=dict)
    sums: dict[int, Written[record.Calculated]] = field(default_factory=dict)
    photos: list[Written[record.PhotoNamed]] = field(default_factory=list)
    signatures: list[tuple[str, str, datetime]] = field(default_factory=list)
    notes: list[Written[record.Noted]] = field(default_factory=list)
    doubts: list[Written[record.ClockDoubted]] = field(default_factory=list)
    people: dict[str, Person] = field(default_factory=dict)
    of_joints: dict[int, tuple[int, str]] = field(default_factory=dict)
    in_hand: Place = ()
    parked: dict[str, Place] = field(default_factory=dict)
    left: list[Written[record.ProcedureEnded]] = field(default_factory=list)

    @property
    def unfinished(self) -> tuple[Place, ...]:
        """Return where work stands that was begun and has not come to its end."""
        return tuple(place for place in (self.in_hand, *self.parked.values()) if place)

    def fact(self, name: str) -> Written[record.FactSet] | None:
        """Return a fact, the latest one where it is kept for each size."""
        found = [
            fact for key, fact in self.facts.items() if key == name or key.startswith(f"{name} ")
        ]
        return max(found, key=lambda fact: fact.number, default=None)


def gathered(entries: Iterable[Entry]) -> Gathered:
    """Return what counts of a record."""
    found = Gathered()
    for number, entry in enumerate(entries, start=1):
        found.entries = number
        found.begun = found.begun or entry.at
        found.ended = entry.at
        if entry.worker:
            person = found.people.setdefault(entry.worker, Person(entry.worker, entry.at, entry.at))
            person.off = entry.at
        _place(found, number, entry)
        _take(found, number, entry)
    return found


def _place(found: Gathered, number: int, entry: Entry) -> None:
    """Follow where the work stands: in hand, parked, finished, or left."""
    if isinstance(entry, record.ProcedureParked):
        found.parked[entry.procedure] = entry.place
        found.in_hand = ()
        return
    if isinstance(entry, record.ProcedureTaken):
        found.parked.pop(entry.procedure, None)
    if isinstance(entry, record.ProcedureEnded) and not entry.complete:
        found.left.append(Written(number, entry))
    place = getattr(entry, "place", None)
    if place is not None:
        found.in_hand = place


def _take(found: Gathered, number: int, entry: Entry) -> None:  # noqa: C901, PLR0912, PLR0915 - one arm for each kind
    match entry:
        case record.JobOpened():
            found.job, found.software = entry.job, entry.software
        case record.WorkerNamed():
            found.people.setdefault(entry.name, Person(entry.name, entry.at, entry.at))
        case record.FieldWritten():
            held = found.fields.setdefault(entry.name, [])
            if entry.name not in paper().field or not paper().field[entry.name].many:
                held.clear()
            held.append(Written(number, entry))
        case record.FactSet():
            found.facts[entry.name] = Written(number, entry)
        case record.ValueRead():
            found.values[f"{entry.procedure}/{entry.name}"] = Written(number, entry)
            if entry.name == "signed_by":
                found.signatures.append((str(entry.value), "", entry.at))
        case record.Reopened():
            for name in entry.stale:
                if name in found.values:
                    found.stale[name] = found.values.pop(name)
        case record.Redone():
            for name, read in list(found.stale.items()):
                if (read.entry.procedure, read.entry.step) == (entry.procedure, entry.step):
                    found.values[name] = found.stale.pop(name)
        case record.FlagSet():
            found.flags[entry.flag] = Written(number, entry)
            found.cleared.pop(entry.flag, None)
        case record.FlagCleared():
            found.cleared[entry.flag] = Written(number, entry)
        case record.StepClosed():
            step = f"{entry.procedure}/{entry.step}"
            found.steps[step] = Written(number, entry)
            found.counts[step] = found.counts.get(step, 0) + 1
            if entry.how in ("skipped", "accepted"):
                found.excused.append(Written(number, entry))
        case record.Reworked():
            found.reworks.append(Written(number, entry))
        case record.JointMade():
            found.joints[entry.number] = Written(number, entry)
            for name in entry.read:
                if name in found.values:
                    read = found.values[name]
                    found.of_joints[read.number] = (entry.number, read.entry.name)
        case record.Calculated():
            found.sums[number] = Written(number, entry)
        case record.Noted():
            found.notes.append(Written(number, entry))
        case record.PhotoNamed():
            found.photos.append(Written(number, entry))
        case record.Signed():
            found.signatures.append((entry.name, entry.role, entry.at))
        case record.Overridden():
            found.overrides.append(Written(number, entry))
        case record.ClockDoubted():
            found.doubts.append(Written(number, entry))
        case record.Corrected():
            found.corrections.append(Written(number, entry))
            _correct(found, number, entry)
        case _:
            pass


def _correct(found: Gathered, number: int, entry: record.Corrected) -> None:
    """Let a correction beat the entry that it points to."""
    for held in found.fields.values():
        for place, one in enumerate(held):
            if one.number == entry.corrects:
                held[place] = Written(one.number, one.entry, number, entry.value)
    for name, fact in found.facts.items():
        if fact.number == entry.corrects:
            found.facts[name] = Written(fact.number, fact.entry, number, entry.value)
    for name, read in found.values.items():
        if read.number == entry.corrects:
            found.values[name] = Written(read.number, read.entry, number, entry.value)
    if entry.corrects in found.sums:
        held_sum = found.sums[entry.corrects]
        found.sums[entry.corrects] = Written(held_sum.number, held_sum.entry, number, entry.value)
    if entry.corrects in found.of_joints:
        joint, name = found.of_joints[entry.corrects]
        made = found.joints[joint]
        values = {**made.entry.values, name: entry.value}
        new = made.entry.model_copy(update={"values": values})
        found.joints[joint] = Written(made.number, new, number)
