"""The entries of a job's record: what happened, in the words and readings of the moment.

Every change of the conversation's state is one of these, so the state is the fold of the record.
An entry that moves the place carries the whole new place, so that a record can be read back by a
later release whose procedures have changed. A correction is a new entry that names the old one.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import (
    AwareDatetime,
    BaseModel,
    ConfigDict,
    Field,
    PlainSerializer,
    PlainValidator,
    TypeAdapter,
)

from handsfree.quantity import Kind, Number, Reading

SCHEMA = 1


def _number_from(value: Any) -> Number:
    """Read `"3/8"` as exact and `1.25` as computed."""
    if isinstance(value, str):
        return Fraction(value)
    if isinstance(value, Fraction | float):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        return Fraction(value)
    raise ValueError("a number is a JSON number, or a fraction in quotes")


def _reading_from(value: Any) -> Reading:
    if isinstance(value, Reading):
        return value
    if not isinstance(value, dict) or set(value) != {"value", "unit", "kind"}:
        raise ValueError("a reading has value, unit and kind")
    return Reading(_number_from(value["value"]), value["unit"], Kind(value["kind"]))


def _reading_to(reading: Reading) -> dict[str, Any]:
    value = reading.value
    number = str(value) if isinstance(value, Fraction) else value
    return {"value": number, "unit": reading.unit, "kind": str(reading.kind)}


StoredReading = Annotated[Reading, PlainValidator(_reading_from), PlainSerializer(_reading_to)]
Value = StoredReading | tuple[StoredReading, ...] | str | bool
"""A fact, slot or answer: a reading or several, one of a few words, or yes and no."""


class _Entry(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    at: AwareDatetime
    worker: str = ""


class Frame(BaseModel):
    """One open procedure: where it stands, and what it waits for.

    `phase` is what the next answer is taken as: `act` (done), `check` (yes or no), `value`,
    `confirm` (a value read back), `state` (the challenge words), `branch` (which fault), `hold`,
    `reason` (why a step is skipped).
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    procedure: str
    step: str
    phase: str = "act"


Place = tuple[Frame, ...]
"""Open procedures, outermost first; the last one is in hand."""


class JobOpened(_Entry):
    """The first entry of every job."""

    kind: Literal["job opened"] = "job opened"
    job: str
    schema_version: int = SCHEMA
    software: str = ""


class WorkerNamed(_Entry):
    """Who speaks from now on."""

    kind: Literal["worker named"] = "worker named"
    name: str


class FactSet(_Entry):
    """A fact of the job: a convention, a maker's figure, a size."""

    kind: Literal["fact set"] = "fact set"
    name: str
    value: Value
    words: str = ""
    source: str = "said"


class FactOpen(_Entry):
    """A fact was asked for and is not known yet; what depends on it waits."""

    kind: Literal["fact open"] = "fact open"
    name: str
    words: str = ""


class BenderSet(_Entry):
    """A bender profile: all that is known of what this bender does with tube of one size.

    `between`, `grip` and `after` are the straights that it needs between bends, in the hook and
    under the shoe; `springback` the angle that a square bend loses. `indexes` and `forty_five`
    say whether it has index marks for 90 and for 45 degrees. The rest is what stands around the
    groove: see `Body` of the bend calculators.
    """

    kind: Literal["bender set"] = "bender set"
    size: StoredReading
    radius: StoredReading | None = None
    between: StoredReading | None = None
    grip: StoredReading | None = None
    after: StoredReading | None = None
    springback: StoredReading | None = None
    indexes: bool = True
    forty_five: bool = False
    half_width: StoredReading | None = None
    handle: StoredReading | None = None
    handle_angle: StoredReading | None = None
    bench: StoredReading | None = None
    clear: StoredReading | None = None
    source: str = "said"

    @property
    def profile(self) -> dict[str, Value]:
        """Return what is known of the bender, by name."""
        other = (*_Entry.model_fields, "kind", "size", "source")
        held = ((name, getattr(self, name)) for name in BenderSet.model_fields if name not in other)
        return {name: value for name, value in held if value is not None}


class FlagSet(_Entry):
    """A state of the work is now true (`isolated`, `ppe` …), on this evidence, until then.

    It also ends after `after_break` seconds without an entry, where that is given.
    """

    kind: Literal["flag set"] = "flag set"
    flag: str
    evidence: str
    expires: AwareDatetime | None = None
    after_break: float | None = None


class FlagCleared(_Entry):
    """A state of the work no longer holds."""

    kind: Literal["flag cleared"] = "flag cleared"
    flag: str
    reason: str


class ProcedureStarted(_Entry):
    """A procedure was begun, at the person's request or because another needs it first."""

    kind: Literal["procedure started"] = "procedure started"
    procedure: str
    place: Place


class StepClosed(_Entry):
    """A step is finished: how, in which words, and where the work stands now."""

    kind: Literal["step closed"] = "step closed"
    procedure: str
    step: str
    how: Literal["done", "seen", "stated", "value", "held", "fact", "skipped", "accepted", "called"]
    words: str = ""
    reason: str = ""
    place: Place


class StepAwaits(_Entry):
    """A step goes on to its next question (its check, its value, its confirmation)."""

    kind: Literal["step awaits"] = "step awaits"
    procedure: str
    step: str
    words: str = ""
    value: Value | None = None
    place: Place


class ValueRead(_Entry):
    """A value of a step was read back and confirmed."""

    kind: Literal["value read"] = "value read"
    procedure: str
    step: str
    name: str
    value: Value
    words: str
    confirmed: str


