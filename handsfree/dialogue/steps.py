"""Answers to the step in hand: what each one closes, asks again, or leads back to."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from handsfree.calculators.card import Slot
from handsfree.dialogue import places, requests
from handsfree.dialogue.knowing import known
from handsfree.dialogue.meanings import Answer, Value
from handsfree.dialogue.state import rework_key
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.walking import await_phase, close, fillings, finish, prompt, said_time
from handsfree.dialogue.wording import Filling, ReadBack
from handsfree.errors import Refusal
from handsfree.procedures.model import Fault, Procedure, Step
from handsfree.quantity import Reading, written
from handsfree.record import entries as record
from handsfree.record.entries import Place

OKAY_COUNTS = timedelta(seconds=8)
"""How long after the prompt a bare "okay" still means done. Common practice, no source."""
THIRD = 3
MOST_CHOICES = 3


def begin(turn: Turn, procedure: Procedure) -> None:
    """Start a procedure: its facts are asked, what it needs is put before it."""
    missing = [name for name in procedure.facts if turn.job.fact(name) is None]
    if missing:
        question = turn.library.facts[missing[0]].question
        turn.write(
            record.Asked,
            what=f"procedure:{procedure.id}",
            missing=(missing[0],),
            question=question,
            words=turn.words,
        )
        turn.say_text(question)
        return
    if _wrong_size(turn, procedure):
        return
    place: Place = (places.opened(procedure),)
    first = [turn.library.procedures[name] for name in reversed(procedure.before[:1])]
    for needed in first:
        place = (*place, places.opened(needed))
    for flag in _flags_needed(turn, place):
        source = places.setter(flag, turn.library)
        if source is not None:
            place = (*place, places.opened(source))
    turn.write(record.ProcedureStarted, procedure=procedure.id, place=place)
    if place[-1].procedure != procedure.id:
        turn.say("needs_first", procedure=turn.library.procedures[place[-1].procedure].title)
    prompt(turn)


def begin_answered(turn: Turn, answer: Answer) -> None:
    """Take the fact that a procedure asked for, and start it."""
    question = turn.job.question
    if question is None:
        return
    for name, value in answer.slots.items():
        if isinstance(value, Reading | str):
            requests.write_fact(turn, name, value)
    begin(turn, turn.library.procedures[question.what.removeprefix("procedure:")])


def _flags_needed(turn: Turn, place: Place) -> list[str]:
    """Return the states of the work that the opened procedures need and that do not hold."""
    needed: list[str] = []
    for frame in place:
        for flag in turn.library.procedures[frame.procedure].needs:
            if flag not in turn.job.flags and flag not in needed:
                needed.append(flag)
    return needed


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
        confirm(turn, step)
    elif phase == "state":
        _insist(turn, step)
    elif step.kind == "done":
        close(turn, step, "done")
    elif step.kind == "seen":
        await_phase(turn, step, "check")
        turn.say_text(step.check, fillings(turn, step))
    elif step.kind == "value":
        await_phase(turn, step, "value")
        turn.say_text(step.check or turn.library.says["ask_reading"], fillings(turn, step))
    elif step.kind == "hold":
        _hold(turn, step)
    else:
        turn.say_text(turn.library.facts[step.fact].question)


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
        confirm(turn, step)
    elif phase == "state":
        _insist(turn, step)
    elif step.kind == "seen" and phase == "check":
        close(turn, step, "seen")
    else:
        done(turn, step, loose=False)


def no(turn: Turn, step: Step) -> None:
    """Take "no": a value is asked again, a check that failed leads to its fault."""
    phase = turn.job.place[-1].phase
    if phase == "confirm":
        await_phase(turn, step, "value")
        turn.say("say_again_value")
    elif phase == "value":
        turn.say_text(step.check or turn.library.says["ask_reading"], fillings(turn, step))
    elif phase == "act" and step.kind in ("done", "hold"):
        turn.say("stay")
    else:
        failed(turn, step)


def failed(turn: Turn, step: Step) -> None:
    """Take a failure: the one fault there is, or the question which one it is."""
    if not step.faults:
        await_phase(turn, step, "act")
        turn.say("stay" if step.kind in ("done", "seen", "stated") else "no_fault")
    elif len(step.faults) == 1:
        fault(turn, step, step.faults[0])
    else:
        await_phase(turn, step, "branch")
        names = [one.name for one in step.faults[:MOST_CHOICES]]
        turn.say("what_do_you_see", faults=", ".join(names[:-1]) + f" or {names[-1]}")


def fault(turn: Turn, step: Step, found: Fault) -> None:
    """Follow a fault: say what it means, count the pass, and go where it leads."""
    here = turn.job.place
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
    if found.counts and passes == THIRD and owner.third:
        turn.say_text(owner.third)
    finish(turn)
    prompt(turn)


def stated(turn: Turn, step: Step) -> None:
    """Take the words of a challenge: the only thing that closes it."""
    close(turn, step, "stated")


def value(turn: Turn, step: Step, meant: Value) -> None:
    """Take a reading: judge whether it is plausible, read it back, wait for a yes."""
    asked = step.value
    if asked is None:
        return
    reading = meant.reading
    band = asked.band()
    if band is not None:
        low, high = band
        if not low.value <= reading.to(asked.unit).value <= high.value:
            turn.say("value_out", value=reading, low=low, high=high)
            return
    await_phase(turn, step, "confirm", reading)
    verdict, filled, _ = judge(turn, step, reading)
    turn.number(written(reading))
    turn.say_text("{value}.", {"value": ReadBack(reading, meant.heard)})
    if verdict:
        turn.say_text(verdict, filled)
    turn.say("right")


def judge(turn: Turn, step: Step, reading: Reading) -> tuple[str, dict[str, Filling], str]:
    """Return what a calculator says of a reading: its sentence, what fills it, and its name."""
    asked = step.value
    nothing: tuple[str, dict[str, Filling], str] = ("", {}, "")
    if asked is None or not asked.judge:
        return nothing
    card = turn.library.cards[asked.judge]
    given: dict[str, Slot] = {**asked.judge_with, asked.judge_slot: reading}
    slots = known(card, given, turn.job)
    if card.missing(slots):
        return nothing
    words = turn.library.words[card.id]
    fillings = requests.fillings_of(turn, card, slots)
    try:
        if card.guard is not None:
            card.guard(slots)
        outcome = card.run(slots)
    except Refusal as refusal:
        return words.refusals[refusal.key], fillings, refusal.key
    fillings |= requests.told_answers(turn, outcome)
    return words.sentences[outcome.sentence], fillings, outcome.sentence


def confirm(turn: Turn, step: Step) -> None:
    """Take the yes to a reading: write it, and go on, or to the fault that it shows."""
    asked, pending = step.value, turn.job.pending
    if asked is None or not isinstance(pending, Reading):
        return
    place = turn.job.place[-1]
    turn.write(
        record.ValueRead,
        procedure=place.procedure,
        step=step.id,
        name=asked.name,
        value=pending,
        words=turn.words,
        confirmed=turn.words,
    )
    *_, verdict = judge(turn, step, pending)
    shown = asked.fault_sentences.get(verdict)
    for one in step.faults:
        if one.name == shown:
            fault(turn, step, one)
            return
    close(turn, step, "value")


def fact(turn: Turn, step: Step, answer: Answer) -> None:
    """Take the fact that a step asks for."""
    for name, held in answer.slots.items():
        if isinstance(held, Reading | str):
            requests.write_fact(turn, name, held, turn.job.fact("size"))
    close(turn, step, "fact")


def skip(turn: Turn, step: Step) -> None:
    """Take "skip": never past a stated state or a value that must be read."""
    must = step.value is not None and step.value.must
    if step.kind in ("stated", "fact") or must:
        turn.say("not_allowed_to_skip")
        return
    await_phase(turn, step, "reason")
    turn.say("skip_reason")


def skipped(turn: Turn, step: Step, reason: str) -> None:
    """Close a step without doing it, with the reason why."""
    turn.say("skipped")
    close(turn, step, "skipped", reason=reason)


def _hold(turn: Turn, step: Step) -> None:
    """Start a hold, tell what is left of it, or close it when it is over."""
    name = step.timer or step.title.rstrip(".")
    running = turn.job.timers.get(name)
    seconds = float((step.minutes or 0) * 60)
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
