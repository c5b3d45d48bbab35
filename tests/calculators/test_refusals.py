"""Every refusal of every calculator is reached by its own bad input, in a sentence of two parts.

The input ranges are those of the job description (3.6.2): outside, a value is asked for again.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from handsfree.calculators.card import Card, Parameter, Slot
from handsfree.errors import Refusal
from handsfree.library import Library
from handsfree.quantity import Reading


def _lines(name: str) -> list[str]:
    text = (Path(__file__).parent / name).read_text(encoding="utf-8")
    return [line for line in text.splitlines() if not line.startswith("#")]


CASES = [line.split(" ", 2) for line in _lines("refusals.txt")]
OWN = {name for name, _, _ in CASES}


def _number(text: str) -> Fraction:
    whole, dash, part = text.partition("-")
    return Fraction(whole) + Fraction(part) if dash and whole else Fraction(text)


def slots_of(card: Card, text: str) -> dict[str, Slot]:
    slots: dict[str, Slot] = {}
    for pair in text.split("; "):
        name, _, value = pair.partition("=")
        parameter = card.by_name[name]
        if not isinstance(parameter, Parameter):
            slots[name] = value
            continue
        readings = []
        for one in value.split(" + "):
            number, _, unit = one.partition(" ")
            readings.append(Reading(_number(number), unit, parameter.kind))
        slots[name] = tuple(readings) if parameter.many else readings[0]
    return slots


def _guarded(card: Card, slots: dict[str, Slot]) -> None:
    if card.guard is not None:
        card.guard(slots)
    card.run(slots)


@pytest.mark.parametrize(("name", "key", "text"), CASES, ids=lambda part: str(part)[:30])
def test_refused(name: str, key: str, text: str, known: Library) -> None:
    card = known.cards[name]
    slots = slots_of(card, text)
    with pytest.raises(Refusal) as refusal:
        _guarded(card, slots)
    assert refusal.value.key == key
    words = known.words[name].refusals[key]
    assert len(words.rstrip(".").replace(";", ".").split(". ")) >= 2, "why, and what instead"


def test_every_refusal_has_a_case(known: Library) -> None:
    reached = {(name, key) for name, key, _ in CASES}
    written = {(name, key) for name in OWN for key in known.words[name].refusals}
    assert written == reached


BANDS = [
    (*line.split(" | ")[0].split(" ", 2), *line.split(" | ")[1:]) for line in _lines("ranges.txt")
]


@pytest.mark.parametrize("band", BANDS, ids=lambda band: f"{band[0]} {band[1]}")
def test_range(band: tuple[str, ...], known: Library) -> None:
    name, parameter, *values = band
    card = known.cards[name]
    for value, plausible in zip(values, (False, True, True, False), strict=True):
        if value != "-":
            wrong = [
                found.name for found in card.implausible(slots_of(card, f"{parameter}={value}"))
            ]
            assert (parameter not in wrong) is plausible, value
