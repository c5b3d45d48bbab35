"""Walking a procedure: saying the step in hand, closing it, and coming to an end."""

from __future__ import annotations

from dataclasses import replace

from handsfree.dialogue import keeping, places, standing, summary, working_out
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.manner import WORDS
from handsfree.dialogue.state import rework_key
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import Filling, as_written
from handsfree.procedures.model import Fault, Step, Value
from handsfree.quantity import Reading
from handsfree.record import entries as record

THIRD = 3
"""The pass at which it is asked whether the tool or the tube is to blame."""


def prompt(turn: Turn) -> None:
    """Say what the step in hand asks, passing through steps that ask nothing.

    What the procedure in hand needs and does not hold comes before it.
    """
    while turn.job.place:
        standing.require(turn)
        step = step_in_hand(turn.state, turn.library)
        if step is None:
            return
        if not applies(turn, step):
            _move(turn, step, turn.library.procedures[turn.job.place[-1].procedure].after(step))
            continue
        if step.kind == "halt":
            _halt(turn, step)
            return
        if step.kind == "call":
            close(turn, step, "called", say_next=False)
            continue
        if step.kind == "fact" and keeping.held(turn, step.fact) is not None:
            close(turn, step, "fact", say_next=False)
            continue
        _say_step(turn, step)
        return


def _halt(turn: Turn, step: Step) -> None:
    """Say why the work ends here, and leave everything that is open."""
    here = turn.job.place[-1].procedure
    turn.say_text(step.say, fillings(turn, step))
    standing.closed(turn, step)
    turn.write(record.Refused, what=here, reason=step.title or step.say, words=turn.words)
    turn.write(record.ProcedureEnded, procedure=here, complete=False, place=())


def applies(turn: Turn, step: Step) -> bool:
    """Return whether a step is one for this job and who works: by facts, and the day's joints."""
    last, who = turn.job.last_joint, turn.job.worker
    if step.first_joint and last is not None and last.date() == turn.at.date():
        return False
    held = {name: turn.job.fact(name, who) or turn.job.fact(name) for name in step.only_if}
    return held == dict(step.only_if)


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
        if not isinstance(read.value, bool):
            found[read.name] = read.value
    for name, number in step.numbers.items():
        found[name] = working_out.number(turn, number)
    return found


def title(turn: Turn, step: Step) -> str:
    """Return what a step is called, its numbers filled in."""
    text = step.title or step.say or step.check
    for name, value in fillings(turn, step).items():
        text = text.replace("{" + name + "}", as_written(value))
    return text.rstrip(".")


def name_step(turn: Turn, step: Step) -> None:
    """Say which step is in hand, by its number and title, and nothing more."""
    steps = turn.library.procedures[turn.job.place[-1].procedure].steps
    turn.say("step_short", position=str(steps.index(step) + 1), title=title(turn, step))


def _say_step(turn: Turn, step: Step) -> None:
    values = fillings(turn, step)
    short = turn.job.mode == "technician" or turn.job.settings.get(WORDS.name, 0) < 0
    if step.caution:
        turn.say_text(step.caution, values)
    offered = _offers_why(turn, step)
    said = step.title if short and step.title and step.kind != "stated" else step.say
    if said:
        turn.say_text(said, values)
    if step.note and not short:
        turn.say_text(step.note, values)
    if step.tells == "record":
        summary.tell(turn)
    if offered:
        turn.say("why_offer")
    _ask(turn, step, values)
    numbers = [values[name] for name in step.numbers if name in values]
    if numbers:
        turn.number(as_written(numbers[-1]))


def _ask(turn: Turn, step: Step, values: dict[str, Filling]) -> None:
    """Ask what the step waits for at once: a state, a fact, a check that stands alone."""
    if step.kind == "stated":
        turn.say_text(step.check, values)
        await_phase(turn, step, "state")
    elif step.kind == "fact":
        turn.say_text(turn.library.facts[step.fact].question)
    elif (held := _known_already(turn, step.value)) is not None and step.value is not None:
        await_phase(turn, step, "confirm", held)
        turn.number(as_written(held))
        if step.value.counted is None:  # what was worked out has just been told
            turn.say_text(_plainly(held), {"value": held})
        turn.say("say_it_back" if step.value.repeated else "right")
    elif (shown := _shown_at_once(turn, step)) is not None:
        follow(turn, step, shown)
    elif not step.say and step.check:
        if step.verdict is not None:
            working_out.tell_verdict(turn, step.verdict)
        turn.say_text(step.check, values)
        await_phase(turn, step, "check" if step.kind == "seen" else "value")


def _known_already(turn: Turn, asked: Value | None) -> Reading | str | tuple[Reading, ...] | None:
    """Return what the job works out or knows of what a step asks for: it is only read back."""
    if asked is None:
        return None
    counted = None if asked.counted is None else working_out.counted(turn, asked.counted)
    return keeping.held(turn, asked.fact) if counted is None and asked.fact else counted


