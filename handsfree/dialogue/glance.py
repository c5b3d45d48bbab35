"""What a glance at the board gives: where the work stands and what can be said, from the state.

A pure function of state and library, so that every board shows the same, and shows it again after
a reload. Time comes only as the moments at which timers end; whoever shows them counts down.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from handsfree.dialogue import summary, walking
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.results import last_sketch, told_answers
from handsfree.dialogue.state import Job, Made, State
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import Filling, as_written, render, written_out
from handsfree.language.expansions import sentences
from handsfree.language.grammar import parse_phrase
from handsfree.library import Library
from handsfree.procedures.model import Procedure, Step
from handsfree.quantity import units
from handsfree.record.entries import Value, as_slots

MOST_SAYINGS, MOST_FAULTS, MOST_READ, MOST_JOINTS = 9, 3, 6, 12
"""How many ways to answer, faults among them, values read and joints a glance can hold."""
_MEASURE = re.compile(r"(?P<number>.*\d)\s+(?P<unit>[^\d\s]+)")


@dataclass(frozen=True, slots=True)
class Saying:
    """Something that can be said now.

    An `answer` is what the step or the question waits for; something `else` may be said as well.
    What states a safe condition, and what is read off the work, is to be `said` and has no button:
    a glove on the glass proves nothing.
    """

    text: str
    how: Literal["answer", "else", "said"] = "else"


@dataclass(frozen=True, slots=True)
class Running:
    """A timer: its name, when it ends, and how long it runs in all, in seconds."""

    name: str
    ends: datetime
    seconds: float


@dataclass(frozen=True, slots=True)
class Read:
    """A value that was read in this job, as written, with its name."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Joint:
    """A joint that is finished, as the record has it: nothing is taken as done that it lacks.

    `kind` tells how it was made ("flared"), with its size; `torque` is what the wrench said.
    `inspected` is "accepted" where a check outside its limit was let pass with a reason; `tested`
    tells that the pressure test that holds now was passed after it.
    """

    number: int
    kind: str
    torque: str
    inspected: Literal["yes", "accepted", "no"]
    tested: bool


@dataclass(frozen=True, slots=True)
class Glance:
    """What a glance gives. Texts are as written; what there is none of is empty.

    `number` and `unit` are the last number and its unit. `step` of `steps` counts from 1, and is 0
    where no procedure is in hand. `waits` is what the step in hand takes the next answer as.
    `made` are the last of the `joints`, the latest first.
    """

    job: str = ""
    worker: str = ""
    stage: str = ""
    procedure: str = ""
    step: int = 0
    steps: int = 0
    title: str = ""
    sentence: str = ""
    check: str = ""
    caution: str = ""
    waits: str = ""
    question: str = ""
    number: str = ""
    unit: str = ""
    heard: str = ""
    joints: int = 0
    made: tuple[Joint, ...] = ()
    timers: tuple[Running, ...] = ()
    sayings: tuple[Saying, ...] = ()
    parked: tuple[str, ...] = ()
    states: tuple[str, ...] = ()
    read: tuple[Read, ...] = ()
    paused: bool = False
    held: bool = False


def glance(state: State, at: datetime, library: Library) -> Glance:
    """Return what a glance gives in this state; `at` is only for the turn that fills sentences."""
    job = state.job
    turn = Turn(state, library, at)
    number, unit = _measure(state.moment.number or _last_number(turn))
    left = summary.stages_left(job, library) if job.complete or job.stages else []
    step = step_in_hand(state, library)
    place: dict[str, str | int] = {}
    if step is not None:
        procedure = library.procedures[job.place[-1].procedure]
        values = walking.fillings(turn, step)
        place = {
            "procedure": procedure.title,
            "step": procedure.steps.index(step) + 1,
            "steps": len(procedure.steps),
            "title": step.title,
            "sentence": _filled(step.say or step.title, values),
            "check": _filled(_check(step, library), values),
            "caution": _filled(step.caution, values),
            "waits": job.place[-1].phase,
        }
    return Glance(
        job=job.name,
        worker=job.worker,
        stage=left[0][1].title if left else "",
        question=job.question.question if job.question is not None else "",
        number=number,
        unit=unit,
        heard=state.moment.heard,
        joints=job.joints,
        made=tuple(_joints(job, library)),
        timers=tuple(_timers(job)),
        sayings=tuple(dict.fromkeys(_sayings(state, step, library)))[:MOST_SAYINGS],
        parked=tuple(library.procedures[one[0].procedure].title for one in job.parked),
        states=tuple(library.flags[flag].title for flag in job.flags if flag in library.flags),
        read=tuple(_read(job))[-MOST_READ:],
        paused=job.paused,
        held=state.moment.held,
        **place,  # type: ignore[arg-type] # every name and type stands above
    )


