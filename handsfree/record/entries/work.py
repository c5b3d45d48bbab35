"""Entries about the work in hand: procedures, their steps, and what is read there."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from fractions import Fraction
from typing import Literal

from handsfree.quantity import Kind, Reading
from handsfree.record.entries.forms import Base, Place, Value


class ProcedureStarted(Base):
    """A procedure was begun, at the person's request or because another needs it first.

    `firm` is the firm, and the edition of its pack, whose own procedure it is; empty for shipped.
    """

    kind: Literal["procedure started"] = "procedure started"
    procedure: str
    place: Place
    firm: str = ""


class StepClosed(Base):
    """A step is finished: how, in which words, and where the work stands now."""

    kind: Literal["step closed"] = "step closed"
    procedure: str
    step: str
    how: Literal["done", "seen", "stated", "value", "held", "fact", "skipped", "accepted", "called"]
    words: str = ""
    reason: str = ""
    place: Place


class StepAwaits(Base):
    """A step goes on to its next question (its check, its value, its confirmation).

    A value that was heard waits here with its words, the form in which it was read back, and the
    confidence with which it was heard: 0 to 1, None where it was typed.
    """

    kind: Literal["step awaits"] = "step awaits"
    procedure: str
    step: str
    words: str = ""
    value: Value | None = None
    read_back: str = ""
    confidence: float | None = None
    place: Place


class ValueRead(Base):
    """A value of a step was read back and confirmed.

    `words` are those in which it was given (of a list, those of each reading), `confirmed` the
    answer to `read_back`; `confidence` as in `StepAwaits`, of a list the lowest. `said` is when it
    was given, where that is known: the answer can come long after it.
    """

    kind: Literal["value read"] = "value read"
    procedure: str
    step: str
    name: str
    value: Value
    words: str
    confirmed: str
    read_back: str = ""
    confidence: float | None = None
    said: datetime | None = None


def minutes_between(reads: Sequence[ValueRead]) -> tuple[Reading, ...]:
    """Return when each value was given, minutes from the first one: exact, and never worked out.

    Where it was not kept when a value was given, the time of its confirmation stands for it.
    """
    times = [read.said or read.at for read in reads]
    seconds = [Fraction(str((time - times[0]).total_seconds())) for time in times]
    return tuple(Reading(one / 60, "minute", Kind.TIME) for one in seconds)


class Reworked(Base):
    """A step failed, and the work goes back; `passes` counts the tries including the new one."""

    kind: Literal["reworked"] = "reworked"
    procedure: str
    step: str
    fault: str
    words: str
    passes: int
    place: Place


class Reopened(Base):
    """The last closed step is open again; what was read there no longer counts."""

    kind: Literal["reopened"] = "reopened"
    procedure: str
    step: str
    stale: tuple[str, ...] = ()
    place: Place


class Redone(Base):
    """A step that was opened again counts as closed after all, with what was read there."""

    kind: Literal["redone"] = "redone"
    procedure: str
    step: str
    place: Place


class ProcedureEnded(Base):
    """A procedure came to its end, or was left."""

    kind: Literal["procedure ended"] = "procedure ended"
    procedure: str
    complete: bool
    place: Place


class ProcedureParked(Base):
    """The work in hand is put aside with its holds running, to be taken up again."""

    kind: Literal["procedure parked"] = "procedure parked"
    procedure: str
    place: Place


class ProcedureTaken(Base):
    """A parked procedure is in hand again."""

    kind: Literal["procedure taken"] = "procedure taken"
    procedure: str
    place: Place


class TimerStarted(Base):
    """A timer or hold runs from `at` for so many seconds."""

    kind: Literal["timer started"] = "timer started"
    name: str
    seconds: float


class TimerEnded(Base):
    """A timer ran out and was announced, or was stopped."""

    kind: Literal["timer ended"] = "timer ended"
    name: str
    announced: bool = True
