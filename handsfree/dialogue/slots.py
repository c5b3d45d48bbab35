"""Slots: which grammar rule reads one, and what was said in them as readings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache

from handsfree.calculators.card import Card, Option, Parameter, Slot
from handsfree.dialogue.knowing import known, preset
from handsfree.dialogue.meanings import Request
from handsfree.dialogue.state import State
from handsfree.dialogue.wording import Sentence, difference
from handsfree.errors import WrongKind
from handsfree.language.grammar import Bound, Choice, Expansion, Rule, Sequence, parse_phrase
from handsfree.language.spoken import Band, Spoken
from handsfree.language.units import Ambiguous, band_readings, settle
from handsfree.library import Fact, Library
from handsfree.quantity import Kind, Reading, is_metric, units

FURTHER_PARTS = 4
"""How many missing values one answer may give at once."""


def tape(state: State) -> str:
    """Return the unit of a bare length: the job's tape."""
    return "millimetre" if state.job.facts.get("tape") == "metric" else "inch"


ASSUMED = {
    Kind.LENGTH: "foot",
    Kind.GAUGE_PRESSURE: "psi",
    Kind.TEMPERATURE: "fahrenheit",
    Kind.TEMPERATURE_DIFFERENCE: "fahrenheit",
    Kind.MASS: "pound",
    Kind.FLOW: "cubic_foot_per_hour",
}
"""The unit of a bare number in inch work, of a run, of a gauge, of a scale; metric has its like."""


def assumed_unit(
    card: Card, parameter: Parameter, bound: tuple[tuple[str, object], ...], state: State
) -> str | None:
    """Return the unit of a bare number: of the tape, or of the system of the sentence.

    Nobody asks for a length in the unit that it is in: then it is in the other one of the two.
    """
    if parameter.assume == "tape":
        wanted = {name for name, value in bound if value == tape(state)}
        asked = any(isinstance(card.by_name[n], Option) for n in wanted)
        inch_tape = (tape(state) == "inch") is not asked
        return "inch" if inch_tape else units()["inch"].metric
    if parameter.assume not in ("run", "system"):
        return parameter.assume
    named = {value.unit for _, value in bound if isinstance(value, Spoken) and value.unit}
    metric = any(map(is_metric, named)) or (not named and is_metric(tape(state)))
    assumed = ASSUMED[parameter.kind]
    return units()[assumed].metric if metric else assumed


def slot_rule(card: Card, parameter: Parameter | Option, library: Library) -> str:
    """Return the grammar rule that reads a parameter of a card."""
    if isinstance(parameter, Parameter) or parameter.units_of:
        return parameter.grammar_rule
    if parameter.name in library.words[card.id].options:
        return f"choice_{card.id}_{parameter.name}"
    return f"choice_{parameter.name}"


def fact_rule(name: str, fact: Fact) -> str:
    """Return the grammar rule that reads a fact; words can be heard as figures only."""
    if fact.words:
        return "figures"
    return f"choice_{name}" if fact.options else fact.rule or str(fact.kind).replace(" ", "_")


def fact_value(fact: Fact, value: Spoken | str, tape_unit: str) -> Reading | str | None:
    """Return a fact as it is kept; None where a unit is missing."""
    if isinstance(value, str):
        return value
    if fact.kind is None:
        return None
    unit = tape_unit if fact.unit == "inch" else None
    try:
        found = settle((value,), fact.kind, unit)
    except WrongKind:
        return None
    return found if isinstance(found, Reading) else None


def any_of(rules: Mapping[str, str], *, many: bool = False) -> Expansion:
    """Return an expansion that reads one or more of the slots, in any order, joined by and.

    Two numbers need the joint, or "fifty two" would be fifty and two; words beside one do not.
    `many` says that one slot takes several values.
    """
    return _any_of(tuple(rules.items()), many=many)


@lru_cache(maxsize=1024)  # what finds an expansion is made once for each, and asked for again
def _any_of(rules: tuple[tuple[str, str], ...], *, many: bool) -> Expansion:
    words = [Rule(rule, bound=name) for name, rule in rules if _of_words(rule)]
    numbers = [Rule(rule, bound=name) for name, rule in rules if not _of_words(rule)]
    parts: list[Expansion] = [*numbers, *words]
    if words and len(rules) > 1:
        word, one = Choice(tuple(words)), Choice((*numbers, *words))
        parts.extend((Sequence((word, one)), Sequence((one, word))))
    part = parts[0] if len(parts) == 1 else Choice(tuple(parts))
    joint = parse_phrase("(and | at | then | to)" if many else "(and | at | then)")
    most = FURTHER_PARTS if many else min(len(rules), FURTHER_PARTS)
    return Choice(
        tuple(
            Sequence((part, *(piece for _ in range(count) for piece in (joint, part))))
            for count in range(most)
        )
    )


def _of_words(rule: str) -> bool:
    """Return whether a rule reads the words of a choice, and no number."""
    return rule.startswith(("choice_", "unit_of_"))


