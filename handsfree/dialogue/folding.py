"""The job as the fold of its record: what each entry changes. Nothing else changes a job."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import timedelta

from handsfree.dialogue.manner import turned
from handsfree.dialogue.state import (
    FACT,
    HEARD,
    READ,
    Job,
    Made,
    Said,
    Undone,
    rests_on,
    rework_key,
    size_key,
)
from handsfree.quantity import Reading
from handsfree.record import entries as record
from handsfree.record.entries import Entry, Place, Value

TRAIL = 10
"""How many steps can be opened again, one after the other."""

PROCEDURE = "procedure:"
"""How a question begins that asks for a fact which a procedure needs first."""

STAYS_OPEN = timedelta(minutes=2)
"""How long a question waits while another one is asked. Common practice, no source."""

MOST_OPEN = 3
"""How many unfinished questions are kept; the oldest is let go for a fourth."""


def _answered(job: Job, entry: record.Calculated) -> Job:
    sums = {name: sum_ for name, sum_ in job.sums.items() if name != entry.calculator}
    sums[entry.calculator] = entry  # the latest stands last
    return replace(
        job,
        questions=_still_open(job, entry),
        calculated=entry,
        calculated_at=job.entries,
        sums=sums,
    )


def fold(job: Job, entry: Entry) -> Job:  # noqa: C901, PLR0912, PLR0915 - one arm for each kind of entry
    """Return the job after an entry."""
    job = replace(job, entries=job.entries + 1, last=entry.at)
    match entry:
        case record.JobOpened():
            return replace(job, name=entry.job)
        case record.WorkerNamed():
            workers = tuple(dict.fromkeys((*job.workers, entry.name)))
            return replace(job, worker=entry.name, workers=workers)
        case record.FactSet():
            left_open = tuple(name for name in job.open_facts if name != entry.name.split()[0])
            facts = {**job.facts, entry.name: entry.value}
            said = _said(job, FACT, entry.name, entry.value) if entry.words else job.said
            return replace(job, facts=facts, open_facts=left_open, said=said)
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
                job,
                place=entry.place,
                pending=None,
                questions=(),
                trail=(),
                reopened=(),
                owners={entry.place[0].procedure: entry.worker, **job.owners},
                values=_anew(job, entry.procedure, entry.place[-1].procedure),
            )
        case record.StepClosed():
            trail = (*job.trail, (entry.procedure, entry.step, job.place))[-TRAIL:]
            skipped = job.skipped
            if entry.how == "skipped":
                skipped = (*skipped, (entry.procedure, entry.step, entry.reason))
            name = f"{entry.procedure}/{entry.step}"
            closed = {**job.closed, name: job.entries}
            steps = {key: how for key, how in job.steps.items() if key != name}
            called = entry.place[-1].procedure if entry.how == "called" and entry.place else ""
            return replace(
                job,
                place=entry.place,
                pending=None,
                trail=trail,
                skipped=skipped,
                reopened=(),
                closed=closed,
                steps={**steps, name: entry.how},
                values=_anew(job, called),
            )
        case record.StageClosed():
            return replace(job, stages=tuple(dict.fromkeys((*job.stages, entry.stage))))
        case record.StepAwaits():
            given = _given(job, entry)
            return replace(job, place=entry.place, pending=entry.value, awaited=entry, given=given)
        case record.ValueRead():
            name = f"{entry.procedure}/{entry.name}"
            said = _said(job, READ, name, entry.value)
            return replace(job, values={**job.values, name: entry}, said=said)
        case record.Reworked():
            passes = {**job.passes, rework_key(entry.place): entry.passes}
            return replace(
                job, place=entry.place, pending=None, passes=passes, trail=(), reopened=()
            )
        case record.Reopened():
            return _reopened(job, entry)
        case record.Redone():
            return _redone(job, entry)
        case record.ProcedureEnded():
            trail = () if not entry.place else job.trail
            complete = job.complete
            if entry.complete:
                complete = {**complete, entry.procedure: complete.get(entry.procedure, 0) + 1}
            owners = job.owners
            if not entry.place:
                owners = {name: who for name, who in owners.items() if name != _root(job.place)}
            return replace(
                job,
                place=entry.place,
                pending=None,
                trail=trail,
                complete=complete,
                reopened=job.reopened if entry.place else (),
                owners=owners,
            )
        case record.ProcedureParked():
            parked = (*job.parked, entry.place)
            return replace(job, place=(), parked=parked, pending=None, trail=(), reopened=())
        case record.ProcedureTaken():
            rest = tuple(one for one in job.parked if one[0].procedure != entry.procedure)
            return replace(job, place=entry.place, parked=rest, pending=None, trail=(), reopened=())
        case record.JointMade():
            values = {name: read for name, read in job.values.items() if name not in entry.read}
            made = (*job.made, Made(entry, job.steps))
            return replace(job, joints=entry.number, made=made, steps={}, passes={}, values=values)
        case record.Asked():
            return replace(job, questions=_asked(job, entry))
        case record.AskedDropped():
            return replace(job, questions=job.questions[:-1])
        case record.Calculated():
            return _answered(job, entry)
        case record.Refused():
            about = (HEARD, entry.what, f"{PROCEDURE}{entry.what}")
            kept = tuple(one for one in job.questions if one.what not in about)
            return replace(job, questions=kept)
        case record.TimerStarted():
            return replace(job, timers={**job.timers, entry.name: entry})
        case record.TimerEnded():
            return replace(job, timers={n: t for n, t in job.timers.items() if n != entry.name})
        case record.Paused():
            return replace(job, paused=True)
        case record.Resumed():
            return replace(job, paused=False, stopped=False)
        case record.Stopped():
            return replace(job, paused=False, stopped=True)
        case record.SettingChanged():
            dials = {**job.settings_of, job.worker: turned(job.settings, entry.value)}
            return replace(job, settings_of=dials)
        case record.Corrected():
            return _corrected(job, entry)
        case record.FieldWritten():
            return replace(job, fields={**job.fields, entry.name: job.entries})
        case (
            record.Noted()
            | record.PhotoNamed()
            | record.Signed()
            | record.Overridden()
            | record.ClockDoubted()
        ):
            return job


def _anew(job: Job, *procedures: str) -> Mapping[str, record.ValueRead]:
    """Return the values read, but for those of procedures that begin anew.

    What was read the last time is no reading of this time: a step that counts would use it.
    """
    if not any(read.procedure in procedures for read in job.values.values()):
        return job.values
    return {name: read for name, read in job.values.items() if read.procedure not in procedures}


def _given(job: Job, entry: record.StepAwaits) -> tuple[record.StepAwaits, ...]:
    """Return the entries in which the value that waits was given: for a list, one a reading.

    Reading it back or asking for a reason gives no new one.
    """
    held, before = entry.value, job.pending
    if held is None:
        return ()
    if held == before and job.given:
        return job.given
    if isinstance(held, tuple) and isinstance(before, tuple):
        if held[:-1] == before:
            return (*job.given, entry)
        if before[:-1] == held:
            return job.given[:-1]
    return (entry,)


def _asked(job: Job, entry: record.Asked) -> tuple[record.Asked, ...]:
    """Return the open questions with a new one on top.

    Which of two was meant is settled before anything else is asked, and the same request asked
    again takes its own place, so neither is kept twice.
    """
    below = tuple(one for one in job.questions if one.what not in (HEARD, entry.what))
    return (*below, entry)[-MOST_OPEN:]


def _still_open(job: Job, answered: record.Calculated) -> tuple[record.Asked, ...]:
    """Return the questions that stay open when another one was asked and answered in between.

    "What's three hundred mil in inches" may be asked to answer "how far from the end?".
    """
    return tuple(
        question
        for question in job.questions
        if question.what not in (HEARD, answered.calculator)
        and answered.at - question.at < STAYS_OPEN
    )


def _said(job: Job, of: str, name: str, value: Value) -> tuple[Said, ...]:
    """Return the readings said last, with a new one; a fact read at a step stands once."""
    if not isinstance(value, Reading):
        return job.said
    last = job.said[-1] if job.said else None
    if of == FACT and last is not None and last.of == READ and last.value == value:
        return job.said
    return (*job.said, Said(job.entries, of, name, value))[-TRAIL:]


def _corrected(job: Job, entry: record.Corrected) -> Job:
    """Put a fact or a reading right; answers that rest on the old value no longer count."""
    of, _, name = entry.name.partition(" ")
    old = next((one for one in reversed(job.said) if (one.of, one.name) == (of, name)), None)
    if old is None or not isinstance(entry.value, Reading):
        return job
    said = tuple(replace(one, value=entry.value) if one is old else one for one in job.said)
    if of == READ and name not in job.values:  # it went into a joint
        return replace(job, said=said)
    if of == READ:
        read = job.values[name].model_copy(update={"value": entry.value})
        return replace(job, values={**job.values, name: read}, said=said)
    sums = {key: sum_ for key, sum_ in job.sums.items() if not rests_on(sum_, old)}
    return replace(job, facts={**job.facts, name: entry.value}, sums=sums, said=said)


def _root(place: Place) -> str:
    return place[0].procedure if place else ""


def _reopened(job: Job, entry: record.Reopened) -> Job:
    stale = {name: read for name, read in job.values.items() if name in entry.stale}
    values = {name: read for name, read in job.values.items() if name not in entry.stale}
    step = f"{entry.procedure}/{entry.step}"
    how = job.steps.get(step, "")
    undone = Undone(entry.procedure, entry.step, entry.place, job.place, stale, how)
    return replace(
        job,
        place=entry.place,
        pending=None,
        trail=job.trail[:-1],
        values=values,
        steps={key: how for key, how in job.steps.items() if key != step},
        reopened=(*job.reopened, undone)[-TRAIL:],
    )


def _redone(job: Job, entry: record.Redone) -> Job:
    undone = job.reopened[-1]
    trail = (*job.trail, (entry.procedure, entry.step, undone.place))[-TRAIL:]
    return replace(
        job,
        place=entry.place,
        pending=None,
        trail=trail,
        values={**job.values, **undone.values},
        steps={**job.steps, f"{entry.procedure}/{entry.step}": undone.how},
        reopened=job.reopened[:-1],
    )


def folded(entries: Iterable[Entry]) -> Job:
    """Return the job that a whole record tells."""
    job = Job()
    for entry in entries:
        job = fold(job, entry)
    return job
