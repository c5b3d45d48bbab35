"""What a request takes from the last answer: "the next one", "what's that in psi"."""

from __future__ import annotations

from dataclasses import replace

from handsfree.calculators.card import Card, Parameter, Slot
from handsfree.dialogue.knowing import known
from handsfree.dialogue.meanings import Request
from handsfree.dialogue.state import State
from handsfree.library import Library
from handsfree.quantity import Kind, Reading

ANY = "any"
"""Follows whatever was answered last, by what it measures and not by its name."""


def following(request: Request, card: Card, owners: tuple[str, ...], state: State) -> Request:
    """Return a request with what it does not say taken from the last answer of these cards.

    What was answered beats what was put in, several readings of one name being answered as
    `leg_1`, `leg_2` and so on; what the job knows now beats both.
    """
    last = next((state.job.sums[name] for name in reversed(state.job.sums) if name in owners), None)
    if last is None:
        return request
    held: dict[str, Slot] = {}
    for parameter in card.parameters:
        name = parameter.name
        several = tuple(
            value
            for number in range(1, len(last.answers) + 1)
            for value in [last.answers.get(f"{name}_{number}")]
            if isinstance(value, Reading)
        )
        value = several or last.answers.get(name, last.inputs.get(name))
        if value is not None and not isinstance(value, bool):
            held[name] = value
    sized = {"size": held["size"]} if "size" in held else {}
    now = known(card, sized, state.job)
    kept = {name: value for name, value in held.items() if name not in now}
    return Request(card.id, {**sized, **kept, **request.slots}, request.unsettled)


def that(request: Request, card: Card, state: State, library: Library) -> Request:
    """Return a request with what was told last put where it fits; as it was where it does not.

    Meant is the number as it was told, since that is what the person heard; of a band, both its
    ends. A temperature says by its kind whether it is a reading or a difference.
    """
    slots_open = [p for p in card.parameters if isinstance(p, Parameter) and not p.unit]
    told = _told(state, library)
    meanings = {_MEANING[one.kind] for one in told if one.kind in _MEANING}
    if meanings and "meaning" in card.by_name:
        told = tuple(Reading(one.value, one.unit, Kind.TEMPERATURE) for one in told)
        request = replace(request, slots={"meaning": meanings.pop(), **request.slots})
    if any(one.kind is not slots_open[0].kind for one in told) or len(told) > len(slots_open):
        return request
    slots: dict[str, Slot] = {p.name: one for p, one in zip(slots_open, told, strict=False)}
    return replace(request, slots={**slots, **request.slots})


_MEANING = {Kind.TEMPERATURE: "reading", Kind.TEMPERATURE_DIFFERENCE: "difference"}


def _told(state: State, library: Library) -> tuple[Reading, ...]:
    """Return the last number told, rounded as it was told; of a band, its two ends."""
    last = state.job.calculated
    if last is None:
        return ()
    rules = {result.name: result.rounding for result in library.cards[last.calculator].results}
    told = {
        name: replace(one, value=library.rounded(rules[name], one.unit, one.value))
        for name, one in last.answers.items()
        if isinstance(one, Reading)
    }
    if "low" in told and "high" in told:
        return told["low"], told["high"]
    return tuple(told.values())[-1:]