def request_of(
    card: Card, bound: tuple[tuple[str, object], ...], presets: Mapping[str, str], state: State
) -> Request | None:
    """Return the request that these slot values make; None where a value does not fit."""
    slots = _implied(card, presets)
    unsettled: dict[str, Ambiguous] = {}
    for name, value in bound:
        parameter = card.by_name[name]
        if isinstance(value, Band) and isinstance(parameter, Parameter):
            try:
                slots[name] = band_readings(value, parameter.kind, parameter.assume)
            except WrongKind:
                return None
            continue
        if isinstance(parameter, Option) or not isinstance(value, Spoken):
            many = isinstance(parameter, Option) and parameter.many and name in slots
            slots[name] = f"{slots[name]} {value}" if many else str(value)
            continue
        try:
            unit = assumed_unit(card, parameter, (*bound, *presets.items()), state)
            reading = _settled(value, parameter, unit)
        except WrongKind:
            return None
        if name in unsettled or (name in slots and not parameter.many):
            return None  # one value said twice is a slip, even where both are the same
        if isinstance(reading, Ambiguous):
            unsettled[name] = reading
        elif parameter.many:
            earlier = slots.get(name, ())
            slots[name] = (*(earlier if isinstance(earlier, tuple) else ()), reading)
        else:
            slots[name] = reading
    return _in_other_unit(card, Request(card.id, slots, unsettled))


A_TOUCH = Fraction(1, 32)
"""Of an inch: what "heavy" or "light" may add or take. Common practice, no source."""


def with_touch(card: Card, bound: tuple[Bound, ...], state: State) -> tuple[tuple[Bound, ...], ...]:
    """Return what was said and, where a mark was said heavy or light, the same a touch off it.

    Nobody knows how much a touch is, so a mark is asked about; anything else is as it was said.
    """
    marks = any(result.rounding == "mark" for result in card.results)
    touched = [
        (place, one.name, one.value)
        for place, one in enumerate(bound)
        if isinstance(one.value, Spoken) and one.value.touch
    ]
    if not marks or len(touched) != 1:
        return (bound,)
    place, name, value = touched[0]
    if (value.unit or tape(state)) != "inch":
        return (bound,)
    off = A_TOUCH if value.touch == "heavy" else -A_TOUCH
    other = Bound(name, replace(value, value=value.value + off, touch=None))
    return (bound, (*bound[:place], other, *bound[place + 1 :]))


def _implied(card: Card, presets: Mapping[str, str]) -> dict[str, Slot]:
    """Return what a phrase says without saying it."""
    slots: dict[str, Slot] = {}
    for name, text in presets.items():
        parameter = card.by_name[name]
        if isinstance(parameter, Option):
            slots[name] = text
        else:
            implied = preset(parameter, text)
            slots[name] = (implied,) if parameter.many else implied
    return slots


def _settled(value: Spoken, parameter: Parameter, assumed: str | None) -> Reading | Ambiguous:
    """Return what was said in a slot; raises `WrongKind` for what can't be meant there."""
    found = settle((value,), parameter.kind, assumed, *parameter.band)
    if found is None:
        raise WrongKind("number without a unit", parameter.kind)
    return found


def _in_other_unit(card: Card, request: Request) -> Request:
    """Return the request with a bare number taken in the unit that it is not converted to.

    "Six hundred in bar" is six hundred psi: nobody converts bar to bar.
    """
    targets = {
        request.slots.get(option.name)
        for option in card.parameters
        if isinstance(option, Option) and option.units_of
    }
    slots, unsettled = dict(request.slots), dict(request.unsettled)
    for name, ambiguous in request.unsettled.items():
        left = [reading for reading in ambiguous.choices if reading.unit not in targets]
        if len(left) == 1:
            slots[name] = left[0]
            del unsettled[name]
    return replace(request, slots=slots, unsettled=unsettled)


def fewest_missing(
    card: Card, requests: list[Request], have: Mapping[str, Slot], state: State
) -> list[Request]:
    """Return the plausible requests that leave the least to ask, the fullest of them, each once.

    "Ninety at twelve three eighths" is twelve on three-eighths tube before it is 12-3/8: that
    reading gives one thing more. Where the job knows the tube already, both are as full, and it
    is asked. What was understood is said back with the question or answer.
    """
    plausible = [r for r in requests if is_plausible(card, r)] or requests
    ranks: list[tuple[int, int]] = []
    for request in plausible:
        full = known(card, {**have, **_either(request)}, state.job)
        ranks.append((len(card.missing(full)) + len(request.unsettled), -_fullness(full)))
    best: list[Request] = []
    least = min(ranks, default=None)
    for request, rank in zip(plausible, ranks, strict=True):
        if rank == least and request not in best:
            best.append(request)
    return best


def _either(request: Request) -> dict[str, Slot]:
    """Return the slots of a request, with the first of two units where it is unsettled."""
    return {**request.slots, **{name: one.choices[0] for name, one in request.unsettled.items()}}


def is_plausible(card: Card, request: Request) -> bool:
    """Return whether every value of a request is plausible in its slot."""
    return not card.implausible(_either(request))


def _fullness(slots: Mapping[str, Slot]) -> int:
    """Return how many values there are."""
    return sum(len(v) if isinstance(v, tuple) else 1 for v in slots.values())


def described(first: Request, second: Request) -> tuple[Sentence, Sentence]:
    """Return two readings of one request, each told by what is different in it."""
    return difference({**first.slots, **first.unsettled}, {**second.slots, **second.unsettled})
