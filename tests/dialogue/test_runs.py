from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction

import pytest

from handsfree.dialogue.slots import request_of
from handsfree.dialogue.state import State
from handsfree.dialogue.vocabulary import vocabulary
from handsfree.edge.replay import Player
from handsfree.language.tokens import tokenise
from handsfree.library import Library
from handsfree.quantity import Kind, Reading
from handsfree.record.entries import Asked

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


def read(text: str, known: Library, question: str = "") -> dict[str, list[float]]:
    """Return the numbers of each kind that a sentence gives, after a question or on its own."""
    player = Player(known)
    if question:
        player.hear(question)
    told, _ = player.hear(text)
    found: dict[str, list[float]] = {
        name: [one["value"] for one in value]
        for name, value in told.slots.items()
        if isinstance(value, list)
    }
    return found


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
    expected = {"leg": legs, "angle": angles}
    assert read(text, known, "how long do I cut it") == expected
    assert read(f"cut length {text}", known) == expected
    assert read(f"how long do I cut it for legs of {text}", known) == expected


def test_a_run_that_can_be_cut_in_two_ways_is_asked_about(known: Library) -> None:
    player = Player(known)
    player.hear("how long do I cut it")
    told, _ = player.hear("ten, thirty-seven degrees, eighteen, ninety, twelve")
    assert told.outcome == "asked"
    assert "10 in, 18 in, 12 in, angle 37°, 90°, or" in told.say[0]


@pytest.mark.parametrize(
    ("question", "text", "expected"),
    [
        ("", "what size core for three eighths by three quarters", {"sizes": [3 / 8, 3 / 4]}),
        ("", "what size core for quarter by half", {"sizes": [1 / 4, 1 / 2]}),
        ("", "what size core for 3/8 x 5/8", {"sizes": [3 / 8, 5 / 8]}),
        ("", "what size core for 3/8x3/4", {"sizes": [3 / 8, 3 / 4]}),
        ("how big a hole", "three eighths and three quarters", {"sizes": [3 / 8, 3 / 4]}),
        ("how much is left on the roll", "fifty feet", {}),
        ("micron rise", "three eighty and four sixty", {"readings": [380, 460]}),
    ],
)
def test_values_of_one_kind_are_joined_by_and(
    known: Library, question: str, text: str, expected: dict[str, list[float]]
) -> None:
    assert read(text, known, question) == expected


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
