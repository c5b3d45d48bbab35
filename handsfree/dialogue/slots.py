"""Slots: which grammar rule reads one, and what was said in them as readings."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from handsfree.calculators.card import Card, Option, Parameter, Slot
from handsfree.dialogue.knowing import known, preset
from handsfree.dialogue.meanings import Request
from handsfree.dialogue.state import State
from handsfree.dialogue.wording import difference
from handsfree.errors import WrongKind
from handsfree.language.grammar import Choice, Expansion, Rule, Sequence, parse_phrase
from handsfree.language.numbers import Spoken
from handsfree.language.units import to_reading
from handsfree.library import Fact, Library
from handsfree.quantity import Reading

FURTHER_PARTS = 4
"""How many missing values one answer may give at once."""


def tape(state: State) -> str:
    """Return the unit of a bare length: the job's tape."""
    return "millimetre" if state.job.facts.get("tape") == "metric" else "inch"


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
    unit = tape_unit if fact.unit == "inch" else (fact.unit if fact.kind == "vacuum" else None)
    try:
        return to_reading(value, fact.kind, unit)
    except WrongKind:
        return None


def any_of(rules: Mapping[str, str]) -> Expansion:
    """Return an expansion that reads one or more of the slots, in any order, joined by and."""
    one = tuple(Rule(rule, bound=name) for name, rule in rules.items())
    single = one[0] if len(one) == 1 else Choice(one)
    joint = parse_phrase("[and]")
    return Choice(
        tuple(
            Sequence((single, *(part for _ in range(count) for part in (joint, single))))
            for count in range(min(len(one), FURTHER_PARTS))
        )
    )


def request_of(
    card: Card, bound: tuple[tuple[str, object], ...], presets: Mapping[str, str], state: State
) -> Request | None:
    """Return the request that these slot values make; None where a unit does not fit."""
    slots: dict[str, Slot] = {}
    no_unit: dict[str, Fraction] = {}
    for name, text in presets.items():
        parameter = card.by_name[name]
        if isinstance(parameter, Option):
            slots[name] = text
        else:
            slots[name] = preset(parameter, text)
    for name, value in bound:
        parameter = card.by_name[name]
        if isinstance(parameter, Option) or not isinstance(value, Spoken):
            slots[name] = str(value)
            continue
        assumed = tape(state) if parameter.assume == "tape" else parameter.assume
        try:
            reading = to_reading(value, parameter.kind, assumed)
        except WrongKind:
            return None
        if reading is None:
            no_unit[name] = value.value
        elif parameter.many:
            earlier = slots.get(name, ())
            slots[name] = (*(earlier if isinstance(earlier, tuple) else ()), reading)
        elif name in slots and slots[name] != reading:
            return None
        else:
            slots[name] = reading
    return Request(card.id, slots, no_unit)


def fewest_missing(
    card: Card, requests: list[Request], have: Mapping[str, Slot], state: State
) -> list[Request]:
    """Return the plausible requests that leave the least to ask, the fullest of them, each once.

    "Ninety at twelve three eighths" is twelve on three-eighths tube before it is 12-3/8: that
    reading gives one thing more. What was understood is said back with the question or answer.
    """
    plausible = [r for r in requests if not card.implausible(r.slots)] or requests
    counts = [
        len(card.missing(known(card, {**have, **request.slots}, state.job))) + len(request.no_unit)
        for request in plausible
    ]
    ranks = [(count, -_fullness(r)) for r, count in zip(plausible, counts, strict=True)]
    best: list[Request] = []
    for request, rank in zip(plausible, ranks, strict=True):
        if rank == min(ranks) and request not in best:
            best.append(request)
    return best


def _fullness(request: Request) -> int:
    """Return how many values a request gives."""
    return sum(len(v) if isinstance(v, tuple) else 1 for v in request.slots.values())


def described(first: Request, second: Request) -> tuple[str, str]:
    """Return two readings of one request, each told by what is different in it."""
    return difference(first.slots, second.slots)