class Reworked(_Entry):
    """A step failed, and the work goes back; `passes` counts the tries including the new one."""

    kind: Literal["reworked"] = "reworked"
    procedure: str
    step: str
    fault: str
    words: str
    passes: int
    place: Place


class Reopened(_Entry):
    """The last closed step is open again; what was read there no longer counts."""

    kind: Literal["reopened"] = "reopened"
    procedure: str
    step: str
    stale: tuple[str, ...] = ()
    place: Place


class Redone(_Entry):
    """A step that was opened again counts as closed after all, with what was read there."""

    kind: Literal["redone"] = "redone"
    procedure: str
    step: str
    place: Place


class ProcedureEnded(_Entry):
    """A procedure came to its end, or was left."""

    kind: Literal["procedure ended"] = "procedure ended"
    procedure: str
    complete: bool
    place: Place


class ProcedureParked(_Entry):
    """The work in hand is put aside with its holds running, to be taken up again."""

    kind: Literal["procedure parked"] = "procedure parked"
    procedure: str
    place: Place


class ProcedureTaken(_Entry):
    """A parked procedure is in hand again."""

    kind: Literal["procedure taken"] = "procedure taken"
    procedure: str
    place: Place


class StageClosed(_Entry):
    """A stage of the job that has no procedure of its own was told to be done."""

    kind: Literal["stage closed"] = "stage closed"
    stage: str
    words: str = ""


class JointMade(_Entry):
    """A joint is finished and has its number; `read` are the readings that now belong to it."""

    kind: Literal["joint made"] = "joint made"
    number: int
    values: dict[str, Value] = Field(default_factory=dict)
    read: tuple[str, ...] = ()


class Asked(_Entry):
    """Something was asked back; the half-filled request is kept.

    `what` is a calculator's id, `procedure:<id>` for a fact that a procedure needs first, or
    `heard` where two sentences (`choices`) may have been meant. `bare` are numbers that were said
    without a unit, by slot.
    """

    kind: Literal["asked"] = "asked"
    what: str
    slots: dict[str, Value] = Field(default_factory=dict)
    missing: tuple[str, ...] = ()
    question: str
    choices: tuple[str, ...] = ()
    words: str = ""
    tries: int = 1
    bare: dict[str, str] = Field(default_factory=dict)


class AskedDropped(_Entry):
    """The open question was let go."""

    kind: Literal["question dropped"] = "question dropped"
    what: str


class Calculated(_Entry):
    """A calculator answered. Inputs and the formula's name let a later reader recompute it."""

    kind: Literal["calculated"] = "calculated"
    calculator: str
    words: str
    inputs: dict[str, Value]
    answers: dict[str, Value]
    sentence: str = ""
    sources: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


class Refused(_Entry):
    """Something was asked that the tool does not do or does not know."""

    kind: Literal["refused"] = "refused"
    what: str
    reason: str
    words: str


class Noted(_Entry):
    """A note in the person's own words."""

    kind: Literal["noted"] = "noted"
    text: str


class TimerStarted(_Entry):
    """A timer or hold runs from `at` for so many seconds."""

    kind: Literal["timer started"] = "timer started"
    name: str
    seconds: float


class TimerEnded(_Entry):
    """A timer ran out and was announced, or was stopped."""

    kind: Literal["timer ended"] = "timer ended"
    name: str
    announced: bool = True


class Paused(_Entry):
    """The person asked for quiet."""

    kind: Literal["paused"] = "paused"
    reason: str = ""


class Resumed(_Entry):
    """The conversation goes on: after a pause, or in a new process (`restart`)."""

    kind: Literal["resumed"] = "resumed"
    restart: bool = False


class Stopped(_Entry):
    """Somebody called stop, or a danger: nothing goes on until the person says so."""

    kind: Literal["stopped"] = "stopped"
    danger: str
    words: str


class SettingChanged(_Entry):
    """How the tool speaks to this person: one step by its word, `slower` or `shorter`."""

    kind: Literal["setting changed"] = "setting changed"
    name: str
    value: str


class Corrected(_Entry):
    """A value of an earlier entry was wrong; `corrects` is that entry's number, counted from 1."""

    kind: Literal["corrected"] = "corrected"
    corrects: int
    name: str
    value: Value
    words: str


Entry = (
    JobOpened
    | WorkerNamed
    | FactSet
    | FactOpen
    | BenderSet
    | FlagSet
    | FlagCleared
    | ProcedureStarted
    | StepClosed
    | StepAwaits
    | ValueRead
    | Reworked
    | Reopened
    | Redone
    | ProcedureEnded
    | ProcedureParked
    | ProcedureTaken
    | StageClosed
    | JointMade
    | Asked
    | AskedDropped
    | Calculated
    | Refused
    | Noted
    | TimerStarted
    | TimerEnded
    | Paused
    | Resumed
    | Stopped
    | SettingChanged
    | Corrected
)

_ADAPTER: TypeAdapter[Entry] = TypeAdapter(Annotated[Entry, Field(discriminator="kind")])


def entry_from(data: Any) -> Entry:
    """Return the entry that a JSON object holds; raises pydantic's ValidationError."""
    return _ADAPTER.validate_python(data)


def entry_to(entry: Entry) -> dict[str, Any]:
    """Return an entry as plain JSON data."""
    plain: dict[str, Any] = _ADAPTER.dump_python(entry, mode="json")
    return plain
