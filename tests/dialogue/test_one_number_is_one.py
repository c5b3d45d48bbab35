"""An answer of one number is one value: "fifty two" is never fifty and two."""

from __future__ import annotations

import pytest
from num2words import num2words

from handsfree.edge.replay import Player
from handsfree.library import Library


@pytest.mark.parametrize("number", [21, 32, 45, 52, 68, 77, 99, 103, 118, 150])
@pytest.mark.parametrize(
    ("asked", "slot"),
    [("what's my superheat", "suction"), ("sub cooling please", "liquid")],
)
def test_one_temperature(number: int, asked: str, slot: str, known: Library) -> None:
    player = Player(known)
    player.hear(asked)
    told, _ = player.hear(num2words(number).replace("-", " "))
    assert told.slots[slot] == {"value": number, "unit": "fahrenheit"}
    assert "saturation" not in told.slots
    assert told.outcome == "asked"


def test_two_numbers_with_and_come_in_the_order_of_the_sum(known: Library) -> None:
    player = Player(known)
    player.hear("what's my superheat")
    told, _ = player.hear("fifty two and forty")
    assert told.slots["suction"]["value"] == 52
    assert told.slots["saturation"]["value"] == 40
    assert told.outcome == "did"


def test_a_number_too_long_for_one_question_is_not_split(known: Library) -> None:
    player = Player(known)
    player.hear("overnight test pass")
    told, _ = player.hear("five fifty")
    assert told.slots["start"] == {"value": 550, "unit": "psi"}
    assert "start_temperature" not in told.slots
