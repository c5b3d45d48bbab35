"""Pauses: 0.4 s before a number and 0.2 s between its chunks, and nowhere else."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.language.pacing import Piece, pieces


@pytest.mark.parametrize(
    ("sentence", "expected"),
    [
        (
            "Mark at eleven and one sixteenth inches.",
            [(0.0, "Mark at"), (0.4, "eleven"), (0.2, "and one sixteenth inches.")],
        ),
        ("Thirteen and a quarter inches.", [(0.0, "Thirteen"), (0.2, "and a quarter inches.")]),
        (
            "Torque fifty, five zero newton metres.",
            [(0.0, "Torque"), (0.4, "fifty,"), (0.2, "five zero newton metres.")],
        ),
        (
            "That is five hundred and fifty-one psi.",
            [(0.0, "That is"), (0.4, "five hundred and fifty-one psi.")],
        ),
        (
            "It is three eighths of an inch.",
            [(0.0, "It is"), (0.4, "three eighths of an inch.")],
        ),
        ("You have two.", [(0.0, "You have"), (0.4, "two.")]),
        ("One more time.", [(0.0, "One more time.")]),
        ("Cone backed off.", [(0.0, "Cone backed off.")]),
        ("", []),
    ],
)
def test_pieces(sentence: str, expected: list[tuple[float, str]]) -> None:
    assert pieces(sentence) == tuple(Piece(*one) for one in expected)


@settings(deadline=None)
@given(
    st.lists(
        st.sampled_from(
            [
                "at",
                "mark",
                "one",
                "fifty,",
                "and",
                "a",
                "half",
                "inches.",
                "psi",
                "zero",
                "of",
                "two.",
            ]
        )
    )
)
def test_joined_they_are_the_sentence(words: list[str]) -> None:
    sentence = " ".join(words)
    assert " ".join(piece.text for piece in pieces(sentence)) == sentence
