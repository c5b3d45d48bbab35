"""Corrections: what is new, what it replaces, and which of several is meant."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.language.corrections import Correction, corrections, repaired
from handsfree.language.tokens import tokenise


def said(text: str) -> tuple[str, ...]:
    return tuple(text.split())


@pytest.mark.parametrize(
    ("text", "new", "old", "which"),
    [
        ("no, nine", "nine", None, None),
        ("no nine inches", "nine inches", None, None),
        ("no it's nine", "nine", None, None),
        ("not nineteen, ninety", "ninety", "nineteen", None),
        ("no not nineteen, ninety", "ninety", "nineteen", None),
        ("not fifteen it's fifty", "fifty", "fifteen", None),
        ("ninety not nineteen", "ninety", "nineteen", None),
        ("make that three-quarters", "three quarters", None, None),
        ("make it fourteen and a half", "fourteen and a half", None, None),
        ("I said five eighths, not three eighths", "five eighths", "three eighths", None),
        ("I meant forty", "forty", None, None),
        ("sorry, forty five newton metres", "forty five newton metres", None, None),
        ("correction, six hundred psi", "six hundred psi", None, None),
        ("change the first one to twelve", "twelve", None, "first"),
        ("change the second leg to nine", "nine", None, "second"),
        ("it's the left leg that's nine", "nine", None, "left"),
        ("the angle is forty five", "forty five", None, "angle"),
        ("change it to twelve", "twelve", None, None),
        ("it should be ten", "ten", None, None),
        ("scratch that, nine", "nine", None, None),
        ("no, 14-1/4", "14-1/4", None, None),
    ],
)
def test_corrections(text: str, new: str, old: str | None, which: str | None) -> None:
    found = corrections(tokenise(text))
    wanted = Correction(said(new), None if old is None else said(old), which)  # type: ignore[arg-type]
    assert found[:1] == [wanted], found


@pytest.mark.parametrize("text", ["scratch that", "wrong", "wrong number", "strike that"])
def test_taking_back(text: str) -> None:
    assert corrections(tokenise(text)) == [Correction(None)]


@pytest.mark.parametrize(
    "text",
    [
        "no",
        "not",
        "nine",
        "nineteen ninety",
        "no problem",
        "not zero",
        "make that",
        "change the nut",
        "scratch on the cone",
        "it cracked",
        "",
    ],
)
def test_what_is_no_correction(text: str) -> None:
    assert corrections(tokenise(text)) == []


def test_two_ways_to_part_the_numbers_both_come_back() -> None:
    found = corrections(tokenise("not fifteen fifty five"))
    assert Correction(said("fifty five"), said("fifteen")) in found


@pytest.mark.parametrize(
    ("text", "meant", "certain"),
    [
        ("mark a ninety at twelve inches, no, fourteen", "mark a ninety at fourteen inches", True),
        ("at twelve, sorry, fourteen and a half", "at fourteen and a half", True),
        ("at fifteen I mean fifty", "at fifty", True),
        ("leg is nine make that eight and a quarter", "leg is eight and a quarter", True),
        (
            "a ninety at twelve inches no wait thirteen on half inch",
            "a ninety at thirteen inches on half inch",
            True,
        ),
        ("set it at twenty… twenty two", "set it at twenty two", False),
    ],
)
def test_putting_oneself_right_in_one_sentence(text: str, meant: str, certain: bool) -> None:  # noqa: FBT001 - a row of the table
    repair = repaired(text)
    assert repair is not None
    assert repair.tokens == said(meant)
    assert repair.certain is certain


def test_begun_again_with_the_same_word_after_a_pause() -> None:
    # The phrasing of the trade: the number after the pause replaces the one begun alike.
    repair = repaired("at twenty to half inch… twenty two")
    assert repair is not None
    assert repair.new == said("twenty two")
    assert not repair.certain, "a pause alone is asked about"


@pytest.mark.parametrize(
    "text",
    [
        "mark a ninety at fourteen inches",
        "no leak at fourteen psi",
        "nine",
        "",
        "is there no nut",
        "wait ten minutes",
    ],
)
def test_what_needs_no_putting_right(text: str) -> None:
    assert repaired(text) is None


@settings(deadline=None)
@given(
    st.lists(
        st.sampled_from(
            [
                "no",
                "not",
                "nine",
                "ninety",
                "make",
                "that",
                "wait",
                "sorry",
                "…",
                "it's",
                "first",
                "to",
            ]
        )
    )
)
def test_any_words_are_taken(words: list[str]) -> None:
    text = " ".join(words)
    for correction in corrections(tokenise(text)):
        assert correction.new or correction.old is None
    repair = repaired(text)
    assert repair is None or repair.new
