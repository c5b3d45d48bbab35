"""What people type without having read any help: it is answered, or asked about, never passed over.

`asked_plainly.tsv`: the sentence, what comes of it, and the owner that must take it. Everyday
phrasings, collected by using the thing; no source but common practice.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from asked_rows import asked_rows

from handsfree.edge.replay import Player
from handsfree.library import Library

ROWS = asked_rows(Path(__file__).parent / "asked_plainly.tsv")


@pytest.mark.parametrize(("sentence", "outcome", "what"), ROWS, ids=[row[0] for row in ROWS])
def test_asked_plainly(sentence: str, outcome: str, what: str, known: Library) -> None:
    told, _ = Player(known).hear(sentence)
    assert (told.outcome, told.what) == (outcome, what), told.say


@pytest.mark.parametrize(
    ("padded", "bare"),
    [
        ("can you tell me the torque for half inch please", "torque for half inch"),
        ("okay so I want to recover the gas now", "recover the gas"),
        ("please stop", "stop"),
        ("hey um what's 500 microns in torr thanks", "what's 500 microns in torr"),
    ],
)
def test_courtesy_changes_nothing(padded: str, bare: str, known: Library) -> None:
    with_it, _ = Player(known).hear(padded)
    without, _ = Player(known).hear(bare)
    assert with_it.what == without.what is not None
    assert with_it.say == without.say


@pytest.mark.parametrize(
    "sentence",
    [
        "I don't want to recover the gas",
        "please don't start the pressure test",
        "never cut a tube",
    ],
)
def test_courtesy_hides_no_negation(sentence: str, known: Library) -> None:
    told, _ = Player(known).hear(sentence)
    assert told.outcome in ("ignored", "refused")
    assert told.at is None


@pytest.mark.parametrize(
    ("sentence", "never"),
    [
        ("fall over 20 feet at a quarter inch for every foot", "20 ft at"),
        ("where do I mark a ninety at fifteen fifteen", "15.9"),
        ("add 9 eighths and 5 sixteenths", "9 plus 5"),
    ],
)
def test_no_part_of_a_number_is_dropped_or_joined(
    sentence: str, never: str, known: Library
) -> None:
    told, _ = Player(known).hear(sentence)
    assert not any(never in said for said in told.say), told.say


@pytest.mark.parametrize(
    ("sentence", "said"),
    # arithmetic: 7 / 16, 0.375 x 25.4 = 9.525; ASTM B88: an eighth more outside
    [
        ("what's 7/16 as a decimal", ["7/16 in is 0.4375 in."]),
        ("0.4375 as a fraction", ["0.4375 in is 7/16 in."]),
        (
            "0.3 to the nearest sixteenth",
            ["0.3 in.", "Nearest thirty-second 5/16 in, nearest sixteenth 5/16 in."],
        ),
        ("what is 3/8 in mm", ["3/8 in is 9.5 mm."]),
        ("how many microns in a torr", ["1 torr is 1000 micron."]),
        (
            "what's the OD of half inch type L",
            ["Plumbing 1/2 in is nominal.", "Outside it is 5/8 in."],
        ),
        (
            "is half inch plumbing pipe the same",
            ["No.", "Plumbing 1/2 in is nominal.", "Outside it is 5/8 in."],
        ),
    ],
)
def test_what_is_asked_is_what_is_answered(sentence: str, said: list[str], known: Library) -> None:
    told, _ = Player(known).hear(sentence)
    assert list(told.say) == said
