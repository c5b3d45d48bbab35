"""Re-basing, against geometry worked by hand: later legs come out right, one takes it up."""

from __future__ import annotations

from fractions import Fraction
from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from handsfree.calculators.bends.piece import Bend, Bender, End, Piece
from handsfree.calculators.bends.planner import Plan, plan
from handsfree.calculators.bends.rebase import Rebased, rebase
from handsfree.errors import Refusal

R = 15 / 16
TOOL = Bender(Fraction(15, 16), between=1.25, grip=1, after=1.5)
Z = Piece((10, 18, 12), (Bend(90), Bend(90, 180)), Fraction(3, 8), TOOL)


def _plan(piece: Piece, end: End = "left") -> Plan:
    found = plan(piece, end)
    assert isinstance(found, Plan)
    return found


def test_the_example_moves_the_second_mark_by_the_error() -> None:
    # C-03: marks 10 and 27.5976; the first leg came out an eighth long
    now = rebase(_plan(Z), 0, 1, Fraction(81, 8), far_leg_may_move=True)
    assert now.moved
    assert now.error == pytest.approx(0.125)
    assert now.steps[0].mark == pytest.approx(27.5976 + 0.125, abs=5e-5)
    assert (now.leg, now.length) == (3, pytest.approx(12 - 0.125))


def test_where_the_far_leg_may_not_move_the_next_leg_takes_it() -> None:
    now = rebase(_plan(Z), 0, 1, Fraction(81, 8), far_leg_may_move=False)
    assert not now.moved
    assert now.steps[0].mark == pytest.approx(27.5976, abs=5e-5)
    assert (now.leg, now.length) == (2, pytest.approx(18 - 0.125))


def test_a_sixteenth_is_let_pass() -> None:
    now = rebase(_plan(Z), 0, 1, 10 + Fraction(1, 16), far_leg_may_move=True)
    assert not now.moved
    assert now.leg == 2


def test_from_the_right_end_the_marks_move_the_same_way_on_the_tape() -> None:
    plan_of_it = _plan(Z, "right")
    first = plan_of_it.steps[0]
    assert first.bend == 1
    now = rebase(plan_of_it, 1, 3, 12.25, far_leg_may_move=True)
    assert now.steps[0].mark == pytest.approx(plan_of_it.steps[1].mark + 0.25)
    assert (now.leg, now.length) == (1, pytest.approx(9.75))


def test_a_leg_that_is_not_finished_cannot_be_measured() -> None:
    with pytest.raises(Refusal) as refused:
        rebase(_plan(Z), 0, 2, 18, far_leg_may_move=True)
    assert refused.value.key == "not_beside"


def test_the_far_leg_must_stay_long_enough_for_the_shoe() -> None:
    # 12 - 15/16 - 1-1/2 = 9-9/16 is all that the last leg can give
    rebase(_plan(Z), 0, 1, 10 + 9.5, far_leg_may_move=True)
    with pytest.raises(Refusal) as refused:
        rebase(_plan(Z), 0, 1, 10 + 9.625, far_leg_may_move=True)
    assert refused.value.key == "tail_short"


def _legs_as_bent(starts: list[float], cut: float) -> list[float]:
    """Return the legs of square bends that start here, by hand: apexes R beyond, arcs of R·pi/2."""
    found, end, back = [], 0.0, 0.0
    for start in starts:
        found.append(start - end + back + R)
        end, back = start + R * pi / 2, R
    return [*found, cut - end + back]


@settings(deadline=None)
@given(
    some.lists(some.integers(16 * 6, 16 * 20), min_size=3, max_size=6),
    some.integers(-12, 12),
    some.booleans(),
    some.integers(0, 3),
)
def test_only_one_leg_takes_the_error_up(
    sixteenths: list[int],
    thirty_seconds: int,
    may_move: bool,  # noqa: FBT001 - hypothesis fills it by name
    which: int,
) -> None:
    legs = tuple(Fraction(n, 16) for n in sixteenths)
    piece = Piece(legs, tuple(Bend(90, 180) for _ in legs[1:]), Fraction(3, 8), TOOL)
    planned = _plan(piece)
    bend = which % (len(legs) - 1)
    error = thirty_seconds / 32
    now: Rebased = rebase(
        planned, bend, bend + 1, float(legs[bend]) + error, far_leg_may_move=may_move
    )
    starts = [step.start for step in planned.steps[: bend + 1]]
    starts[bend] += error
    starts.extend(step.start for step in now.steps)
    bent = _legs_as_bent(starts, planned.cut)
    wanted = [float(leg) for leg in legs]
    wanted[bend] += error
    wanted[now.leg - 1] = now.length
    assert bent == pytest.approx(wanted, abs=1e-9)
