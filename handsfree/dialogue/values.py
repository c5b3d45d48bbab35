"""Values of a step: read, judged, read back, confirmed; one, a list of them, or words."""

from __future__ import annotations

from handsfree.calculators.card import Slot
from handsfree.dialogue import keeping, results
from handsfree.dialogue.knowing import known
from handsfree.dialogue.meanings import Value
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.walking import await_phase, close, follow
from handsfree.dialogue.wording import Filling, ReadBack, as_written, render, written_out
from handsfree.errors import Refusal
from handsfree.procedures.model import Step
from handsfree.procedures.model import Value as Asked
from handsfree.quantity import Reading, written
from handsfree.record import entries as record

OVER_LIMIT = "over_limit"
"""The sentence for a reading that is over the fact it is held against."""


def value(turn: Turn, step: Step, meant: Value) -> None:
    """Take a reading: judge whether it is plausible, read it back, wait for a yes."""
    asked = step.value
    if asked is None:
        return
    reading = meant.reading
    band = asked.band()
    if band is not None:
        low, high = band
        if not reading.inside(low, high):
            turn.say("value_out", value=reading, low=low, high=high)
            return
    again = turn.job.place[-1].phase == "confirm" and reading == turn.job.pending
    if asked.repeated and again:
        _confirmed(turn, step, asked, reading)
    elif asked.many:
        _add(turn, step, reading)
    else:
        read_back(turn, step, reading, meant.heard)


def words(turn: Turn, step: Step, text: str) -> None:
    """Take a name, or a number on a label, as it was said, and wait for a yes."""
    read_back(turn, step, text)


def read_back(turn: Turn, step: Step, held: Reading | str, heard: tuple[str, ...] = ()) -> None:
    """Say a value back in another form than it was heard in, and wait for a yes.

    What is made of it is said too.
    """
    told = ReadBack(held, heard) if isinstance(held, Reading) else held
    back = render("{value}.", {"value": told})
    await_phase(turn, step, "confirm", held, written_out(back))
    verdict, filled, _ = judge(turn, step, held)
    turn.number(as_written(held))
    turn.say_sentences(back)
    if verdict:
        turn.say_text(verdict, filled)
    turn.say("say_it_back" if step.value is not None and step.value.repeated else "right")


def _add(turn: Turn, step: Step, reading: Reading) -> None:
    """Put one more reading on the list, and say the sum so far."""
    held = (*_list(turn), reading)
    await_phase(turn, step, "value", held)
    total = Reading(sum(one.to(reading.unit).value for one in held), reading.unit, reading.kind)
    turn.number(written(total))
    turn.say("one_more", value=reading, total=total)


def _list(turn: Turn) -> tuple[Reading, ...]:
    pending = turn.job.pending
    return pending if isinstance(pending, tuple) else ()


def listed(turn: Turn, step: Step) -> bool:
    """Read a list back when "done" was said; return whether there is one."""
    held = _list(turn)
    if step.value is None or not step.value.many or not held:
        return False
    back = render("{value}.", {"value": held})
    await_phase(turn, step, "confirm", held, written_out(back))
    turn.say_sentences(back)
    turn.say("right")
    return True


def scratched(turn: Turn, step: Step) -> bool:
    """Take the last reading off the list; return whether there was one."""
    held = _list(turn)
    if not held:
        return False
    await_phase(turn, step, "value", held[:-1])
    turn.say("taken_off", value=held[-1])
    return True


def judge(turn: Turn, step: Step, held: record.Value) -> tuple[str, dict[str, Filling], str]:
    """Return what is said of a reading: the sentence, what fills it, and its name."""
    asked = step.value
    nothing: tuple[str, dict[str, Filling], str] = ("", {}, "")
    if asked is None or not isinstance(held, Reading):
        return nothing
    limit = keeping.held(turn, asked.at_most) if asked.at_most else None
    if isinstance(limit, Reading) and held.to(limit.unit).value > limit.value:
        return turn.library.says[OVER_LIMIT], {"limit": limit}, OVER_LIMIT
    if not asked.judge:
        return nothing
    card = turn.library.cards[asked.judge]
    given: dict[str, Slot] = {**asked.judge_with, asked.judge_slot: held}
    slots = known(card, given, turn.job)
    if card.missing(slots):
        return nothing
    said = turn.library.words[card.id]
    fillings = results.fillings_of(turn, card, slots)
    try:
        if card.guard is not None:
            card.guard(slots)
        outcome = card.run(slots)
    except Refusal as refusal:
        return said.refusals[refusal.key], fillings, refusal.key
    fillings |= results.told_answers(turn, outcome)
    return said.sentences[outcome.sentence], fillings, outcome.sentence


def write_read(turn: Turn, step: Step, asked: Asked, held: record.Value) -> None:
    """Write a value that was read back, with the words in which it was given.

    Of a list, the words of each reading are kept, and the confidence of the one heard worst.
    """
    given, awaited = turn.job.given, turn.job.awaited
    read_back = "" if awaited is None else awaited.read_back
    turn.write(
        record.ValueRead,
        procedure=turn.job.place[-1].procedure,
        step=step.id,
        name=asked.name,
        value=held,
        words="; ".join(one.words for one in given) or turn.words,
        confirmed=turn.words,
        read_back=read_back or (given[-1].read_back if given else ""),
        confidence=min(
            (one.confidence for one in given if one.confidence is not None), default=None
        ),
        said=None if awaited is None else awaited.at,
    )


def confirm(turn: Turn, step: Step) -> None:
    """Take the yes to a value: write it, and go on, or to the fault that it shows."""
    asked, pending = step.value, turn.job.pending
    if asked is None or pending is None or isinstance(pending, bool):
        return
    if asked.repeated:
        turn.say("say_it_back")
        return
    _confirmed(turn, step, asked, pending)


def _confirmed(turn: Turn, step: Step, asked: Asked, pending: record.Value) -> None:
    write_read(turn, step, asked, pending)
    if asked.fact and isinstance(pending, Reading | str):
        keeping.write_fact(turn, asked.fact, pending, turn.job.fact("size"))
    *_, verdict = judge(turn, step, pending)
    shown = asked.fault_sentences.get(verdict)
    for one in step.faults:
        if one.name == shown:
            follow(turn, step, one)
            return
    close(turn, step, "value")
