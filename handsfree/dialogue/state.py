"""Where the conversation stands: the fold of the record, and the moment that is not recorded."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from handsfree.dialogue.manner import turned
from handsfree.quantity import Reading, written
from handsfree.record import entries as record
from handsfree.record.entries import Entry, Place, Value

TRAIL = 10
"""How many steps can be opened again, one after the other."""


HEARD = "heard"
"""What a question is about that asks which of two sentences or readings was meant."""


STAYS_OPEN = timedelta(minutes=2)
"""How long a question waits while another one is asked. Common practice, no source."""


@dataclass(frozen=True)
class Job:
    """A job as its record tells it. `fold` is the only thing that changes one."""

    name: str = ""
    worker: str = ""
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
    trail: tuple[tuple[str, str, Place], ...] = ()
    values: Mapping[str, record.ValueRead] = field(default_factory=dict)
    passes: Mapping[str, int] = field(default_factory=dict)
    joints: int = 0
    question: record.Asked | None = None
    beneath: record.Asked | None = None
    timers: Mapping[str, record.TimerStarted] = field(default_factory=dict)
    settings: Mapping[str, int] = field(default_factory=dict)
    calculated: record.Calculated | None = None
    calculated_at: int = 0
    sums: dict[str, record.Calculated] = field(default_factory=dict)
    paused: bool = False
    last: datetime | None = None

    def fact(self, name: str, per: str = "") -> Value | None:
        """Return a fact of the job; `per` is the value that it is kept for, as written."""
        return self.facts.get(fact_key(name, per))


def fact_key(name: str, per: str = "") -> str:
    """Return the name under which a fact is kept: `maker_torque`, `maker_torque 3/8 in`."""
    return f"{name} {per}".strip()


def size_key(size: Reading) -> str:
    """Return the name of a tube size: its outside diameter in inches, as written."""
    return written(size.to("inch"))


@dataclass(frozen=True)
class Moment:
    """What matters now and is not worth a record: the last words, and when they ended.

    `held` tells that entries wait in memory since the record cannot be written.
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


@dataclass(frozen=True)
class State:
    """The job and the moment."""

    job: Job = field(default_factory=Job)
    moment: Moment = field(default_factory=Moment)


def _answered(job: Job, entry: record.Calculated) -> Job:
    sums = {name: sum_ for name, sum_ in job.sums.items() if name != entry.calculator}
    sums[entry.calculator] = entry  # the latest stands last
    return replace(
        job,
        question=_still_open(job, entry),
        beneath=None,
        calculated=entry,
        calculated_at=job.entries,
        sums=sums,
    )


def fold(job: Job, entry: Entry) -> Job:  # noqa: C901, PLR0912 - one arm for each kind of entry
    """Return the job after an entry."""
    job = replace(job, entries=job.entries + 1, last=entry.at)
    match entry:
        case record.JobOpened():
            return replace(job, name=entry.job)
        case record.WorkerNamed():
            return replace(job, worker=entry.name)
        case record.FactSet():
            left_open = tuple(name for name in job.open_facts if name != entry.name.split()[0])
            facts = {**job.facts, entry.name: entry.value}
            return replace(job, facts=facts, open_facts=left_open)
        case record.FactOpen():
            return replace(job, open_facts=tuple(dict.fromkeys((*job.open_facts, entry.name))))
        case record.BenderSet():
            return replace(job, benders={**job.benders, size_key(entry.size): entry})
        case record.FlagSet():
            return replace(job, flags={**job.flags, entry.flag: entry})
        case record.FlagCleared():
            left = {name: flag for name, flag in job.flags.items() if name != entry.flag}
            return replace(job, flags=left)
        case record.ProcedureStarted():
            return replace(
                job, place=entry.place, pending=None, question=None, beneath=None, trail=()
            )
        case record.StepClosed():
            trail = (*job.trail, (entry.procedure, entry.step, job.place))[-TRAIL:]
            skipped = job.skipped
            if entry.how == "skipped":
                skipped = (*skipped, (entry.procedure, entry.step, entry.reason))
            return replace(job, place=entry.place, pending=None, trail=trail, skipped=skipped)
        case record.StageClosed():
            return replace(job, stages=tuple(dict.fromkeys((*job.stages, entry.stage))))
        case record.StepAwaits():
            return replace(job, place=entry.place, pending=entry.value)
        case record.ValueRead():
            name = f"{entry.procedure}/{entry.name}"
            return replace(job, values={**job.values, name: entry})
        case record.Reworked():
            passes = {**job.passes, rework_key(entry.place): entry.passes}
            return replace(job, place=entry.place, pending=None, passes=passes, trail=())
        case record.Reopened():
            values = {k: v for k, v in job.values.items() if k not in entry.stale}
            return replace(
                job, place=entry.place, pending=None, trail=job.trail[:-1], values=values
            )
        case record.ProcedureEnded():
            trail = () if not entry.place else job.trail
            complete = job.complete
            if entry.complete:
                complete = {**complete, entry.procedure: complete.get(entry.procedure, 0) + 1}
            return replace(job, place=entry.place, pending=None, trail=trail, complete=complete)
        case record.ProcedureParked():
            parked = (*job.parked, entry.place)
            return replace(job, place=(), parked=parked, pending=None, trail=())
        case record.ProcedureTaken():
            rest = tuple(one for one in job.parked if one[0].procedure != entry.procedure)
            return replace(job, place=entry.place, parked=rest, pending=None, trail=())
        case record.JointMade():
            values = {name: read for name, read in job.values.items() if name not in entry.read}
            return replace(job, joints=entry.number, passes={}, values=values)
        case record.Asked():
            held = job.question if entry.what == HEARD else None
            beneath = job.beneath if held is not None and held.what == HEARD else held
            return replace(job, question=entry, beneath=beneath)
        case record.AskedDropped():
            return replace(job, question=job.beneath, beneath=None)
        case record.Calculated():
            return _answered(job, entry)
        case record.Refused():
            return replace(job, question=None, beneath=None)
        case record.TimerStarted():
            return replace(job, timers={**job.timers, entry.name: entry})
        case record.TimerEnded():
            return replace(job, timers={n: t for n, t in job.timers.items() if n != entry.name})
        case record.Paused():
            return replace(job, paused=True)
        case record.Resumed():
            return replace(job, paused=False)
        case record.SettingChanged():
            return replace(job, settings=turned(job.settings, entry.value))
        case record.Corrected() | record.Noted():
            return job


def _still_open(job: Job, answered: record.Calculated) -> record.Asked | None:
    """Return the question that stays open when another one was asked and answered in between.

    "What's three hundred mil in inches" may be asked to answer "how far from the end?".
    """
    for question in (job.question, job.beneath):
        if question is not None and question.what not in (HEARD, answered.calculator):
            return question if answered.at - question.at < STAYS_OPEN else None
    return None


def rework_key(place: Place) -> str:
    """Return what the passes of a rework are counted by: the step that is done again."""
    return f"{place[-1].procedure}/{place[-1].step}" if place else ""


def folded(entries: Iterable[Entry]) -> Job:
    """Return the job that a whole record tells."""
    job = Job()
    for entry in entries:
        job = fold(job, entry)
    return job
