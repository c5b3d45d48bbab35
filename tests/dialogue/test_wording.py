"""Sentences: filled with readings, as written and as spoken."""

from __future__ import annotations

from fractions import Fraction

import pytest

from handsfree.dialogue.wording import (
    Filling,
    Given,
    ReadBack,
    Sentence,
    choices_told,
    difference,
    render,
    written_out,
)
from handsfree.language.units import Ambiguous
from handsfree.quantity import Kind, Reading, degrees, inches

EITHER = Ambiguous(
    (
        Reading(Fraction(15), "newton_metre", Kind.TORQUE),
        Reading(Fraction(15), "foot_pound", Kind.TORQUE),
    )
)


@pytest.mark.parametrize(
    ("filling", "text", "speech"),
    [
        (
            ReadBack(inches(Fraction(57, 4)), ("fourteen", "and", "a", "quarter")),
            "14-1/4 in (14.25 in).",
            "Fourteen and a quarter, fourteen point two five inches.",
        ),
        (
            ReadBack(inches(Fraction(74)), ("six", "foot", "two")),
            "6 ft 2 in (74 in).",
            "Six feet two inches, seventy-four inches.",
        ),
        (
            ReadBack(Reading(Fraction(18), "ounce", Kind.MASS)),
            "1 lb 2 oz (18 oz).",
            "One pound two ounces, eighteen, one eight ounces.",
        ),
        (ReadBack(inches(Fraction(12))), "12 in.", "Twelve inches."),
        (
            Given((degrees(Fraction(90)), inches(Fraction(15)))),
            "90°, 15 in.",
            "Ninety, nine zero degrees, fifteen, one five inches.",
        ),
        (
            EITHER,
            "15 N·m, or 15 lbf·ft.",
            "Fifteen, one five newton metres, or fifteen, one five foot pounds.",
        ),
        (Sentence("3/8 in", "three eighths of an inch"), "3/8 in.", "Three eighths of an inch."),
    ],
)
def test_what_fills_a_sentence(filling: Filling, text: str, speech: str) -> None:
    assert render("{it}.", {"it": filling}) == (Sentence(text, speech),)


def test_each_of_two_units_is_told_for_itself() -> None:
    first, second = choices_told(EITHER)
    assert (first.text, second.text) == ("15 N·m", "15 lbf·ft")
    assert second.speech == "fifteen, one five foot pounds"


def test_two_readings_of_a_request_are_told_by_what_differs() -> None:
    first = {"angle": degrees(Fraction(90)), "distance": inches(Fraction(99, 8))}
    second = {
        "angle": degrees(Fraction(90)),
        "distance": inches(Fraction(12)),
        "size": inches(Fraction(3, 8)),
    }
    assert difference(first, second) == (
        Sentence("distance 12-3/8 in", "distance twelve and three eighths inches"),
        Sentence(
            "distance 12 in, size 3/8 in", "distance twelve inches, size three eighths of an inch"
        ),
    )


def test_sentences_are_written_out_as_one_text() -> None:
    assert written_out(render("One. {n}?", {"n": inches(Fraction(2))})) == "One. 2 in?"
