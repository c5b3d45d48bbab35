"""The job in a few sentences: its stages, what is open, what is parked, what was read."""

from __future__ import annotations

from typing import Literal

from handsfree.dialogue.state import Job
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import Filling
from handsfree.library import Library
from handsfree.procedures.model import Stage
from handsfree.record import entries as record

Standing = Literal["done", "open", "blocked"]
MOST_STAGES = 3
"""Stages told at once; a list is longer than the ear holds."""


def stage_standing(name: str, stage: Stage, job: Job) -> Standing:
    """Return how a stage stands: done, open, or blocked by a fact that is not known."""
    if name in job.stages:
        return "done"
    procedures = stage.procedures
    finished = [one for one in procedures if one in job.complete]
    enough = bool(finished) if stage.any_one else len(finished) == len(procedures)
    if procedures and enough:
        return "done"
    return "blocked" if any(fact in job.open_facts for fact in stage.facts) else "open"


def stages_left(job: Job, library: Library) -> list[tuple[str, Stage]]:
    """Return the stages that are not done, in order."""
    return [
        (name, stage)
        for name, stage in library.stages.items()
        if stage_standing(name, stage, job) != "done"
    ]


def ends_stage(entry: record.Entry, job: Job, library: Library) -> bool:
    """Return whether an entry finished a stage of the job, which is as it stands after it."""
    if isinstance(entry, record.StageClosed):
        return True
    return (
        isinstance(entry, record.ProcedureEnded)
        and entry.complete
        and any(
            entry.procedure in stage.procedures and stage_standing(name, stage, job) == "done"
            for name, stage in library.stages.items()
        )
    )


def where(turn: Turn) -> None:
    """Say in which stage the job is, when nothing is in hand."""
    left = stages_left(turn.job, turn.library)
    if not left or not (turn.job.complete or turn.job.stages):
        turn.say("nothing_open")
        return
    position = list(turn.library.stages).index(left[0][0]) + 1
    count = str(len(turn.library.stages))
    turn.say("stage", title=left[0][1].title, position=str(position), count=count)


def left(turn: Turn) -> None:
    """Say which stages come next, and which facts block any of them."""
    still = stages_left(turn.job, turn.library)
    if not still:
        turn.say("all_stages_done")
        return
    titles = ", ".join(stage.title.lower() for _, stage in still[:MOST_STAGES])
    turn.say("stages_left", stages=titles, count=str(len(still)))
    for _, stage in still:
        for fact in stage.facts:
            if fact in turn.job.open_facts:
                title = turn.library.facts[fact].title or fact
                turn.say("open_blocks", fact=title, procedure=stage.title)


def van(turn: Turn) -> None:
    """Say the tools and the material of the next stages, each thing once."""
    named: set[str] = set()
    told = 0
    for _, stage in stages_left(turn.job, turn.library):
        things = [
            *(tool for one in stage.procedures for tool in turn.library.procedures[one].tools),
            *stage.material,
        ]
        fresh = [thing for thing in dict.fromkeys(things) if thing not in named]
        if not fresh or told == MOST_STAGES:
            continue
        named.update(fresh)
        told += 1
        turn.say("van", stage=stage.title, things=", ".join(fresh))
    for read in turn.job.values.values():
        procedure = turn.library.procedures.get(read.procedure)
        asked = procedure.by_id[read.step].value if procedure is not None else None
        if asked is not None and asked.material and not isinstance(read.value, bool):
            turn.say("van_tube", lengths=read.value)
    if not told:
        turn.say("no_tools")


def parked(turn: Turn) -> None:
    """Say what is parked, when nothing is in hand."""
    if not turn.job.place:
        for place in turn.job.parked:
            procedure = turn.library.procedures[place[0].procedure]
            turn.say("parked_still", procedure=procedure.title, name=procedure.names[0])


def tell(turn: Turn) -> None:
    """Say the record as it stands: joints, readings, what was skipped, and what is open."""
    job, library = turn.job, turn.library
    turn.say("record_joints", count=str(job.joints))
    by_procedure: dict[str, list[record.ValueRead]] = {}
    for read in job.values.values():
        by_procedure.setdefault(read.procedure, []).append(read)
    for name, values in by_procedure.items():
        if name not in library.procedures:
            continue
        for read in values:
            if not isinstance(read.value, bool):
                told: Filling = read.value
                what = read.name.replace("_", " ")
                title = library.procedures[name].title
                turn.say("record_value", procedure=title, name=what, value=told)
    for procedure, step, reason in job.skipped:
        title = library.procedures[procedure].by_id[step].title.rstrip(".")
        turn.say("record_skipped", step=title, reason=reason)
    for fact in job.open_facts:
        turn.say("record_open", fact=library.facts[fact].title or fact)