def _offers_why(turn: Turn, step: Step) -> bool:
    """Return whether an apprentice begins a procedure for the first time, and may want reasons."""
    here = turn.library.procedures[turn.job.place[-1].procedure]
    new = here.id not in turn.job.complete and f"{here.id}/{step.id}" not in turn.job.closed
    return turn.job.mode == "apprentice" and bool(step.why) and new and step is here.steps[0]


def _plainly(held: Reading | str | tuple[Reading, ...]) -> str:
    """Return the template that says a value: feet as they stand on a tape."""
    on_tape = isinstance(held, Reading) and held.unit == "foot"
    return "{value:feet}." if on_tape else "{value}."


def _shown_at_once(turn: Turn, step: Step) -> Fault | None:
    """Return the fault that a value shows which cannot be worked out, if any."""
    counted = None if step.value is None else step.value.counted
    return working_out.shown_fault(turn, step, counted)


def await_phase(
    turn: Turn, step: Step, phase: str, value: record.Value | None = None, read_back: str = ""
) -> None:
    """Write that the step in hand now waits for something else, and how a value was read back."""
    if turn.job.place[-1].phase == phase and value is None:
        return
    turn.write(
        record.StepAwaits,
        procedure=turn.job.place[-1].procedure,
        step=step.id,
        words=turn.words,
        value=value,
        read_back=read_back,
        confidence=None if value is None else turn.moment.confidence,
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
    standing.closed(turn, step)
    _hand_over(turn, step)
    finish(turn)
    if say_next:
        prompt(turn)


def _hand_over(turn: Turn, step: Step) -> None:
    """Give the procedure that is called the facts that it needs from this one."""
    for name, given in step.gives.items():
        value: record.Value | None = given
        if given.startswith("{"):
            held = turn.job.values.get(f"{turn.job.place[-2].procedure}/{given[1:-1]}")
            value = None if held is None else held.value
        if isinstance(value, Reading | str) and turn.job.fact(name) != value:
            keeping.write_fact(turn, name, value, turn.job.fact("size"))


def finish(turn: Turn) -> None:
    """End every procedure that has come to its end, and say so where nothing is left."""
    made = False
    for name, place in places.finished(turn.job.place):
        procedure = turn.library.procedures[name]
        if procedure.makes_joint:
            made = True
            _joint(turn, _way_made(turn, name))
        turn.write(record.ProcedureEnded, procedure=name, complete=True, place=place)
        if not place:
            template = "done_all" if made else "done_plain"
            turn.say(template, procedure=procedure.title, joint=str(turn.job.joints))
            summary.parked(turn)


def follow(turn: Turn, step: Step, found: Fault) -> None:
    """Follow a fault: say what it means, count the pass, and go where it leads."""
    here = turn.job.place
    for flag in found.clears:
        standing.end(turn, flag, found.name)
    standing.begin(turn, found.sets, turn.words or found.name)
    if found.say:
        turn.say_text(found.say, fillings(turn, step))
    if found.stops:
        turn.write(record.Refused, what=here[-1].procedure, reason=found.name, words=turn.words)
        turn.write(record.ProcedureEnded, procedure=here[-1].procedure, complete=False, place=())
        return
    if not found.goto:
        await_phase(turn, step, "act")
        return
    place = places.led(here, found.goto, turn.library)
    passes = turn.job.passes.get(rework_key(place), 1) + (1 if found.counts else 0)
    turn.write(
        record.Reworked,
        procedure=here[-1].procedure,
        step=step.id,
        fault=found.name,
        words=turn.words,
        passes=passes,
        place=place,
    )
    owner = turn.library.procedures[place[0].procedure if len(place) > 1 else here[-1].procedure]
    third = owner.third or turn.library.procedures[here[-1].procedure].third
    if found.counts and passes == THIRD:
        turn.say_text(third)
    finish(turn)
    prompt(turn)


def _way_made(turn: Turn, ending: str) -> str:
    """Return how a joint was made: the outermost of the open procedures that belong to one."""
    procedures = (frame.procedure for frame in turn.job.place)
    return next((one for one in procedures if turn.library.procedures[one].part_of_joint), ending)


def _joint(turn: Turn, procedure: str) -> None:
    """Write a joint down, with everything that was read for it."""
    of_joint = {
        name: read
        for name, read in turn.job.values.items()
        if turn.library.procedures[read.procedure].part_of_joint
    }
    values = {read.name: read.value for read in of_joint.values()}
    size = turn.job.fact("size")
    if size is not None:
        values = {"size": size, **values}
    read = tuple(of_joint)
    tool = turn.job.fact("tool")
    turn.write(
        record.JointMade,
        number=turn.job.joints + 1,
        procedure=procedure,
        tool=tool if isinstance(tool, str) else "",
        passes=max(turn.job.passes.values(), default=1),
        values=values,
        read=read,
    )


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
