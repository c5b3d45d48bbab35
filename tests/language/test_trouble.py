"""What is wrong with a number: one sentence, whatever was said."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.language.numbers import SLOT_RULES, readings
from handsfree.language.tokens import tokenise
from handsfree.language.trouble import diagnosis, trouble, wanted

WORDS = sorted(
    [
        "one",
        "two",
        "nine",
        "twelve",
        "fifteen",
        "fifty",
        "a",
        "and",
        "half",
        "quarter",
        "eighths",
        "sixteenths",
        "inch",
        "foot",
        "mil",
        "bar",
        "psi",
        "pounds",
        "degrees",
        "microns",
        "minus",
        "zero",
        "oh",
        "point",
        "to",
        "by",
        "hair",
        "thousand",
        "million",
        "double",
        "3/8",
        "12,7",
        "9/8",
        "14-1/4",
        "2",
        "nominal",
        "heavy",
        "banana",
        "below",
        "ounces",
    ]
)


@settings(deadline=None)
@given(st.lists(st.sampled_from(WORDS), max_size=8), st.sampled_from(SLOT_RULES))
def test_whatever_was_said_is_a_number_or_is_told_in_one_sentence(
    words: list[str], rule: str
) -> None:
    tokens = tuple(words)
    sentence = trouble(tokens, rule)
    if sentence is None:
        assert readings(tokens, rule)
        return
    assert sentence[0] == sentence[0].upper()
    assert sentence[-1] in ".?"
    assert "{" not in sentence
    assert ". " not in sentence


@settings(deadline=None)
@given(st.text(max_size=60), st.sampled_from(SLOT_RULES))
def test_any_text_at_all(text: str, rule: str) -> None:
    tokens = tokenise(text)
    assert trouble(tokens, rule) is not None or readings(tokens, rule)


@pytest.mark.parametrize(
    ("text", "rule", "sentence"),
    [
        (
            "a hair",
            "length",
            "A hair is not a number; give me it in sixteenths or thirty-seconds.",
        ),
        ("ninety degrees", "length", "That is an angle, and I need a length."),
        ("quarter inch twenty", "length", "Screw thread, a quarter, twenty?"),
        ("minus five", "torque", "A torque can't be below zero; say it again."),
        ("banana", "vacuum", "I heard no number; say the vacuum."),
        (
            "six foot fourteen",
            "length",
            "Fourteen inches is more than a foot; say the feet and inches again.",
        ),
        (
            "one two three four five six seven eight nine",
            "number",
            "That is nine figures, and I take up to seven; say the number again.",
        ),
        (
            "twenty twelve inches",
            "length",
            "I heard two numbers, twenty, then twelve inches; say just the length.",
        ),
    ],
)
def test_the_sentence(text: str, rule: str, sentence: str) -> None:
    assert trouble(tokenise(text), rule) == sentence


def test_a_long_text_is_not_looked_into() -> None:
    assert trouble(("one",) * 1000, "length") == (
        "I can't make one number of that; say the length again."
    )


def test_what_can_be_used_has_no_trouble() -> None:
    assert diagnosis(tokenise("fourteen and a quarter"), "length") is None


def test_slots_are_named_to_the_person() -> None:
    assert wanted("gauge_pressure") == "gauge pressure"
    assert wanted("size") == "tube size"
