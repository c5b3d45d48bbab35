"""What is kept of what was said: facts of the job, and the profile of a bender."""

from __future__ import annotations

from collections.abc import Mapping

from handsfree.calculators.card import Card, Slot
from handsfree.dialogue.knowing import bender_for
from handsfree.dialogue.state import fact_key, size_key
from handsfree.dialogue.turn import Turn
from handsfree.quantity import Reading
from handsfree.record import entries as record


def keep_answered(
    turn: Turn, card: Card, slots: Mapping[str, Slot], question: record.Asked
) -> None:
    """Write what was answered and holds for the whole job as facts of the job."""
    size = slots.get("size", question.slots.get("size", turn.job.facts.get("size")))
    for name, value in slots.items():
        parameter = card.by_name[name]
        if isinstance(value, tuple):
            continue
        if "fact" in parameter.origins:
            write_fact(turn, name, value, size)
        elif "bender" in parameter.origins and isinstance(size, Reading):
            write_bender(turn, size, {name: value})


def write_fact(turn: Turn, name: str, value: Reading | str, size: object = None) -> None:
    """Write a fact of the job, for this tube size where it is kept by size or of a bender."""
    fact = turn.library.facts[name]
    if fact.bender and isinstance(size, Reading):
        write_bender(turn, size, {name: value})
        return
    per = size_key(size) if fact.per == "size" and isinstance(size, Reading) else ""
    if fact.per == "worker":
        per = turn.job.worker
    turn.write(record.FactSet, name=fact_key(name, per), value=value, words=turn.words)


def held(turn: Turn, name: str) -> Reading | str | None:
    """Return what the job knows of a fact: as such, for its tube size, or of its bender."""
    size = turn.job.fact("size")
    per = size_key(size) if isinstance(size, Reading) else ""
    found = turn.job.fact(name) or turn.job.fact(name, per)
    bender = bender_for(size, turn.job)
    if found is None and bender is not None:
        found = bender.profile.get(name)
    return found if isinstance(found, Reading | str) else None


def refuse_outside(turn: Turn, given: Mapping[str, Slot]) -> bool:
    """Refuse a fact that lies outside its plausible band, saying the band; return whether one did.

    Nothing that was told with it is kept.
    """
    for name, value in given.items():
        band = turn.library.facts[name].outside(value)
        if band is not None and isinstance(value, Reading):
            turn.write(record.Refused, what=name, reason="out of range", words=turn.words)
            turn.say("value_out", value=value, low=band[0], high=band[1])
            return True
    return False


def write_bender(turn: Turn, size: Reading, values: Mapping[str, Reading | str]) -> None:
    """Write these values into the profile of the bender for a tube size; the rest of it stays."""
    held = bender_for(size, turn.job)
    known_before = {} if held is None else held.profile
    new = {
        name: value == "yes" if isinstance(value, str) else value for name, value in values.items()
    }
    turn.write(record.BenderSet, size=size, **{**known_before, **new})
