"""Quiet before a number and between its chunks, and nowhere else; the words stay what they are."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.language.pacing import paced


@pytest.mark.parametrize(
    ("sentence", "expected"),
    [
        (
            "Mark at eleven and one sixteenth inches.",
            "Mark at, eleven, and one sixteenth inches.",
        ),
        ("Thirteen and a quarter inches.", "Thirteen, and a quarter inches."),
        (
            "Torque fifty, five zero newton metres.",
            "Torque, fifty, five zero newton metres.",
        ),
        ("That is five hundred and fifty-one psi.", "That is, five hundred and fifty-one psi."),
        ("It is three eighths of an inch.", "It is, three eighths of an inch."),
        ("Start of bend: eleven inches.", "Start of bend: eleven inches."),
        ("You have two.", "You have, two."),
        ("One more time.", "One more time."),
        ("Cone backed off.", "Cone backed off."),
        ("", ""),
    ],
)
def test_paced(sentence: str, expected: str) -> None:
    assert paced(sentence) == expected


WORDS = ["at", "mark", "one", "fifty,", "and", "a", "half", "inches.", "psi", "zero", "of", "two."]


@settings(deadline=None)
@given(st.lists(st.sampled_from(WORDS)))
def test_the_words_stay_what_they_are(words: list[str]) -> None:
    sentence = " ".join(words)
    assert paced(sentence).replace(",", "") == sentence.replace(",", "")