def drawing(job: Job, library: Library) -> str:
    """Return the drawing of the last piece that was asked about, as SVG, or nothing."""
    sketch = last_sketch(reversed(job.sums.values()), library)
    return "" if sketch is None else sketch.svg()


def _filled(template: str, values: Mapping[str, Filling]) -> str:
    return written_out(render(template, values)) if template else ""


def _check(step: Step, library: Library) -> str:
    """Return what is asked at a step."""
    if step.kind == "fact":
        return library.facts[step.fact].question
    if step.kind == "value":
        return step.check or library.says["ask_reading"]
    return step.check


def _measure(text: str) -> tuple[str, str]:
    """Return a written reading as its number and its unit."""
    found = _MEASURE.fullmatch(text)
    return (found["number"], found["unit"]) if found else (text, "")


def _last_number(turn: Turn) -> str:
    """Return the last number of the record as it was told, for a job that is opened again."""
    calculated = turn.job.calculated
    card = turn.library.cards.get(calculated.calculator) if calculated is not None else None
    if calculated is None or card is None:
        return ""
    inputs = as_slots(calculated.inputs)
    told = list(told_answers(turn, card.run(inputs)).values())
    return as_written(told[-1]) if told else ""


def _timers(job: Job) -> Iterator[Running]:
    for name, timer in job.timers.items():
        ends = datetime.fromtimestamp(timer.at.timestamp() + timer.seconds, timer.at.tzinfo)
        yield Running(name, ends, timer.seconds)


def _read(job: Job) -> Iterator[Read]:
    for value in job.values.values():
        yield Read(value.name.replace("_", " "), _value_written(value.value))


def _joints(job: Job, library: Library) -> Iterator[Joint]:
    """Yield the last joints, the latest first."""
    looks = {
        procedure.id: [f"{procedure.id}/{step.id}" for step in procedure.steps if step.inspects]
        for procedure in library.procedures.values()
        if job.made and procedure.part_of_joint
    }
    for made in job.made[: -MOST_JOINTS - 1 : -1]:
        yield _joint(made, looks, job, library)


def _joint(made: Made, looks: Mapping[str, list[str]], job: Job, library: Library) -> Joint:
    entry = made.entry
    maker = library.procedures.get(entry.procedure)
    size, torque = entry.values.get("size"), entry.values.get("torque")
    kind = maker.makes_joint if maker is not None else entry.procedure
    passed = job.flags.get("tested")
    return Joint(
        number=entry.number,
        kind=" ".join(
            part for part in (kind, "" if size is None else _value_written(size)) if part
        ),
        torque="" if torque is None else _value_written(torque),
        inspected=_inspected(made, looks),
        tested=passed is not None and passed.at >= entry.at,
    )


def _inspected(made: Made, looks: Mapping[str, list[str]]) -> Literal["yes", "accepted", "no"]:
    """Return whether the work of a joint was looked at, and after the last work on its tube.

    `looks` are the steps that look, by each procedure that is part of a joint. A joint whose own
    procedure looks at it is not inspected by what another one looked at.
    """
    own = looks.get(made.entry.procedure)
    order = list(made.steps)
    shaped = 0
    if not own:
        for place, name in enumerate(order, start=1):
            procedure = name.partition("/")[0]
            if procedure != made.entry.procedure and looks.get(procedure) == []:
                shaped = place
    for steps in [own] if own else filter(None, looks.values()):
        since = order[shaped:]
        hows = {made.steps[step] for step in steps if step in since}
        if all(step in since for step in steps) and hows <= {"seen", "value", "accepted"}:
            return "accepted" if "accepted" in hows else "yes"
    return "no"


