"""The record as plain text: one line an entry, in the order in which things happened."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from handsfree.quantity import Reading, written
from handsfree.record import entries as record
from handsfree.record.entries import Entry, Value


def printable(text: str) -> str:
    """Return text without control characters, so that a note can never drive a terminal."""
    return "".join(char if char.isprintable() else "\N{REPLACEMENT CHARACTER}" for char in text)


def told(value: Value) -> str:
    """Return a value as written on paper."""
    if isinstance(value, tuple):
        return ", ".join(written(one) for one in value)
    if isinstance(value, Reading):
        return written(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value


def pairs(values: Mapping[str, Value]) -> str:
    """Return named values in a row."""
    return "; ".join(f"{name.replace('_', ' ')} {told(value)}" for name, value in values.items())


def line(entry: Entry) -> str:  # noqa: C901, PLR0912 - one arm for each kind of entry
    """Return an entry as one line without its time."""
    match entry:
        case record.JobOpened():
            return f"job {entry.job}"
        case record.WorkerNamed():
            return f"worker {entry.name}"
        case record.FactSet():
            return (
                f'fact {entry.name.replace("_", " ")}: {told(entry.value)} (said "{entry.words}")'
            )
        case record.BenderSet():
            return f"bender {written(entry.size)} OD: {pairs(entry.profile)}"
        case record.FlagSet():
            return f'{entry.flag}: yes, on "{entry.evidence}"'
        case record.FlagCleared():
            return f"{entry.flag}: no longer, {entry.reason}"
        case record.ProcedureStarted():
            own = f" ({entry.firm})" if entry.firm else ""
            return f"started {entry.procedure}{own}"
        case record.StepClosed():
            why = f", because {entry.reason}" if entry.reason else ""
            return f'{entry.procedure} step {entry.step}: {entry.how}, "{entry.words}"{why}'
        case record.StepAwaits():
            value = "" if entry.value is None else f" {told(entry.value)}"
            return f"{entry.procedure} step {entry.step}: waits{value}"
        case record.ValueRead():
            return (
                f"{entry.procedure} step {entry.step}: {entry.name.replace('_', ' ')} "
                f'{told(entry.value)}, confirmed "{entry.confirmed}"'
            )
        case record.Reworked():
            return f"{entry.procedure} step {entry.step}: {entry.fault}, pass {entry.passes}"
        case record.Reopened():
            return f"{entry.procedure} step {entry.step}: opened again"
        case record.Redone():
            return f"{entry.procedure} step {entry.step}: closed again"
        case record.ProcedureEnded():
            return f"{entry.procedure}: {'finished' if entry.complete else 'left unfinished'}"
        case record.FactOpen():
            return f"fact {entry.name.replace('_', ' ')}: open"
        case record.ProcedureParked():
            return f"parked {entry.procedure}"
        case record.ProcedureTaken():
            return f"took up {entry.procedure}"
        case record.StageClosed():
            return f"stage {entry.stage}: done"
        case record.JointMade():
            return f"joint {entry.number}: {pairs(entry.values)}"
        case record.Asked():
            return f'asked back: "{entry.question}"'
        case record.AskedDropped():
            return "question let go"
        case record.Calculated():
            return f"{entry.calculator}: {pairs(entry.inputs)} gives {pairs(entry.answers)}"
        case record.Refused():
            return f"refused {entry.what}: {entry.reason}"
        case record.Noted():
            return f"note: {entry.text}"
        case record.TimerStarted():
            return f"timer {entry.name}: {entry.seconds:g} s"
        case record.TimerEnded():
            return f"timer {entry.name}: ended"
        case record.Paused():
            return "paused"
        case record.Resumed():
            return "went on in a new start" if entry.restart else "went on"
        case record.Stopped():
            return f'stopped: {entry.danger}, "{entry.words}"'
        case record.SettingChanged():
            return f"setting {entry.name}: {entry.value}"
        case record.Corrected():
            return f"corrects entry {entry.corrects}: {entry.name} {told(entry.value)}"
        case record.FieldWritten():
            return f"{entry.name.replace('_', ' ')}: {entry.text}"
        case record.PhotoNamed():
            return f"photo {entry.file}, of {entry.of}"
        case record.Signed():
            return f"signed by {entry.name}" + (f", {entry.role}" if entry.role else "")
        case record.Overridden():
            return f"overridden by {entry.name}: {entry.what}, because {entry.reason}"
        case record.ClockDoubted():
            return f"the clock went back by {entry.seconds:.0f} s: times are uncertain from here"


def lines(entries: Iterable[Entry]) -> Iterator[str]:
    """Yield the record line by line: local time with offset, worker, what happened."""
    for entry in entries:
        who = f" [{entry.worker}]" if entry.worker else ""
        yield printable(f"{entry.at.isoformat(timespec='seconds')}{who} {line(entry)}")
