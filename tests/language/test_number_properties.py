"""Numbers in words beyond what is tried one by one: any size, any form, any words at all."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from handsfree.language.grammar import Choice, Rule, sentences
from handsfree.language.numbers import (
    SLOT_RULES,
    number_parser,
    number_rules,
    readings,
)
from handsfree.language.speaking import (
    say_decimal,
    say_figures,
    say_integer,
    say_number,
    say_reading,
)
from handsfree.language.spoken import Spoken
from handsfree.language.tokens import tokenise
from handsfree.language.units import settle
from handsfree.quantity import Kind, Reading, fraction_text, units, written

MOST = 9_999_999
whole = st.integers(1, MOST)
tape = st.builds(Fraction, st.integers(1, 100_000), st.sampled_from([2, 4, 8, 16, 32, 64]))
WORDS = sorted(
    [
        "a",
        "an",
        "one",
        "two",
        "three",
        "nine",
        "ten",
        "twelve",
        "fifteen",
        "twenty",
        "fifty",
        "ninety",
        "hundred",
        "thousand",
        "and",
        "half",
        "quarter",
        "quarters",
        "eighth",
        "eighths",
        "sixteenths",
        "thirty",
        "second",
        "seconds",
        "sixty",
        "fourths",
        "point",
        "oh",
        "zero",
        "double",
        "triple",
        "minus",
        "negative",
        "inch",
        "inches",
        "foot",
        "feet",
        "mil",
        "metre",
        "psi",
        "pounds",
        "pound",
        "ounces",
        "bar",
        "kilos",
        "degrees",
        "f",
        "c",
        "microns",
        "newton",
        "heavy",
        "shy",
        "by",
        "to",
        "nominal",
        "below",
        "gauge",
        "absolute",
        "3/8",
        "14",
        "0.5",
    ]
)


def values(text: str, rule: str = "number") -> list[Fraction]:
    return [spoken.value for spoken in readings(tokenise(text), rule)]


@settings(deadline=None)
@given(whole)
def test_any_whole_number(value: int) -> None:
    assert values(say_integer(value)) == [value]
    assert values(num2words(value)) == [value]
    assert values(f"{value:,}") == [value]
    if value > 9:
        assert value in values(say_figures(value))


@settings(deadline=None)
@given(whole)
def test_the_sign_is_kept(value: int) -> None:
    assert values(f"minus {say_integer(value)}") == [-value]
    assert values(f"-{value}") == [-value]


@settings(deadline=None)
@given(tape)
def test_any_fraction_of_the_tape(value: Fraction) -> None:
    assert value in values(say_number(value), "length")
    assert values(fraction_text(value), "length") == [value]


@settings(deadline=None)
@given(st.decimals(0, 1000, places=4).map(Fraction))
def test_any_decimal(value: Fraction) -> None:
    assert values(say_decimal(value)) == [value]


@settings(deadline=None)
@given(st.lists(st.sampled_from(WORDS), max_size=9), st.sampled_from(SLOT_RULES))
def test_any_words_are_taken_and_every_reading_is_exact(words: list[str], rule: str) -> None:
    found = readings(tuple(words), rule)
    assert len(found) == len({(one.value, one.unit, one.touch, one.basis) for one in found})
    for spoken in found:
        assert isinstance(spoken, Spoken)
        assert isinstance(spoken.value, Fraction)
        assert spoken.unit is None or spoken.unit in units()
        assert spoken.words == tuple(words)


@settings(deadline=None)
@given(st.text(max_size=80), st.sampled_from(SLOT_RULES))
def test_any_text_is_taken(text: str, rule: str) -> None:
    for spoken in readings(tokenise(text), rule):
        assert isinstance(spoken.value, Fraction)


@settings(deadline=None)
@given(st.sampled_from(sorted(units())), whole, st.data())
def test_any_reading_said_in_full_comes_back(name: str, value: int, data: st.DataObject) -> None:
    kind = data.draw(st.sampled_from(units()[name].kinds))
    if kind in (Kind.COUNT, Kind.RATIO):
        return  # their units have no words
    reading = Reading(Fraction(value), name, kind)
    for text in (say_reading(reading), written(reading)):
        found = settle(readings(tokenise(text), kind.replace(" ", "_")), kind, None)
        if not isinstance(found, Reading):
            # Inches of mercury on a gauge are above or below the atmosphere: asked.
            assert name in ("inch_of_mercury", "inch_of_vacuum"), text
            continue
        assert found.to(name).value == value, text


@settings(deadline=None)
@given(whole, st.sampled_from(["so", "er", "please", "banana"]))
def test_a_number_with_another_word_is_no_number(value: int, word: str) -> None:
    assert values(f"{word} {say_integer(value)}") == []


def test_every_small_sentence_of_the_number_rules_is_read() -> None:
    """What the grammar lists, the parser reads: rules small enough to be listed in full."""
    parser = number_parser()
    rules = {**dict.fromkeys(parser.terminals, Choice(())), **number_rules()}
    listed = 0
    for name in ("counted", "part", "on_tape", "corners", "dozen", "tens", "hundreds", "clipped"):
        for words in sentences(Rule(name), rules):
            assert parser.readings(Rule(name), words), (name, words)
            listed += 1
    assert listed > 1000
