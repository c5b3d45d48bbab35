"""Where the conversation stands: the job, as its record tells it, and the moment beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from handsfree.quantity import Reading, written
from handsfree.record import entries as record
from handsfree.record.entries import Place, Value

HEARD = "heard"
"""What a question is about that asks which of two sentences or readings was meant."""


FACT, READ = "fact", "reading"
"""What a value that was said belongs to: the job, or a step."""


@dataclass(frozen=True)
class Said:
    """A reading that was said: the number of its entry, what it belongs to, and its name there."""

    number: int
    of: str
    name: str
    value: Reading


@dataclass(frozen=True)
class Undone:
    """A step that was opened again: where the work stood, what was read, how it was closed."""

    procedure: str
    step: str
    place: Place
    was: Place
    values: Mapping[str, record.ValueRead]
    how: str


@dataclass(frozen=True)
class Made:
    """A joint that is finished: its entry, and how each step was closed since the one before.

    `steps` is by procedure and step, "braze/9", the one closed last standing last.
    """

    entry: record.JointMade
    steps: Mapping[str, str]


@dataclass(frozen=True)
class Job:
    """A job as its record tells it. `folding` is the only thing that changes one."""

    name: str = ""
    worker: str = ""
    workers: tuple[str, ...] = ()
    entries: int = 0
    facts: Mapping[str, Value] = field(default_factory=dict)
    benders: Mapping[str, record.BenderSet] = field(default_factory=dict)
    flags: Mapping[str, record.FlagSet] = field(default_factory=dict)
    open_facts: tuple[str, ...] = ()
    place: Place = ()
    parked: tuple[Place, ...] = ()
    complete: Mapping[str, int] = field(default_factory=dict)
    stages: tuple[str, ...] = ()
    skipped: tuple[tuple[str, str, str], ...] = ()
    pending: Value | None = None
    awaited: record.StepAwaits | None = None
    given: tuple[record.StepAwaits, ...] = ()
    fields: Mapping[str, int] = field(default_factory=dict)
    trail: tuple[tuple[str, str, Place], ...] = ()
    values: Mapping[str, record.ValueRead] = field(default_factory=dict)
    passes: Mapping[str, int] = field(default_factory=dict)
    joints: int = 0
    made: tuple[Made, ...] = ()
    steps: Mapping[str, str] = field(default_factory=dict)
    reopened: tuple[Undone, ...] = ()
    owners: Mapping[str, str] = field(default_factory=dict)
    questions: tuple[record.Asked, ...] = ()
    timers: Mapping[str, record.TimerStarted] = field(default_factory=dict)
    settings_of: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    calculated: record.Calculated | None = None
    calculated_at: int = 0
    said: tuple[Said, ...] = ()
    closed: Mapping[str, int] = field(default_factory=dict)
    sums: dict[str, record.Calculated] = field(default_factory=dict)
    paused: bool = False
    stopped: bool = False
    last: datetime | None = None

    def fact(self, name: str, per: str = "") -> Value | None:
        """Return a fact of the job; `per` is the value that it is kept for, as written."""
        return self.facts.get(fact_key(name, per))

    @property
    def last_joint(self) -> datetime | None:
        """Return when the last joint was finished, or None."""
        return self.made[-1].entry.at if self.made else None

    @property
    def question(self) -> record.Asked | None:
        """Return the question that the next answer is for: the one asked last, or None."""
        return self.questions[-1] if self.questions else None

    @property
    def settings(self) -> Mapping[str, int]:
        """Return how the tool speaks to who is speaking: each person has their own dials."""
        return self.settings_of.get(self.worker, {})

    @property
    def mode(self) -> Value | None:
        """Return how much is said to who is speaking: their own mode, or that of the job."""
        return self.fact("mode", self.worker) or self.fact("mode")


def fact_key(name: str, per: str = "") -> str:
    """Return the name under which a fact is kept: `maker_torque`, `maker_torque 3/8 in`."""
    return f"{name} {per}".strip()


def size_key(size: Reading) -> str:
    """Return the name of a tube size: its outside diameter in inches, as written."""
    return written(size.to("inch"))


@dataclass(frozen=True)
class Moment:
    """What matters now and is not worth a record: the last words, and when they ended.

    `battery` is the level that was said last. `confidence` is how well the last sentence that was
    heard fits its sound, 0 to 1; None where it was typed. `held` tells that entries wait in
    memory since the record cannot be written. `called` is when the wake words were said,
    `waiting` whether only the step's small vocabulary is listened for, `aside` whether the last
    thing was a question in the middle of a step, `nudged` whether the step was named once more
    since, `unclear` how often an open choice was not answered.
    """

    said: tuple[str, ...] = ()
    number: str = ""
    heard: str = ""
    sentences: int = 0
    prompt_ended: datetime | None = None
    sum_told: bool = False
    insisted: int = 0
    announced: tuple[str, ...] = ()
    held: bool = False
    battery: int = 100
    confidence: float | None = None
    done_at: datetime | None = None
    heard_at: datetime | None = None
    called: datetime | None = None
    waiting: bool = False
    aside: bool = False
    nudged: bool = False
    unclear: int = 0


@dataclass(frozen=True)
class State:
    """The job and the moment."""

    job: Job = field(default_factory=Job)
    moment: Moment = field(default_factory=Moment)


def rests_on(sum_: record.Calculated, said: Said) -> bool:
    """Return whether an answer was worked out with a value that was said."""
    return said.of == FACT and sum_.inputs.get(said.name.split(" ")[0]) == said.value


def rework_key(place: Place) -> str:
    """Return what the passes of a rework are counted by: the step that is done again."""
    return f"{place[-1].procedure}/{place[-1].step}" if place else ""
