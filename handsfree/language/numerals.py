"""Typed numerals: what they are worth, by the form in which they are written."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from fractions import Fraction

from handsfree.language.grammar import Terminal

MOST_INTEGER = 9_999_999
INCHES_IN_A_FOOT = 12
OUNCES_IN_A_POUND = 16
SIXTY = 60

_WHOLE = re.compile(r"[0-9]{1,7}")
_DECIMAL = re.compile(r"[0-9]{0,7}\.[0-9]{1,9}")
_FRACTION = re.compile(r"([0-9]{1,3})/([0-9]{1,2})")
_MIXED = re.compile(r"([0-9]{1,7})-([0-9]{1,3})/([0-9]{1,2})")
_TAPE = (2, 4, 8, 16, 32, 64)


def whole_numeral(token: str) -> int | None:
    """Return a typed whole number from 1 to 9,999,999, or None."""
    value = int(token) if _WHOLE.fullmatch(token) else 0
    return value or None


def zero_numeral(token: str) -> int | None:
    """Return 0 for a typed zero, or None."""
    return 0 if _WHOLE.fullmatch(token) and int(token) == 0 else None


def decimal_numeral(token: str) -> Fraction | None:
    """Return a number typed with a point (`0.63`, `.5`), or None."""
    return Fraction(token) if _DECIMAL.fullmatch(token) else None


def fraction_numeral(token: str) -> Fraction | None:
    """Return a typed fraction of the tape below one (`3/8`), or None."""
    found = _FRACTION.fullmatch(token)
    if found is None or int(found[2]) not in _TAPE or not 0 < int(found[1]) < int(found[2]):
        return None
    return Fraction(int(found[1]), int(found[2]))


def lowest_numeral(token: str) -> Fraction | None:
    """Return a typed fraction of the tape in lowest terms (`3/8`, not `4/8`), or None."""
    value = fraction_numeral(token)
    return value if value is not None and str(value) == token else None


def mixed_numeral(token: str) -> Fraction | None:
    """Return a typed whole number with a fraction of the tape (`14-1/4`), or None."""
    found = _MIXED.fullmatch(token)
    if found is None:
        return None
    part = fraction_numeral(f"{found[2]}/{found[3]}")
    return None if part is None or int(found[1]) == 0 else int(found[1]) + part


_FORMS: tuple[Callable[[str], Fraction | int | None], ...] = (
    whole_numeral,
    decimal_numeral,
    fraction_numeral,
    mixed_numeral,
)


def numeral(token: str) -> Fraction | None:
    """Return what any typed numeral is worth, or None."""
    for form in (*_FORMS, zero_numeral):
        value = form(token)
        if value is not None:
            return Fraction(value)
    return None


def mixed(text: str) -> Fraction:
    """Return the number that a data file writes (`3/8`, `1-1/8`, `2`); raises ValueError."""
    value = numeral(text)
    if value is None:
        raise ValueError(f"{text!r} is not a number of the tape")
    return value


def _below(limit: int, *forms: Callable[[str], Fraction | int | None]) -> Terminal:
    """Return a terminal for numerals of these forms below a limit."""

    def read(token: str) -> Fraction | None:
        for form in forms:
            value = form(token)
            if value is not None and value < limit:
                return Fraction(value)
        return None

    return read


NUMERALS: Mapping[str, Terminal] = {
    "whole_numeral": whole_numeral,
    "zero_numeral": zero_numeral,
    "decimal_numeral": decimal_numeral,
    "fraction_numeral": fraction_numeral,
    "lowest_numeral": lowest_numeral,
    "mixed_numeral": mixed_numeral,
    "inch_numeral": _below(INCHES_IN_A_FOOT, whole_numeral, decimal_numeral, mixed_numeral),
    "ounce_numeral": _below(OUNCES_IN_A_POUND, whole_numeral, decimal_numeral, mixed_numeral),
    "sixty_numeral": _below(SIXTY, whole_numeral),
}
"""The rules that read typed numerals."""
