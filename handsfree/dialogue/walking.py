"""Walking a procedure: saying the step in hand, closing it, and coming to an end."""

from __future__ import annotations

from dataclasses import replace

from handsfree.dialogue import places, requests
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.knowing import known
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import Band, Filling, as_written
from handsfree.errors import Refusal
from handsfree.procedures.model import Step
from handsfree.quantity import Reading, written
from handsfree.record import entries as record


def prompt(turn: Turn) -> None:
    """Say what the step in hand asks, passing through steps that ask nothing."""
    while turn.job.place:
        step = step_in_hand(turn.state, turn.library)
        if step is None:
            return
        if step.kind == "call":
            close(turn, step, "called", say_next=False)
            continue
        if step.kind == "fact" and _fact_known(turn, step):
            close(turn, step, "fact", say_next=False)
            continue
        if not _applies(turn, step):
            _move(turn, step, turn.library.procedures[turn.job.place[-1].procedure].after(step))
            continue
        _say_step(turn, step)
        return


def _applies(turn: Turn, step: Step) -> bool:
    return all(turn.job.fact(name) == value for name, value in step.only_if.items())


def _fact_known(turn: Turn, step: Step) -> bool:
    size = turn.job.fact("size")
    per = written(size.to("inch")) if isinstance(size, Reading) else ""
    return (turn.job.fact(step.fact) or turn.job.fact(step.fact, per)) is not None


def _move(turn: Turn, step: Step, target: str) -> None:
    """Leave a step that does not apply to this job."""
    place = places.led(turn.job.place, target, turn.library)
    turn.write(record.StepAwaits, procedure=turn.job.place[-1].procedure, step=step.id, place=place)
    finish(turn)


def fillings(turn: Turn, step: Step) -> dict[str, Filling]:
    """Return what fills a step's sentences: facts, values read, and its calculated numbers."""
    found: dict[str, Filling] = {}
    for name, value in turn.job.facts.items():
        if isinstance(value, Reading | str):
            found[name.split(" ")[0]] = value
    for read in turn.job.values.values():
        if isinstance(read.value, Reading | str):
            found[read.name] = read.value
    for name, number in step.numbers.items():
        card = turn.library.cards[number.calculator]
        slots = known(card, dict(number.given), turn.job)
        found[name] = number.without
        if not card.missing(slots):
            try:
                outcome = card.run(slots)
            except Refusal:
                continue
            told = requests.rounded_answers(turn, outcome)
            answers = [one for a in number.answers if isinstance(one := told[a], Reading)]
            found[name] = answers[0] if len(answers) == 1 else Band(answers[0], answers[-1])
    return found


def _say_step(turn: Turn, step: Step) -> None:
    values = fillings(turn, step)
    short = turn.job.facts.get("mode") == "technician"
    if step.caution:
        turn.say_text(step.caution, values)
    said = step.title if short and step.title and step.kind != "stated" else step.say
    if said:
        turn.say_text(said, values)
    if step.note and not short:
        turn.say_text(step.note, values)
    if step.kind == "stated":
        turn.say_text(step.check, values)
        await_phase(turn, step, "state")
    elif step.kind == "fact":
        turn.say_text(turn.library.facts[step.fact].question)
    elif not step.say and step.check:
        turn.say_text(step.check, values)
        await_phase(turn, step, "check" if step.kind == "seen" else "value")
    numbers = [values[name] for name in step.numbers if name in values]
    if numbers:
        turn.number(as_written(numbers[-1]))


def await_phase(turn: Turn, step: Step, phase: str, value: record.Value | None = None) -> None:
    """Write that the step in hand now waits for something else."""
    if turn.job.place[-1].phase == phase and value is None:
        return
    turn.write(
        record.StepAwaits,
        procedure=turn.job.place[-1].procedure,
        step=step.id,
        words=turn.words,
        value=value,
        place=places.at(turn.job.place, phase),
    )


def close(turn: Turn, step: Step, how: str, *, reason: str = "", say_next: bool = True) -> None:
    """Close the step in hand, set what it sets, and say the next one."""
    place = turn.job.place
    turn.write(
        record.StepClosed,
        procedure=place[-1].procedure,
        step=step.id,
        how=how,
        words=turn.words,
        reason=reason,
        place=places.advanced(place, step, turn.library),
    )
    turn.moment = replace(turn.moment, insisted=0)
    for flag in step.sets:
        turn.write(record.FlagSet, flag=flag, evidence=turn.words or step.title)
    finish(turn)
    if say_next:
        prompt(turn)


def finish(turn: Turn) -> None:
    """End every procedure that has come to its end, and say so where nothing is left."""
    for name, place in places.finished(turn.job.place):
        procedure = turn.library.procedures[name]
        made = procedure.makes_joint
        if made:
            values = {read.name: read.value for read in turn.job.values.values()}
            size = turn.job.fact("size")
            if size is not None:
                values = {"size": size, **values}
            turn.write(record.JointMade, number=turn.job.joints + 1, values=values)
        turn.write(record.ProcedureEnded, procedure=name, complete=True, place=place)
        if not place:
            template = "done_all" if turn.job.joints and name != "protect" else "done_plain"
            turn.say(template, procedure=procedure.title, joint=str(turn.job.joints))


def said_time(seconds: float) -> str:
    """Return a stretch of time as it is said: minutes and seconds."""
    whole = round(seconds)
    minutes, rest = divmod(whole, 60)
    parts = []
    if minutes:
        parts.append(f"{minutes} minute" + ("s" if minutes != 1 else ""))
    if rest or not minutes:
        parts.append(f"{rest} second" + ("s" if rest != 1 else ""))
    return " ".join(parts)
