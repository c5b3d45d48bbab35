"""Corrections: which value of the last request is meant, and the request with it put right.

A correction replaces the last number of its kind. Where the new number could stand in two slots,
a pair that is easily misheard (nine for five) decides, and otherwise the person is asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from handsfree.calculators.card import Card, Parameter, Slot, Slots
from handsfree.dialogue.knowing import known
from handsfree.dialogue.meanings import Change, Meaning, Several
from handsfree.dialogue.slots import slot_rule
from handsfree.dialogue.state import Job, State
from handsfree.dialogue.wording import Sentence, named
from handsfree.errors import WrongKind
from handsfree.language.corrections import Correction
from handsfree.language.numbers import Spoken, readings
from handsfree.language.readback import confusable_with
from handsfree.language.units import to_reading
from handsfree.library import Library
from handsfree.quantity import Kind, Reading

RECENT = 20
"""How many entries back a result can still be corrected: about ten turns."""
HALVES = 2
_PLACES = ("first", "second", "third")
_NAMES = {
    "length": ("distance", "leg", "value"),
    "angle": ("angle",),
    "radius": ("radius",),
    "size": ("size",),
    "pressure": ("value",),
    "torque": ("tried", "maker_torque", "value"),
}


def correction(found: list[Correction], state: State, library: Library) -> Meaning | None:
    """Return what is changed in the last request, or None where nothing is."""
    request = _last_request(state, library)
    if not found or request is None:
        return None
    card, slots = request
    if found[0].new is None:
        return Change(card.id, "", None)
    changes: list[Change] = []
    for one in found:
        for change in _changes(one, card, slots, state, library):
            if change not in changes:
                changes.append(change)
    likely = [change for change in changes if _easily_misheard(change, slots)]
    if len(likely) == 1:
        return likely[0]
    if len(changes) > 1:
        first, second = changes[:2]
        return Several(_told(first, slots), _told(second, slots), (first, second))
    return changes[0] if changes else None


def _told(change: Change, slots: Slots) -> Sentence:
    """Return what a change would put right: `leg 12 in`, `the third leg 12 in`."""
    held = slots.get(change.slot)
    several = isinstance(held, tuple) and len(held) > 1 and change.place < len(_PLACES)
    name = f"the {_PLACES[change.place]} {change.slot}" if several else change.slot
    return named(name, "" if change.value is None else change.value)


def _last_request(state: State, library: Library) -> tuple[Card, Slots] | None:
    """Return the open half-filled request, or the last one that was answered."""
    job = state.job
    held: dict[str, object]
    if job.question is not None and job.question.what in library.cards:
        name, held = job.question.what, dict(job.question.slots)
    elif job.calculated is not None and job.entries - job.calculated_at <= RECENT:
        name, held = job.calculated.calculator, dict(job.calculated.inputs)
    else:
        return None
    slots: dict[str, Slot] = {
        key: value for key, value in held.items() if isinstance(value, Reading | str | tuple)
    }
    return library.cards[name], slots


def said(card: Card, slots: Slots, job: Job) -> set[str]:
    """Return the slots that were said, and not filled from what the job knows.

    A bender's radius and a maker's torque that are kept for the size which was said count as
    filled: another size has others.
    """
    filled = known(card, {}, job)
    size = slots.get("size")
    by_size = filled if size is None else known(card, {"size": size}, job)
    return {
        name
        for name, value in slots.items()
        if filled.get(name) != value and (name == "size" or by_size.get(name) != value)
    }


def _changes(
    one: Correction, card: Card, slots: Slots, state: State, library: Library
) -> Iterator[Change]:
    spoken_ones = said(card, slots, state.job)
    for parameter in card.parameters:
        open_to_it = one.old is not None or parameter.name in spoken_ones
        held = slots.get(parameter.name) if open_to_it else None
        if not isinstance(parameter, Parameter) or held is None or isinstance(held, str):
            continue
        if one.which in _NAMES and parameter.name not in _NAMES[one.which]:
            continue
        rule = slot_rule(card, parameter, library)
        many = held if isinstance(held, tuple) else (held,)
        for place in _places(one.which, len(many)):
            old = [like(many[place], spoken) for spoken in readings(one.old or (), rule)]
            if one.old is not None and many[place] not in old:
                continue
            for spoken in readings(one.new or (), rule):
                value = like(many[place], spoken)
                if value is not None and value != many[place] and _sensible(card, parameter, value):
                    yield Change(card.id, parameter.name, value, place)


def like(held: Reading, spoken: Spoken) -> Reading | None:
    """Return what was said as a reading, in the unit of the one it replaces if none was said."""
    try:
        return to_reading(spoken, held.kind, held.unit)
    except WrongKind:
        return None


def _places(which: str | None, count: int) -> range:
    """Return the places among several values that a word like "the second" can mean."""
    if which in _PLACES:
        place = _PLACES.index(which)
        return range(place, min(place + 1, count))
    if which == "left":
        return range(min(1, count))
    return range(count - 1, count) if which in ("last", "right") else range(count)


def _sensible(card: Card, parameter: Parameter, value: Reading) -> bool:
    """Return whether a new value is one for this slot: angles are told to half a degree."""
    if parameter.kind is Kind.ANGLE and Fraction(value.value).denominator > HALVES:
        return False
    return not card.implausible({parameter.name: value})


def _easily_misheard(change: Change, slots: Slots) -> bool:
    held = slots[change.slot]
    reading = held[change.place] if isinstance(held, tuple) else held
    if not isinstance(reading, Reading) or change.value is None:
        return False
    others = confusable_with(Fraction(reading.value))
    return any(other.value == change.value.value for other in others)


def corrected(slots: Slots, change: Change) -> dict[str, Slot]:
    """Return the slots with a change made."""
    if change.value is None:
        return dict(slots)
    held = slots.get(change.slot)
    if isinstance(held, tuple):
        many = (*held[: change.place], change.value, *held[change.place + 1 :])
        return {**slots, change.slot: many}
    return {**slots, change.slot: change.value}
