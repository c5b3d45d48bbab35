"""Putting a value right that was said earlier: written, told, and what rests on it told too.

What was worked out with the old value no longer counts: the last answer is worked out again, the
others are named.
"""

from __future__ import annotations

from handsfree.calculators.card import Slot
from handsfree.dialogue import keeping, requests, values
from handsfree.dialogue.amended import step_of
from handsfree.dialogue.correcting import said
from handsfree.dialogue.meanings import Amend
from handsfree.dialogue.state import READ, rests_on
from handsfree.dialogue.turn import Turn
from handsfree.record import entries as record


def amend(turn: Turn, meant: Amend) -> None:
    """Write the new value, and say it with "now"; what rests on the old one is told."""
    held, job = meant.said, turn.job
    if meant.value == held.value:
        turn.say("now_value", value=meant.value)
        return
    stale = [one for one in job.sums.values() if rests_on(one, held)]
    again = {one.calculator: _spoken_of(turn, one) for one in stale}
    turn.write(
        record.Corrected,
        corrects=held.number,
        name=f"{held.of} {held.name}",
        value=meant.value,
        words=turn.words,
    )
    turn.say("now_value", value=meant.value)
    step = step_of(held, turn.library) if held.of == READ else None
    if step is not None and step.value is not None:
        if step.value.fact:
            keeping.write_fact(turn, step.value.fact, meant.value, turn.job.fact("size"))
        verdict, filled, _ = values.judge(turn, step, meant.value)
        if verdict:
            turn.say_text(verdict, filled)
    last = job.calculated
    requests.tell_stale(turn, stale, "" if last is None else last.calculator)
    if last is not None and last.calculator in again:
        requests.shaped_already(turn, job.calculated_at)
        requests.again(turn, last.calculator, again[last.calculator])


def _spoken_of(turn: Turn, sum_: record.Calculated) -> dict[str, Slot]:
    """Return the inputs of an answer that were said for it, and not known of the job."""
    card = turn.library.cards[sum_.calculator]
    slots: dict[str, Slot] = record.as_slots(sum_.inputs)
    own = said(card, slots, turn.job)
    return {name: value for name, value in slots.items() if name in own}
