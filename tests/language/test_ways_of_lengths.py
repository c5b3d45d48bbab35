"""Every way of saying and typing a length, for every sixteenth to ten feet.

The words are those of num2words, put together here as the trade does; the values are arithmetic.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import cache

import pytest
from num2words import num2words

from handsfree.language.numbers import readings
from handsfree.language.tokens import tokenise
from handsfree.language.units import Ambiguous, settle
from handsfree.quantity import Kind, Reading

PARTS = {2: ("half", "halves"), 4: ("quarter", "quarters"), 8: ("eighth", "eighths"),
         16: ("sixteenth", "sixteenths")}  # fmt: skip
TO_TEN_FEET = range(1, 10 * 12 * 16 + 1)


@cache
def number(value: int) -> str:
    return str(num2words(value))


def part(value: Fraction) -> str:
    one, many = PARTS[value.denominator]
    return f"{number(value.numerator)} {one if value.numerator == 1 else many}"


def whole_and_part(value: Fraction, joint: str) -> str:
    whole, rest = divmod(value, 1)
    if not rest:
        return number(int(whole))
    return f"{number(int(whole))}{joint}{part(rest)}" if whole else part(rest)


def typed(value: Fraction, joint: str) -> str:
    whole, rest = divmod(value, 1)
    if not rest:
        return str(whole)
    return f"{whole}{joint}{rest}" if whole else str(rest)


def feet(
    value: Fraction, middle: str, end: str, small: Callable[[Fraction], str], *, plain: bool
) -> str | None:
    whole, rest = divmod(value, 12)
    if not whole or not rest:
        return None
    return f"{whole if plain else number(int(whole))}{middle}{small(rest)}{end}"


def ways(value: Fraction) -> Iterator[tuple[str, str | None]]:
    """Yield each way of saying or typing a length, by name; None where there is none."""
    whole, rest = divmod(value, 1)
    yield "bare", whole_and_part(value, " and ")
    yield "without and", whole_and_part(value, " ")
    yield "inches", whole_and_part(value, " and ") + (" inches" if whole else " of an inch")
    yield "inches and", f"{number(int(whole))} inches and {part(rest)}" if rest and whole else None
    for middle in (" foot ", " feet "):
        yield "feet", feet(value, middle, "", lambda v: whole_and_part(v, " and "), plain=False)
        yield (
            "feet, inches",
            feet(value, middle, " inches", lambda v: whole_and_part(v, " and "), plain=False),
        )
    yield "typed", typed(value, "-")
    yield "typed, inches", typed(value, " ") + '"'
    yield "typed, in", typed(value, "-") + " in"
    yield "typed, feet", feet(value, "'", '"', lambda v: typed(v, "-"), plain=True)
    yield "typed, feet apart", feet(value, "' ", '"', lambda v: typed(v, " "), plain=True)
    yield "typed, ft", feet(value, " ft ", " in", lambda v: typed(v, "-"), plain=True)
    yield "decimal", f"{float(value):.4f}"
    yield "decimal, inches", f"{float(value):.4f} inches"


NAMES = tuple(dict.fromkeys(name for name, _ in ways(Fraction(25, 16))))


def _asked(name: str, value: Fraction) -> bool:
    """Return whether a way can also mean another length, so that it must be asked about."""
    # "two foot a half" can be two and a half feet: a part of a foot, or of an inch.
    return name in ("feet", "feet, inches") and value % 12 in (
        Fraction(1, 2),
        Fraction(1, 4),
        Fraction(3, 4),
    )


@pytest.mark.parametrize("name", NAMES)
def test_every_way_of_a_length(name: str) -> None:
    tried = 0
    for count in TO_TEN_FEET:
        value = Fraction(count, 16)
        for text in (way for named, way in ways(value) if named == name and way is not None):
            settled = settle(readings(tokenise(text), "length"), Kind.LENGTH, "inch")
            if isinstance(settled, Ambiguous):
                assert _asked(name, value), text
                assert value in {choice.to("inch").value for choice in settled.choices}, text
            else:
                assert isinstance(settled, Reading), text
                assert settled.to("inch").value == value, text
            tried += 1
    assert tried > 1000


def test_route_talk() -> None:
    """ "six two and a half" is six feet two and a half inches, to ninety-nine feet eleven."""
    for count in range(1, 100):
        for inch in range(1, 12):
            if count % 10 == 0 and (count >= 20 or inch >= 10) and inch < 10:
                continue  # "twenty two" is a number
            text = f"{number(count)} {number(inch)} and one half"
            settled = settle(readings(tokenise(text), "length"), Kind.LENGTH, "inch")
            value = count * 12 + inch + Fraction(1, 2)
            if isinstance(settled, Ambiguous):
                # "one ten and one half" is also a hundred and ten and a half.
                assert count < 10 <= inch, text
                assert value in {choice.value for choice in settled.choices}
            else:
                assert isinstance(settled, Reading), text
                assert settled.value == value, text
