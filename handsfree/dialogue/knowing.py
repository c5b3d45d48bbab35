"""What the job already knows: facts and bender profiles that fill a request."""

from __future__ import annotations

from fractions import Fraction

from handsfree.calculators.card import Card, Option, Parameter, Slot, Slots
from handsfree.dialogue.state import Job, size_key
from handsfree.quantity import Kind, Reading
from handsfree.record.entries import BenderSet


def known(card: Card, slots: Slots, job: Job) -> dict[str, Slot]:
    """Return the slots, filled from the job's facts and its bender for the tube size.

    A choice that was not made is taken from what was given: who gives the maker's torque means
    the maker's table. Over a usual choice only what was said goes, and never a fact of the job.
    """
    full: dict[str, Slot] = {**slots, **_facts(card, slots, job)}
    full = {**_of_bender(card, full, job), **full}
    for parameter in card.parameters:
        if parameter.name not in full and "earlier" in parameter.origins:
            full.update(_earlier(card, parameter.name, job))
    for parameter in card.parameters:
        condition = parameter.only_if
        if condition is None or parameter.name not in full or condition.parameter in full:
            continue
        other = card.by_name[condition.parameter]
        chosen = parameter.name in slots or getattr(other, "default", None) is None
        if isinstance(other, Option) and chosen and len(condition.values) == 1:
            full[condition.parameter] = condition.values[0]
    return full


def _of_bender(card: Card, slots: Slots, job: Job) -> dict[str, Slot]:
    """Return what the profile of the bender for the tube size gives a card."""
    bender = bender_for(slots.get("size", job.facts.get("size")), job)
    found: dict[str, Slot] = {}
    for parameter in card.parameters:
        if bender is not None and "bender" in parameter.origins:
            held = bender.profile.get(parameter.name)
            if isinstance(held, bool):
                found[parameter.name] = "yes" if held else "no"
            elif held is not None:
                found[parameter.name] = held
    return found


def _earlier(card: Card, name: str, job: Job) -> dict[str, Slot]:
    """Return what this card answered last for a parameter of this name, if it did."""
    last = job.sums.get(card.id)
    value = last.answers.get(name) if last is not None else None
    return {} if value is None or isinstance(value, bool) else {name: value}


def _facts(card: Card, slots: Slots, job: Job) -> dict[str, Slot]:
    """Return what the job's facts give for a card's open parameters."""
    found: dict[str, Slot] = {}
    size = slots.get("size", job.facts.get("size"))
    per = size_key(size) if isinstance(size, Reading) else ""
    for parameter in card.parameters:
        if parameter.name not in slots and "fact" in parameter.origins:
            value = job.fact(parameter.name) or job.fact(parameter.name, per)
            if isinstance(value, Reading | str):
                found[parameter.name] = value
    return found


def bender_for(size: object, job: Job) -> BenderSet | None:
    """Return the job's bender profile for a tube size, or None."""
    return job.benders.get(size_key(size)) if isinstance(size, Reading) else None


def preset(parameter: Parameter, text: str) -> Reading:
    """Return a reading that a phrase implies (`angle = "90"`, `value = "1 bar"`)."""
    number, _, unit = text.partition(" ")
    assumed = parameter.assume if parameter.assume not in (None, "tape") else parameter.unit
    return Reading(Fraction(number), unit or str(assumed), Kind(parameter.kind))
