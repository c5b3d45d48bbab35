"""When a finer tape is offered, and when two roundings are owned up to (job practice, by hand)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from handsfree.calculators.bends.asking import bender, piece_of
from handsfree.calculators.bends.planner import left_to_right
from handsfree.calculators.bends.rounding import notes


def told(legs: list[float | Fraction], *angles: int) -> tuple[tuple[str, ...], dict[str, str]]:
    piece = piece_of(tuple(map(Fraction, legs)), angles, None, bender(1), "centre")
    return notes(left_to_right(piece))


@pytest.mark.parametrize(
    ("legs", "expected"),
    [
        # marks 10, 28 - 0.4292 (0.0083 over 27-9/16): two bends, nothing worth a word
        ([10, 18, 12], ()),
        # 27.5708 is 0.0083 off, 39.1416 is 0.0166 off: over a sixty-fourth at the third bend
        ([10, 18, 12, 10], ("thirty_seconds",)),
        # 28 1/32 - 0.4292 = 27.6020 is 0.0230 over, and 39.1729 is 0.0146 over: 0.008 between
        ([10, 18 + Fraction(1, 32), 12, 10], ("thirty_seconds",)),
    ],
)
def test_thirty_seconds_are_offered_from_three_bends_on(
    legs: list[float | Fraction], expected: tuple[str, ...]
) -> None:
    assert told(legs, 90)[0] == expected


def test_a_leg_that_two_roundings_leave_a_sixteenth_off_is_named() -> None:
    # 27.6020 is told 27-5/8, 0.0230 over; 40 - 0.8584 = 39.1416 is told 39-1/8, 0.0166 under:
    # leg 3 is 0.0396 short, nearer to a sixteenth than to nothing
    found, words = told([10, 18 + Fraction(1, 32), 12 - Fraction(1, 32), 10], 90)
    assert found == ("two_roundings", "thirty_seconds")
    assert words == {"rounded_leg": "3", "longer": "short"}


def test_what_no_inch_tape_shows_is_left_alone() -> None:
    assert told([Fraction(250) / Fraction("25.4")] * 4, 90) == ((), {})
