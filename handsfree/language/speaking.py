"""Numbers to words, as the trade says them.

Fractions stay fractions ("eleven and one sixteenth inches"), decimals are read figure by figure
with their leading zero ("zero point six three"), and units are always said in full. The words
are those of the number grammar, so that what is said can be heard and read back.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from typing import Literal

from handsfree.language.confusables import wants_figures
from handsfree.language.grammar import Choice, Expansion, Sequence, Word
from handsfree.language.numbers import number_rules
from handsfree.language.tokens import tokenise
from handsfree.quantity import (
    Kind,
    Number,
    Reading,
    feet_and_inches,
    number_text,
    pounds_and_ounces,
    units,
)

Form = Literal["plain", "decimal", "feet", "pounds", "figures"]
"""How a reading is said: as it stands, as a decimal, in feet and inches, in pounds and ounces,
or figure by figure."""

_SCALES = ((1_000_000, "million"), (1_000, "thousand"), (100, "hundred"))
_HUNDRED, _TWENTY = 100, 20
_PART_RULES = ("quarter_word", "eighth_word", "sixteenth_word", "thirty_second_word",
               "sixty_fourth_word")  # fmt: skip


def _tagged(expansion: Expansion) -> list[tuple[str, str]]:
    """Return (tag, words) for each way of saying in a choice of tagged words."""
    match expansion:
        case Choice(options):
            return [pair for option in options for pair in _tagged(option)]
        case Sequence(parts):
            said = "-".join(part.text for part in parts if isinstance(part, Word))
            return [(tag, said) for tag, _ in _tagged(parts[-1])]
        case Word(text, str(tag)):
            return [(tag, text)]
        case _:
            return []


@cache
def _words() -> Mapping[int, str]:
    """Return the word for each whole number that has a word of its own."""
    found: dict[int, str] = {}
    for rule in ("zero", "ones", "teen", "tens"):
        for tag, word in _tagged(number_rules()[rule]):
            found.setdefault(int(tag), word)
    return found


@cache
def _parts() -> Mapping[int, tuple[str, str]]:
    """Return how one and several of each fraction of the tape are said, by denominator."""
    found: dict[int, list[str]] = {}
    for rule in _PART_RULES:
        for tag, word in _tagged(number_rules()[rule]):
            found.setdefault(int(tag), []).append(word)
    return {denominator: (said[0], said[1]) for denominator, said in found.items()}


def say_integer(value: int) -> str:
    """Return a whole number in words: `five hundred and thirty-eight`."""
    if value < 0:
        return "minus " + say_integer(-value)
    for scale, name in _SCALES:
        if value >= scale:
            head, rest = divmod(value, scale)
            words = f"{say_integer(head)} {name}"
            if not rest:
                return words
            joint = " and " if rest < _HUNDRED else " "
            return words + joint + say_integer(rest)
    if value in _words():
        return _words()[value]
    tens, rest = divmod(value, 10)
    return f"{_words()[tens * 10]}-{_words()[rest]}"


def say_fraction(value: Fraction) -> str:
    """Return a fraction of the tape below one in words: `three eighths`, `a half`."""
    if value == Fraction(1, 2):
        return "a half"
    one, many = _parts()[value.denominator]
    if value.numerator == 1:
        return f"a {one}" if value == Fraction(1, 4) else f"one {one}"
    return f"{say_integer(value.numerator)} {many}"


def on_tape(value: Number) -> bool:
    """Return whether a number is exact and has a fraction that a tape shows (or none)."""
    return isinstance(value, int | Fraction) and Fraction(value).denominator in (1, 2, *_parts())


def say_number(value: Number) -> str:
    """Return a number in words: a tape fraction as such, anything else as a decimal."""
    if value < 0:
        return "minus " + say_number(-value)
    if not on_tape(value):
        return say_decimal(value)
    whole, part = divmod(Fraction(value), 1)
    if part == 0:
        return say_integer(int(whole))
    words = say_fraction(part)
    return f"{say_integer(int(whole))} and {words}" if whole else words


def say_decimal(value: Number) -> str:
    """Return a number as a decimal in words, figure by figure: `zero point six three`."""
    text = number_text(value)
    sign = "minus " if text.startswith("-") else ""
    whole, _, figures = text.removeprefix("-").partition(".")
    words = sign + say_integer(int(whole))
    return f"{words} point {_figures(figures)}" if figures else words


def _figures(text: str) -> str:
    return " ".join(_words()[int(figure)] for figure in text)


def say_figures(value: int) -> str:
    """Return a whole number figure by figure: `five zero`."""
    return ("minus " if value < 0 else "") + _figures(str(abs(value)))


def say_reading(reading: Reading, form: Form = "plain", *, digits: bool = False) -> str:
    """Return a reading in words with its unit: `three eighths of an inch`, `ninety degrees`.

    With `digits`, a teen or a round ten is also said figure by figure, because they are misheard
    for each other: "fifty, five zero newton metres".
    """
    if form == "feet" and reading.value >= 0:
        return _composite(feet_and_inches(reading), "foot", "inch", Kind.LENGTH)
    if form == "pounds" and reading.value >= 0:
        return _composite(pounds_and_ounces(reading), "pound", "ounce", Kind.MASS)
    one, many = units()[reading.unit].say
    exact = Fraction(reading.value)
    if _as_part_of_one(reading, form):
        return f"{_part(exact)} {_with_article(one)}"
    if form == "plain" and _runs_together(reading):
        whole, part = divmod(exact, 1)
        return f"{say_integer(int(whole))} {many} and {say_fraction(part)}"
    number = _number(reading, form)
    if digits and exact.denominator == 1 and wants_figures(tokenise(number)):
        number += f", {say_figures(int(exact))}"
    return f"{number} {one if exact == 1 else many}".rstrip()


def _as_part_of_one(reading: Reading, form: Form) -> bool:
    value = reading.value
    tape = units()[reading.unit].parts == "tape" and reading.unit != "one"
    return form == "plain" and tape and on_tape(value) and 0 < value < 1


def _runs_together(reading: Reading) -> bool:
    """Return whether whole and part would be heard as one: "one hundred and twenty-one …".

    A hundred and 21/32 would sound like a hundred and twenty and 1/32.
    """
    if units()[reading.unit].parts != "tape" or not on_tape(reading.value) or reading.unit == "one":
        return False
    whole, part = divmod(Fraction(reading.value), 1)
    return whole >= _HUNDRED and whole % _HUNDRED == 0 and part.numerator > _TWENTY


def _part(value: Fraction) -> str:
    return "half" if value == Fraction(1, 2) else f"{say_fraction(value)} of"


def _with_article(word: str) -> str:
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def _number(reading: Reading, form: Form) -> str:
    exact = Fraction(reading.value)
    if form == "figures" and exact.denominator == 1:
        return say_figures(int(exact))
    parts = units()[reading.unit].parts
    halved = parts == "halves" and exact.denominator == 2  # noqa: PLR2004 - a half
    if form == "plain" and (parts == "tape" or halved):
        return say_number(reading.value)
    return say_decimal(reading.value)


def _composite(parts: tuple[int, Number], large: str, small: str, kind: Kind) -> str:
    """Return whole large units and the rest: `six feet two and a half inches`."""
    whole, rest = parts
    said = [say_reading(Reading(Fraction(whole), large, kind))] if whole else []
    if rest and whole and rest < 1 and on_tape(rest):
        said.append("and")
    if rest or not whole:
        said.append(say_reading(Reading(rest, small, kind)))
    return " ".join(said)


def say_band(low: Reading, high: Reading) -> str:
    """Return a band with its unit once: `twelve point eight to thirteen point two millimetres`."""
    high = high.to(low.unit)
    many = units()[low.unit].say[1]
    return f"{_number(low, 'plain')} to {_number(high, 'plain')} {many}".rstrip()
