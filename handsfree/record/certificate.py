"""The certificate of a job as data: every row with its number, who said it, and what is amiss."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from handsfree.errors import HandsfreeError
from handsfree.quantity import Reading
from handsfree.record import entries as record
from handsfree.record.entries import Entry, Value
from handsfree.record.gathering import Gathered, Written, gathered
from handsfree.record.paper import Row, Section, paper
from handsfree.record.recomputing import Reckoner, differences_of
from handsfree.record.text import pairs, printable, told

ALWAYS = 3
"""The first sections are due on every job: what is missing there is named."""
MOST_JOINTS, MOST_SUMS, MOST_LINES, MOST_TIMES, MOST_PHOTOS = 24, 10, 12, 6, 30
LONGEST = 150
"""What fits on two pages, in pieces and letters; all of it stands in the tables and the data."""
SIGNERS = 2


@dataclass(frozen=True, slots=True)
class Cell:
    """A row of the certificate: its number, title, text, who and when, and whether it is missing.

    `note` says what is amiss with it: corrected, ended, or differing.
    """

    number: str
    title: str
    text: str = ""
    by: str = ""
    note: str = ""
    missing: bool = False
    aloud: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """A section: its number and title, and its rows (none where nothing is recorded)."""

    number: int
    title: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Sum:
    """A computed value as recorded, and what its inputs give now where that differs."""

    entry: int
    title: str
    inputs: str
    answers: str
    differs: tuple[str, ...]
    corrected: int


@dataclass(frozen=True, slots=True)
class Joint:
    """A joint: its number, how it was made, what was read for it, its passes, and by whom."""

    number: int
    kind: str
    size: str
    readings: str
    passes: int
    by: str


@dataclass(frozen=True, slots=True)
class Certificate:
    """Everything that the paper shows; texts are printable, and not yet escaped."""

    job: str
    begun: str
    ended: str
    software: str
    entries: int
    seal: str
    parts: tuple[Part, ...]
    people: tuple[str, ...]
    joints: tuple[Joint, ...]
    more_joints: int
    sums: tuple[Sum, ...]
    more_sums: int
    computed: int
    differing: int
    deviations: tuple[str, ...]
    more_deviations: int
    notes: tuple[str, ...]
    more_notes: int
    photos: tuple[str, ...]
    more_photos: int
    signatures: tuple[tuple[str, str, str], ...]
    missing: tuple[str, ...]
    faults: tuple[str, ...]

    @property
    def total_joints(self) -> int:
        """Return how many joints were made."""
        return len(self.joints) + self.more_joints


def certificate(
    entries: Sequence[Entry], faults: Sequence[str], seal: str, reckoner: Reckoner
) -> Certificate:
    """Return the certificate of a record; every computed value is worked out anew.

    `faults` are what is wrong with its lines and its clock, `seal` the hash of its last line.
    """
    found = gathered(entries)
    parts = tuple(_part(n, one, found, reckoner) for n, one in enumerate(paper().section, start=1))
    sums = [_sum(one, reckoner) for one in found.sums.values()]
    shown = _chosen(sums, found)
    joints = [_joint(one, found, reckoner) for one in found.joints.values()]
    deviations = [fitting(text) for text in _deviations(found, reckoner)]
    notes = [fitting(f"{_when(one.entry.at)} {one.entry.text}") for one in found.notes]
    unsigned = SIGNERS - len(found.signatures)
    missing = [
        f"{cell.number} {cell.title.lower()}"
        for part in parts
        for cell in part.cells
        if cell.missing
    ]
    return Certificate(
        job=printable(found.job),
        begun=_when(found.begun),
        ended=_when(found.ended),
        software=found.software,
        entries=found.entries,
        seal=seal,
        parts=parts,
        people=tuple(
            fitting(f"{one.name}: on {_when(one.on)}, off {_when(one.off)}")
            for one in found.people.values()
        ),
        joints=tuple(joints[:MOST_JOINTS]),
        more_joints=max(0, len(joints) - MOST_JOINTS),
        sums=shown,
        more_sums=len(sums) - len(shown),
        computed=len(sums),
        differing=sum(bool(one.differs) for one in sums),
        deviations=tuple(deviations[:MOST_LINES]),
        more_deviations=max(0, len(deviations) - MOST_LINES),
        notes=tuple(notes[-MOST_LINES:]),
        more_notes=max(0, len(notes) - MOST_LINES),
        photos=tuple(
            fitting(f"{one.entry.file}" + (f" ({one.entry.of})" if one.entry.of else ""))
            for one in found.photos[:MOST_PHOTOS]
        ),
        more_photos=max(0, len(found.photos) - MOST_PHOTOS),
        signatures=tuple(
            (fitting(n), fitting(r), _when(at)) for n, r, at in found.signatures[-MOST_TIMES:]
        ),
        missing=(*missing, *(["a second name to sign"] if unsigned == 1 else [])),
        faults=tuple(fitting(fault) for fault in faults),
    )


def fitting(text: str) -> str:
    """Return a text as it is shown: printable, and cut with `…` where it is too long for paper."""
    shown = printable(text)
    return shown if len(shown) <= LONGEST else shown[: LONGEST - 1] + "…"


def _when(at: datetime | None) -> str:
    return "" if at is None else at.strftime("%Y-%m-%d %H:%M")


def _who(entry: record.Base, found: Gathered) -> str:
    """Return who spoke and when: with the day, where the job took more than one."""
    days = {at.date() for at in (found.begun, found.ended) if at is not None}
    when = f"{entry.at:%H:%M}" if len(days) == 1 else _when(entry.at)
    return printable(f"{entry.worker} {when}".strip())


def _over(flag: record.FlagSet, over: record.FlagCleared) -> str:
    """Return when a state lapsed by its time alone, or when and by what it was ended."""
    if flag.expires is not None and flag.expires <= over.at:
        return f"lapsed {_when(flag.expires)}"
    return f"ended {_when(over.at)}: {over.reason.rstrip('.')}"


def _part(number: int, section: Section, found: Gathered, reckoner: Reckoner) -> Part:
    cells: list[Cell] = []
    touched = number <= ALWAYS
    for place, row in enumerate(section.row, start=1):
        name = f"{number}.{place}"
        made = list(_cells(name, row, found, reckoner))
        touched = touched or (bool(made) and not (row.fact or row.sum or row.count))
        if not made and row.must:
            made = [Cell(name, row.title, missing=True)]
        cells += made
    return Part(number, section.title, tuple(cells) if touched else ())


def _cells(number: str, row: Row, found: Gathered, reckoner: Reckoner) -> Iterator[Cell]:
    """Yield what a row comes to: nothing, one cell, or several for a field that comes often."""

    def cell(text: str, by: str = "", note: str = "") -> Cell:
        return Cell(number, row.title, fitting(text), by, note, aloud=row.aloud)

    if row.field in found.fields:
        for field in found.fields[row.field][-MOST_TIMES:]:
            yield cell(
                told(field.counts(field.entry.text)), _who(field.entry, found), _corrected(field)
            )
    elif row.fact and (fact := found.fact(row.fact)) is not None:
        yield cell(told(fact.counts(fact.entry.value)), _who(fact.entry, found), _corrected(fact))
    elif row.value in found.values:
        read = found.values[row.value]
        yield cell(told(read.counts(read.entry.value)), _who(read.entry, found), _corrected(read))
    elif row.flag in found.flags:
        flag = found.flags[row.flag]
        over = found.cleared.get(row.flag)
        note = "" if over is None else _over(flag.entry, over.entry)
        yield cell(f"{_when(flag.entry.at)}, {flag.entry.evidence}", _who(flag.entry, found), note)
    elif row.step in found.steps:
        step = found.steps[row.step]
        excused = step.entry.how in ("skipped", "accepted")
        words = step.entry.reason if excused else step.entry.words
        note = step.entry.how if excused else ""
        yield cell(f"{_when(step.entry.at)}, {words}".rstrip(", "), _who(step.entry, found), note)
    elif row.count in found.counts:
        yield cell(str(found.counts[row.count]))
    elif row.sum:
        yield from _reckoned(cell, row, found, reckoner)


def _corrected(
    written: Written[record.FieldWritten] | Written[record.FactSet] | Written[record.ValueRead],
) -> str:
    return f"corrected, entry {written.corrected}" if written.corrected else ""


def _reckoned(
    cell: Callable[[str], Cell], row: Row, found: Gathered, reckoner: Reckoner
) -> Iterator[Cell]:
    """Yield a sum from readings of the record, where all of them are there."""
    inputs: dict[str, Value] = {}
    for name, place in row.inputs.items():
        if isinstance(place, str):
            value = _looked_up(place, found)
            if value is None:
                return
            inputs[name] = value
        else:
            several = [_looked_up(one, found) for one in place]
            readings = tuple(one for one in several if isinstance(one, Reading))
            if len(readings) < len(several):
                return
            inputs[name] = readings
    for name, places in row.times.items():
        reads = [found.values[place].entry for place in places if place in found.values]
        if len(reads) < len(places):
            return
        inputs[name] = record.minutes_between(reads)
    try:
        sentence, answers = reckoner.answers(row.sum, inputs)
    except HandsfreeError:
        return
    if not row.answer:
        yield cell(sentence.replace("_", " "))
    elif row.answer in answers:
        yield cell(told(reckoner.rounded(row.sum, answers)[row.answer]))


def _looked_up(place: str, found: Gathered) -> Value | None:
    """Return a reading by `procedure/name`, or a fact by `fact name`."""
    if "/" in place:
        read = found.values.get(place)
        return None if read is None else read.counts(read.entry.value)
    fact = found.fact(place.removeprefix("fact "))
    return None if fact is None else fact.counts(fact.entry.value)


def _sum(written: Written[record.Calculated], reckoner: Reckoner) -> Sum:
    entry = written.entry
    differs = tuple(fitting(str(one)) for one in differences_of(written.number, entry, reckoner))
    return Sum(
        written.number,
        fitting(reckoner.title(entry.calculator)),
        fitting(pairs(entry.inputs)),
        fitting(pairs(reckoner.rounded(entry.calculator, entry.answers))),
        differs,
        written.corrected,
    )


def _chosen(sums: Sequence[Sum], found: Gathered) -> tuple[Sum, ...]:
    """Return the computed values to show: those that differ, those of pieces, and the latest."""
    pieces = paper().pieces

    def rank(one: Sum) -> tuple[bool, bool, int]:
        return not one.differs, found.sums[one.entry].entry.calculator not in pieces, -one.entry

    return tuple(sorted(sorted(sums, key=rank)[:MOST_SUMS], key=lambda one: one.entry))


def _joint(written: Written[record.JointMade], found: Gathered, reckoner: Reckoner) -> Joint:
    entry = written.entry
    values: Mapping[str, Value] = entry.values
    size = told(values["size"]) if "size" in values else ""
    rest = {name: value for name, value in values.items() if name != "size"}
    kind = ", ".join(part for part in (reckoner.procedure(entry.procedure), entry.tool) if part)
    read = pairs(rest) + (f" (corrected, entry {written.corrected})" if written.corrected else "")
    return Joint(entry.number, fitting(kind), size, fitting(read), entry.passes, _who(entry, found))


_BECAUSE = re.compile(r"^\s*because\s+", re.IGNORECASE)
"""How people begin a reason, which is begun so already."""


def _deviations(found: Gathered, reckoner: Reckoner) -> Iterator[str]:
    for place in found.unfinished:
        at = reckoner.step(place[-1].procedure, place[-1].step)
        yield f"Not finished: {reckoner.procedure(place[0].procedure)}; it stands at {at}."
    for one in found.left:
        title = reckoner.procedure(one.entry.procedure)
        yield f"Left unfinished, {_who(one.entry, found)}: {title}."
    for over in found.overrides:
        yield f"Overridden by {over.entry.name}: {over.entry.what}, because {over.entry.reason}."
    for step in found.excused:
        title = reckoner.step(step.entry.procedure, step.entry.step)
        reason = _BECAUSE.sub("", step.entry.reason) or "no reason was given"
        who = _who(step.entry, found)
        yield f"{step.entry.how.capitalize()}, {who}: {title}, because {reason.rstrip('.')}."
    for doubt in found.doubts:
        back = f"{doubt.entry.seconds:.0f} s"
        yield f"Clock back by {back}: times uncertain from {_when(doubt.entry.at)}."
    for stale in found.stale.values():
        name = stale.entry.name.replace("_", " ")
        yield f"Stale: {name} {told(stale.entry.value)}; its step was opened again."
    for fixed in found.corrections:
        name = fixed.entry.name.replace("_", " ")
        yield f"Entry {fixed.entry.corrects} corrected: {name} {told(fixed.entry.value)}."
    for again in found.reworks:
        title = reckoner.step(again.entry.procedure, again.entry.step)
        yield f"Done again: {title}: {again.entry.fault}, pass {again.entry.passes}."