def _value_written(value: Value) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return as_written(value)


def _sayings(state: State, step: Step | None, library: Library) -> Iterator[Saying]:
    """Yield what can be said now, the likeliest first."""
    titles = {name: command.title for name, command in library.commands.items()}
    if state.job.paused:
        yield Saying(titles["resume"], "answer")
        return
    question = state.job.question
    if question is not None:
        yield from (Saying(choice, "answer") for choice in question.choices)
        yield from _options(question.what, question.missing, library)
        yield from (Saying(titles[name]) for name in ("repeat", "leave"))
    elif step is not None:
        yield from _to_step(step, state.job.place[-1].phase, library, titles)
        yield from (Saying(_sample(fault.words[0])) for fault in step.faults[:MOST_FAULTS])
        yield from (Saying(titles[name]) for name in ("repeat", "why", "back"))
    else:
        yield from (Saying(f"back to the {name}", "answer") for name in _parked(state.job, library))
        yield from (Saying(_first(one)) for one in _next_procedures(state.job, library))
        yield Saying(titles["job_left"])
    if state.moment.number:
        yield Saying(titles["number_again"])


def _options(what: str, missing: tuple[str, ...], library: Library) -> Iterator[Saying]:
    """Yield the choices that a question for one fact or one option has."""
    if len(missing) != 1:
        return
    fact = library.facts.get(missing[0])
    words = fact.options if fact is not None else {}
    card = library.cards.get(what)
    if card is not None:
        words = library.words[card.id].options.get(missing[0], words)
    yield from (Saying(ways[0], "answer") for ways in words.values() if ways)


def _to_step(
    step: Step, phase: str, library: Library, titles: Mapping[str, str]
) -> Iterator[Saying]:
    """Yield what answers a step in this phase."""
    if phase == "confirm" and step.value is not None and step.value.repeated:
        yield Saying(library.says["board_repeated"], "said")
        yield Saying(titles["wrong"], "answer")
    elif phase == "confirm":
        yield from (Saying(titles[name], "answer") for name in ("yes", "wrong"))
    elif phase == "state":
        yield from (Saying(_sample(text), "said") for text in step.states[:1])
    elif phase == "check":
        yield from (Saying(titles[name], "answer") for name in ("yes", "no"))
    elif step.kind in ("done", "seen"):
        yield Saying(titles["done"], "answer")
    elif step.kind == "hold":
        yield Saying(titles["how_long"])
    elif step.kind == "fact":
        yield from _options("", (step.fact,), library)
    elif step.value is not None and step.value.kind == "words":
        yield Saying(library.says["board_words"], "said")
    elif step.value is not None:
        symbol = units()[step.value.unit].symbol
        template = library.says["board_value" if symbol else "board_count"]
        yield Saying(template.format(kind=step.value.kind, unit=symbol), "said")


def _sample(text: str) -> str:
    """Return the first sentence of a phrase."""
    return " ".join(next(sentences(parse_phrase(text), {})))


def _first(procedure: Procedure) -> str:
    """Return the first sentence that begins a procedure."""
    return _sample(procedure.phrases[0])


def _parked(job: Job, library: Library) -> list[str]:
    return [library.procedures[place[0].procedure].names[0] for place in job.parked]


def _next_procedures(job: Job, library: Library) -> Iterator[Procedure]:
    """Yield the procedures of the next stages that can be begun by their own words."""
    for _, stage in summary.stages_left(job, library):
        for name in stage.procedures:
            procedure = library.procedures.get(name)
            if procedure is not None and procedure.phrases and name not in job.complete:
                yield procedure
