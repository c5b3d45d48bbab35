"""Plans: what the trade says of order, ends, flips and checks, and what is said where none goes."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from handsfree.calculators.bends.advice import Change
from handsfree.calculators.bends.piece import Bend, Bender, Body, Piece
from handsfree.calculators.bends.planner import NoPlan, Plan, plan
from handsfree.calculators.bends.shapes import saddle_of_three, u_bend
from handsfree.calculators.bends.space import apart
from handsfree.errors import Refusal

R = 15 / 16
TOOL = Bender(Fraction(15, 16), springback=0.9667, between=1.25, grip=1, after=1.5)
Z = Piece((10, 18, 12), (Bend(90), Bend(90, 180)), Fraction(3, 8), TOOL)


def _plan(piece: Piece, **more: object) -> Plan:
    found = plan(piece, **more)  # type: ignore[arg-type]
    assert isinstance(found, Plan)
    return found


def _no_plan(piece: Piece) -> NoPlan:
    found = plan(piece)
    assert isinstance(found, NoPlan)
    return found


def test_the_example_reads_as_the_trade_would_say_it() -> None:
    # C-03: bend one L 10, flip, bend two L 27.5976; pull 90 to 93.1
    made = _plan(Z)
    assert [(s.bend, s.index, s.hook, s.turn, s.swap) for s in made.steps] == [
        (0, "L", "left", 0.0, False),
        (1, "L", "left", pytest.approx(180), False),
    ]
    assert [s.mark for s in made.steps] == pytest.approx([10, 27.5976], abs=5e-5)
    assert made.cut == pytest.approx(39.1952, abs=5e-5)
    assert made.straights[1] == pytest.approx(16.125)
    # grip 1, between 1-1/4, shoe 1-1/2, each with its setbacks of 15/16
    assert made.smallest == pytest.approx([1.9375, 3.125, 2.4375])
    assert made.steps[0].pull_to == pytest.approx(93.1, abs=0.01)
    assert [s.legs for s in made.steps] == [(1,), (2, 3)]


def test_a_bend_that_is_not_square_starts_at_the_zero() -> None:
    # C-03, second example: starts 7-3/8, 16-7/16, 26-11/16 and 45, 90, 45
    tool = Bender(Fraction(3, 2))
    bends = (Bend(45), Bend(90), Bend(45))
    made = _plan(Piece((8, 10, 10, 8), bends, Fraction(1, 2), tool))
    assert [s.index for s in made.steps] == ["0", "L", "0"]
    assert [s.start for s in made.steps] == pytest.approx([7.375, 16.4375, 26.6875], abs=1 / 32)


def test_a_tool_without_index_marks_starts_every_bend_at_the_zero() -> None:
    made = _plan(replace(Z, bender=replace(TOOL, indexed=())))
    assert [s.index for s in made.steps] == ["0", "0"]
    assert [s.mark for s in made.steps] == [s.start for s in made.steps]


def test_the_centre_of_a_saddle_can_be_bent_first() -> None:
    # P28: bend the middle of a three-bend saddle first, then flip for the outers
    piece = saddle_of_three(2, 45, 30, 60, Fraction(3, 8), TOOL)
    made = _plan(piece, first=1)
    assert [s.bend for s in made.steps] == [1, 0, 2]
    assert [abs(s.turn) for s in made.steps] == pytest.approx([0, 180, 0])
    assert [s.mark for s in made.steps] == pytest.approx([30, 24.8, 35.625], abs=1 / 32)


def test_a_first_leg_too_short_to_grip_is_held_by_the_other_end() -> None:
    # 2 in of leg leave 1-1/16 of straight: enough for the shoe, not for the hook
    tool = Bender(Fraction(15, 16), between=1, grip=1.25, after=1)
    made = _plan(Piece((2, 18, 12), (Bend(90), Bend(90, 180)), Fraction(3, 8), tool))
    assert {s.hook for s in made.steps} == {"right"}
    assert [s.index for s in made.steps] == ["R", "R"]
    assert [s.bend for s in made.steps] == [1, 0]


def test_two_bends_too_close_are_told_by_how_much_to_lengthen_which_leg() -> None:
    # straight between is 3 - 2 x 15/16 = 1-1/8 against 1-1/4
    found = _no_plan(replace(Z, legs=(10, 3, 12)))
    assert found.changes == (Change("lengthen", 2, pytest.approx(0.125)),)
    assert {stop.trouble for stop in found.blocked} == {"between"}


def test_an_end_leg_too_short_is_bent_long_and_trimmed() -> None:
    tool = Bender(Fraction(15, 16), grip=1.25, after=1.5)
    found = _no_plan(Piece((1.5, 12), (Bend(90),), Fraction(3, 8), tool))
    # 1.5 - 15/16 = 9/16 of straight; the hook wants 1-1/4
    assert found.changes == (Change("trim", 1, pytest.approx(0.6875)),)


def _near(body: Body, *legs: float) -> Piece:
    tool = Bender(Fraction(15, 16), between=1.25, grip=1, after=1.5, body=body)
    bends = tuple(Bend(90) for _ in legs[1:])
    return Piece(legs, bends, Fraction(3, 8), tool)


def test_a_wall_near_the_tool_keeps_the_long_leg_in_the_hook() -> None:
    # a leg of 40 cannot swing where 30 are clear, so the long end stays in the hook
    body = Body(half_width=0.3, handle=1, clear=30)
    made = _plan(_near(body, 40, 10))
    assert made.steps[0].hook == "left"
    made = _plan(_near(body, 10, 40))
    assert made.steps[0].hook == "right"


def test_where_both_ends_are_too_long_to_swing_more_room_is_advised() -> None:
    body = Body(half_width=0.3, handle=1, clear=30)
    found = _no_plan(_near(body, 40, 40))
    assert {stop.trouble for stop in found.blocked} == {"wall"}
    assert found.changes == (Change("make_room"),)


def test_what_is_advised_makes_the_piece() -> None:
    chance = random.Random(11)  # noqa: S311 - the same pieces each time
    advised: dict[str, int] = {}
    for _ in range(1_500):
        body = Body(
            half_width=chance.uniform(0.3, 1.2),
            handle=chance.uniform(4, 14),
            handle_angle=chance.choice([0, 45, 90]),
            bench=chance.choice([None, 1.5]),
            clear=chance.choice([None, 30]),
        )
        tool = replace(TOOL, body=body)
        bends = tuple(
            Bend(chance.choice([90, 45]), chance.choice([0, 180, 90]))
            for _ in range(chance.randint(2, 6))
        )
        legs = tuple(chance.uniform(4, 20) for _ in range(len(bends) + 1))
        try:
            found = plan(Piece(legs, bends, Fraction(3, 8), tool))
        except Refusal:
            continue
        if not isinstance(found, NoPlan):
            continue
        assert found.changes
        advised[found.changes[0].kind] = advised.get(found.changes[0].kind, 0) + 1
        assert _helped(found)
    assert {"lengthen", "make_room", "off_bench", "join"} <= set(advised)


def _helped(found: NoPlan) -> bool:
    """Return whether the piece can be made with what was advised; joining always helps."""
    longer = [float(leg) for leg in found.piece.legs]
    tool = found.piece.bender
    for change in found.changes:
        if change.kind == "join":
            return True
        if change.kind in ("off_bench", "make_room"):
            assert tool.body is not None
            clear = None if change.kind == "make_room" else tool.body.clear
            tool = replace(tool, body=replace(tool.body, bench=None, clear=clear))
        if change.leg is not None:
            longer[change.leg - 1] += change.by
    try:
        return isinstance(plan(replace(found.piece, legs=tuple(longer), bender=tool)), Plan)
    except Refusal as refusal:
        return refusal.key == "crosses_itself"


def test_bends_that_run_into_each_other_are_refused_whatever_the_tool() -> None:
    with pytest.raises(Refusal) as refused:
        plan(replace(Z, legs=(10, 1, 12)))
    assert refused.value.key == "too_close"


def test_a_piece_that_crosses_itself_is_refused() -> None:
    square = tuple(Bend(90) for _ in range(4))
    with pytest.raises(Refusal) as refused:
        plan(Piece((14, 8, 8, 8, 14), square, Fraction(3, 8), TOOL))
    assert refused.value.key == "crosses_itself"
    assert isinstance(plan(Piece((14, 8, 9, 7, 6), square, Fraction(3, 8), TOOL)), Plan)


def test_a_return_is_planned_with_its_start_at_the_zero() -> None:
    # C-05: start 11-1/16, cut 25.0702
    made = _plan(u_bend(12, None, Fraction(3, 8), TOOL))
    assert made.steps[0].mark == pytest.approx(11.0625)
    assert made.steps[0].index == "0"
    assert made.cut == pytest.approx(25.0702, abs=5e-5)


points = some.tuples(*(some.floats(-10, 10) for _ in range(3)))


@settings(deadline=None)
@given(points, points, points, points)
def test_how_far_two_stretches_are_apart_against_sampling(
    a: tuple[float, float, float],
    b: tuple[float, float, float],
    c: tuple[float, float, float],
    d: tuple[float, float, float],
) -> None:
    told = apart((a, b), (c, d))
    many = 25
    sampled = min(
        sum(
            (p + (q - p) * i / many - r - (s - r) * j / many) ** 2
            for p, q, r, s in zip(a, b, c, d, strict=True)
        )
        ** 0.5
        for i in range(many + 1)
        for j in range(many + 1)
    )
    assert told <= sampled + 1e-6
    longest = max(
        sum((q - p) ** 2 for p, q in zip(x, y, strict=True)) ** 0.5 for x, y in ((a, b), (c, d))
    )
    assert sampled - told <= longest / many + 1e-6
