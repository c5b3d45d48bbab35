"""Reading a number back so that a mishearing is noticed, and asking between two."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from handsfree.language.confusables import ToldApart, swaps
from handsfree.language.grammar import Rule
from handsfree.language.numbers import number_parser
from handsfree.language.speaking import on_tape, say_decimal, say_number, say_reading
from handsfree.language.tokens import tokenise
from handsfree.language.units import Ambiguous
from handsfree.quantity import (
    OUNCES_IN_A_POUND,
    Reading,
    feet_text,
    number_text,
    pounds_text,
    units,
    written,
)

SAID_IN_FEET = 48
"""From this many inches on, a length is easier to see in feet and inches."""
_FEET = frozenset(("foot", "feet"))


@dataclass(frozen=True, slots=True)
class Confusable:
    """Another number for which a number is easily heard, and how the two are told apart."""

    value: Fraction
    told_apart: ToldApart


def confusable_with(value: Fraction) -> tuple[Confusable, ...]:
    """Return the numbers for which this one is easily heard: 15 for 50, 5/16 for 9/16."""
    found: dict[Fraction, ToldApart] = {}
    for tokens, told_apart in swaps(tokenise(say_number(value))):
        for (spoken,) in number_parser().readings(Rule("number"), tokens):
            if spoken.value != value:
                found.setdefault(spoken.value, told_apart)
    return tuple(Confusable(other, told_apart) for other, told_apart in found.items())


def read_back(reading: Reading, heard: tuple[str, ...] = ()) -> str:
    """Return a reading in another form than it was said in, so that a slip is noticed.

    A teen or a round ten also figure by figure ("fifty, five zero inches"), a part of an inch
    also as a decimal ("fourteen and a quarter, fourteen point two five inches"), feet and inches
    also in inches, pounds and ounces also in ounces. `heard` are the tokens that said it.
    """
    value = reading.value
    if reading.unit == "inch" and on_tape(value):
        if value > 0 and (value >= SAID_IN_FEET or _FEET & set(heard)):
            return f"{say_reading(reading, 'feet')}, {_in_inches(reading)}"
        if Fraction(value).denominator != 1:
            return f"{say_number(value)}, {say_decimal(value)} inches"
    if reading.unit == "ounce" and value > OUNCES_IN_A_POUND:
        return f"{say_reading(reading, 'pounds')}, {say_reading(reading, digits=True)}"
    return say_reading(reading, digits=True)


def written_back(reading: Reading, heard: tuple[str, ...] = ()) -> str:
    """Return the same as written: `14-1/4 in (14.25 in)`, `6 ft 2 in (74 in)`, `1 lb 2 oz (18 oz)`.

    A number that has no other form stands alone: figures on paper are not misread for each other.
    """
    value = reading.value
    if reading.unit == "inch" and on_tape(value):
        if value > 0 and (value >= SAID_IN_FEET or _FEET & set(heard)):
            return f"{feet_text(reading)} ({written(reading)})"
        if Fraction(value).denominator != 1:
            return f"{written(reading)} ({number_text(value)} {units()[reading.unit].symbol})"
    if reading.unit == "ounce" and value > OUNCES_IN_A_POUND:
        return f"{pounds_text(reading)} ({written(reading)})"
    return written(reading)


def _in_inches(reading: Reading) -> str:
    whole = Fraction(reading.value).denominator == 1
    return say_reading(reading, "plain" if whole else "decimal", digits=True)


def say_choices(ambiguous: Ambiguous) -> str:
    """Return the two readings that are asked about: `six feet two inches, or six point two metres`.

    Teens and round tens also figure by figure, so that the two differ to the ear.
    """
    first, second = say_each(ambiguous)
    return f"{first}, or {second}"


def say_each(ambiguous: Ambiguous) -> tuple[str, str]:
    """Return each of the two readings that are asked about, in words."""
    first, second = ambiguous.choices
    return _choice(first), _choice(second)


def _choice(reading: Reading) -> str:
    if reading.unit == "inch" and reading.value >= SAID_IN_FEET and on_tape(reading.value):
        return say_reading(reading, "feet")
    return say_reading(reading, digits=True)


__all__ = ["Confusable", "confusable_with", "read_back", "say_choices", "say_each", "written_back"]
