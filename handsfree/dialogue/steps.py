"""Answers to the step in hand: what each one closes, asks again, or leads back to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from handsfree.calculators.card import Slot
from handsfree.dialogue import keeping, parking, places, reworks, standing, values, working_out
from handsfree.dialogue.meanings import Answer
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.walking import await_phase, close, fillings, follow, prompt, said_time
from handsfree.procedures.model import Procedure, Step
from handsfree.quantity import Reading
from handsfree.record import entries as record
from handsfree.record.entries import Place

OKAY_COUNTS = timedelta(seconds=8)
"""How long after the prompt a bare "okay" still means done. Common practice, no source."""
FIRST_JOINTS = 3
"""Joints on which an apprentice confirms what was seen at every step. Common practice."""


def begin(turn: Turn, procedure: Procedure) -> None:
    """Start a procedure: its facts are asked, what it needs is put before it.

    What was in hand is parked, unless it leads here itself; a parked one is taken up again.
    """
    if any(place[0].procedure == procedure.id for place in turn.job.parked):
        parking.take(turn, procedure)
        return
    forbidden = next((flag for flag in procedure.without if flag in turn.job.flags), None)
    if forbidden is not None:
        turn.write(record.Refused, what=procedure.id, reason=forbidden, words=turn.words)
        state = turn.library.flags[forbidden].title
        turn.say("not_while", procedure=procedure.title, state=state)
        return
    missing = [name for name in procedure.facts if keeping.held(turn, name) is None]
    if missing:
        _ask_fact(turn, procedure, missing[0])
        return
    if _wrong_size(turn, procedure) or not parking.set_aside(turn, procedure):
        return
    place: Place = (places.opened(procedure),)
    for name in procedure.before[:1]:
        place = (*place, places.opened(turn.library.procedures[name]))
    firm = turn.library.firm_of(procedure.id)
    turn.write(record.ProcedureStarted, procedure=procedure.id, place=place, firm=firm)
    if turn.library.firm is not None and firm:
        turn.say("firm_begins", firm=turn.library.firm.name)
    if len(place) > 1 and standing.missing(turn) is None:
        turn.say("needs_first", procedure=turn.library.procedures[place[-1].procedure].title)
    prompt(turn)


def _ask_fact(turn: Turn, procedure: Procedure, name: str) -> None:
    """Ask for a fact that a procedure cannot begin without."""
    held = turn.library.facts[name]
    if name in turn.job.open_facts:
        turn.say("open_blocks", fact=held.title or name, procedure=procedure.title)
    turn.write(
        record.Asked,
        what=f"procedure:{procedure.id}",
        missing=(name,),
        question=held.question,
        words=turn.words,
    )
    turn.say_text(held.question)


def begin_answered(turn: Turn, answer: Answer) -> None:
    """Take the fact that a procedure asked for, and start it."""
    question = turn.job.question
    if question is None:
        return
    for name, held in answer.slots.items():
        if isinstance(held, Reading | str):
            keeping.write_fact(turn, name, held, turn.job.fact("size"))
    begin(turn, turn.library.procedures[question.what.removeprefix("procedure:")])


def unknown(turn: Turn, step: Step | None) -> None:
    """Take "don't know": the fact stays open where it may, and what needs it waits."""
    question = turn.job.question
    if question is not None and question.what.startswith("procedure:"):
        name = question.missing[0]
        procedure = turn.library.procedures[question.what.removeprefix("procedure:")]
        turn.write(record.FactOpen, name=name, words=turn.words)
        turn.write(record.AskedDropped, what=question.what)
        title = turn.library.facts[name].title or name
        turn.say("open_blocks", fact=title, procedure=procedure.title)
    elif step is not None and step.kind == "fact" and step.may_be_open:
        turn.write(record.FactOpen, name=step.fact, words=turn.words)
        turn.say("left_open", fact=turn.library.facts[step.fact].title or step.fact)
        close(turn, step, "fact")
    elif step is not None and step.kind == "fact":
        turn.say("must_be_known")
    else:
        turn.say("not_understood")


def _wrong_size(turn: Turn, procedure: Procedure) -> bool:
    size = turn.job.fact("size")
    low, high = procedure.smallest_size, procedure.largest_size
    if not isinstance(size, Reading) or low is None or high is None:
        return False
    inches = size.to("inch").value
    if low <= inches <= high:
        return False
    bounds = {"low": Reading(low, "inch", size.kind), "high": Reading(high, "inch", size.kind)}
    turn.write(record.Refused, what=procedure.id, reason="size", words=turn.words)
    turn.say("size_out", procedure=procedure.title, size=size, **bounds)
    return True


def done(turn: Turn, step: Step, *, loose: bool) -> None:
    """Take "done": it finishes an action, and never a check, a value or a stated state."""
    phase = turn.job.place[-1].phase
    ended = turn.moment.prompt_ended
    if loose and ended is not None and turn.at - ended > OKAY_COUNTS:
        return
    if phase == "confirm":
        values.confirm(turn, step)
    elif phase == "state" or step.kind == "stated":
        await_phase(turn, step, "state")
        _insist(turn, step)
    elif step.kind == "done":
        _action_done(turn, step)
    elif step.kind == "seen":
        await_phase(turn, step, "check")
        if step.good and turn.job.mode == "apprentice":
            turn.say_text(step.good, fillings(turn, step))
        turn.say_text(step.check, fillings(turn, step))
    elif step.kind == "value":
        if not values.listed(turn, step):
            await_phase(turn, step, "value")
            turn.say_text(step.check or turn.library.says["ask_reading"], fillings(turn, step))
    elif step.kind == "hold":
        _hold(turn, step)
    else:
        turn.say_text(turn.library.facts[step.fact].question)


def _action_done(turn: Turn, step: Step) -> None:
    """Close an action; an apprentice is asked for what good looks like, on the first joints."""
    apprentice = turn.job.mode == "apprentice"
    asked = apprentice and bool(step.good) and turn.job.joints < FIRST_JOINTS
    if not asked or turn.job.place[-1].phase == "check":
        close(turn, step, "done")
        return
    await_phase(turn, step, "check")
    turn.say_text(step.good, fillings(turn, step))
    turn.say("is_it_so")


def _insist(turn: Turn, step: Step) -> None:
    """Ask a challenge again once, then say which words are needed; after that, wait."""
    count = turn.moment.insisted
    turn.moment = replace(turn.moment, insisted=count + 1)
    if count == 0:
        turn.say_text(step.check, fillings(turn, step))
    elif count == 1:
        turn.say_text(step.insist)
    else:
        turn.say("waiting")


def yes(turn: Turn, step: Step) -> None:
    """Take "yes": it passes a check and confirms a value, and states nothing."""
    phase = turn.job.place[-1].phase
    if phase == "confirm":
        values.confirm(turn, step)
    elif phase == "state":
        _insist(turn, step)
    elif step.kind in ("seen", "done") and phase == "check":
        agreed = working_out.shown_fault(turn, step, step.verdict)
        if agreed is not None:
            follow(turn, step, agreed)
        else:
            close(turn, step, "seen")
    else:
        done(turn, step, loose=False)


def no(turn: Turn, step: Step) -> None:
    """Take "no": a value is asked again, a check that failed leads to its fault."""
    phase = turn.job.place[-1].phase
    if phase == "confirm":
        await_phase(turn, step, "value")
        turn.say("say_again_value")
    elif phase == "value" and values.scratched(turn, step):
        return
    elif phase == "value":
        turn.say_text(step.check or turn.library.says["ask_reading"], fillings(turn, step))
    elif phase == "act" and step.kind in ("done", "hold"):
        turn.say("stay")
    else:
        reworks.failed(turn, step)


def stated(turn: Turn, step: Step) -> None:
    """Take the words of a challenge: the only thing that closes it."""
    close(turn, step, "stated")


def fact(turn: Turn, step: Step, given: Mapping[str, Slot]) -> None:
    """Take the fact that a step asks for, where it is plausible."""
    if keeping.refuse_outside(turn, given):
        return
    for name, held in given.items():
        if isinstance(held, Reading | str):
            keeping.write_fact(turn, name, held, turn.job.fact("size"))
    close(turn, step, "fact")


def skip(turn: Turn, step: Step) -> None:
    """Take "skip": never past a stated state or a value that must be read."""
    must = step.value is not None and step.value.must
    if step.kind in ("stated", "fact") or must or step.sets or step.clears:
        turn.say("not_allowed_to_skip")
        return
    await_phase(turn, step, "reason")
    turn.say("skip_reason")


def accept(turn: Turn, step: Step) -> None:
    """Ask why a check or a reading is accepted outside its limit; never a state that keeps safe."""
    waits = turn.job.place[-1].phase
    read = step.kind == "value" and waits == "confirm"
    if not (step.kind == "seen" or read) or step.sets or step.clears:
        turn.say("never_accepted")
    elif not turn.job.worker:
        turn.say("who_accepts")
    else:
        await_phase(turn, step, "accept", turn.job.pending)
        turn.say("accept_reason")


def accepted(turn: Turn, step: Step, reason: str) -> None:
    """Close a step outside its limit, in the name of who accepts it, with the reason why."""
    if step.value is not None and turn.job.pending is not None:
        values.write_read(turn, step, step.value, turn.job.pending)
    name = turn.job.worker
    turn.say("accepted", name=name)
    close(turn, step, "accepted", reason=f"accepted by {name} outside limit: {reason}")


def skipped(turn: Turn, step: Step, reason: str) -> None:
    """Close a step without doing it, with the reason why."""
    turn.say("skipped")
    close(turn, step, "skipped", reason=reason)


def _hold(turn: Turn, step: Step) -> None:
    """Start a hold, tell what is left of it, or close it when it is over."""
    name = step.timer_name
    running = turn.job.timers.get(name)
    seconds = _lasting(turn, step)
    if seconds is None:
        turn.say("hold_unknown", name=name)
        return
    if running is None:
        turn.write(record.TimerStarted, name=name, seconds=seconds)
        await_phase(turn, step, "hold")
        turn.say("timer_started", name=name, time=said_time(seconds))
        return
    left = running.seconds - (turn.at - running.at).total_seconds()
    if left > 0:
        turn.say("hold_running", time=said_time(left))
        return
    turn.write(record.TimerEnded, name=name, announced=True)
    close(turn, step, "held")


def _lasting(turn: Turn, step: Step) -> float | None:
    """Return how long a hold takes, in seconds; None while nothing says so."""
    if not step.lasts:
        return float((step.minutes or 0) * 60)
    read = turn.job.values.get(f"{turn.job.place[-1].procedure}/{step.lasts}")
    held = read.value if read is not None else turn.job.fact(step.lasts)
    return float(held.to("second").value) if isinstance(held, Reading) else None
