from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction

import pytest

from handsfree.dialogue.in_order import requests_in_order
from handsfree.dialogue.slots import request_of
from handsfree.dialogue.state import State
from handsfree.dialogue.vocabulary import vocabulary
from handsfree.language.tokens import tokenise
from handsfree.library import Library
from handsfree.quantity import Kind, Reading
from handsfree.record.entries import Asked

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


def read(text: str, names: tuple[str, ...], known: Library) -> list[dict[str, list[Fraction]]]:
    card = known.cards["cut_length"]
    found = requests_in_order(tokenise(text), card, names, State(), known)
    return [
        {name: [one.value for one in many] for name, many in request.slots.items()}  # type: ignore[union-attr]
        for request in found
    ]


@pytest.mark.parametrize(
    ("text", "legs", "angles"),
    [
        ("fifteen ninety fifteen", [15, 15], [90]),
        ("ten forty five twenty", [10, 20], [45]),
        ("one hundred ninety two hundred", [100, 200], [90]),
        ("fourteen twenty two and a half eleven", [14, 11], [22.5]),
        ("twenty ninety thirty five forty five twenty two and a half", [20, 35, 22.5], [90, 45]),
    ],
)
def test_legs_and_angles_in_turn_are_told_apart(
    known: Library, text: str, legs: list[float], angles: list[float]
) -> None:
    assert read(text, ("leg", "angle"), known) == [{"leg": legs, "angle": angles}]


def test_one_kind_alone_comes_one_after_the_other(known: Library) -> None:
    assert read("ninety forty five", ("angle",), known) == [{"angle": [90, 45]}]
    assert read("ninety and sixty and thirty", ("angle",), known) == [{"angle": [90, 60, 30]}]


def test_what_is_no_run_is_left_to_others(known: Library) -> None:
    assert read("fifteen", ("leg", "angle"), known) == []
    assert read("fifteen ninety fifteen", ("radius",), known) == []


def test_what_is_asked_in_order_can_be_heard_in_order(known: Library) -> None:
    job = replace(
        State().job,
        questions=(Asked(at=AT, what="cut_length", question="?", missing=("leg", "angle")),),
    )
    grammar = vocabulary(State(job), known)
    assert known.parser.readings(grammar.start, tokenise("fifteen ninety fifteen"))


def test_a_phrase_may_imply_a_value_that_can_come_several_times(known: Library) -> None:
    card = known.cards["cut_length"]
    request = request_of(card, (), {"angle": "22.5"}, State())
    assert request is not None
    assert request.slots == {"angle": (Reading(Fraction(45, 2), "degree", Kind.ANGLE),)}


def test_a_value_that_a_phrase_cannot_imply_is_told(known: Library) -> None:
    card = known.cards["bend_mark"]
    assert card.preset_problem("angle", "90") == ""
    assert card.preset_problem("dimension_to", "centre") == ""
    assert "such as 90 or 22.5" in card.preset_problem("angle", "ninety")
    assert "not one of its slots" in card.preset_problem("colour", "red")
    assert "write centre, outside" in card.preset_problem("dimension_to", "sideways")
