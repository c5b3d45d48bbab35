"""Pieces and shapes: what a piece holds true of itself, and where the trade's shapes end up."""

from __future__ import annotations

from fractions import Fraction
from math import cos, hypot, radians, sin, tan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from handsfree.calculators.bends import room, shapes
from handsfree.calculators.bends.piece import Bend, Bender, Piece
from handsfree.errors import Refusal

SMALL = Bender(Fraction(15, 16))
EXACT = 1e-9


def _flat_walk(piece: Piece) -> list[tuple[float, float]]:
    """Walk a flat piece apex by apex with plain trigonometry: the ends of its centre legs."""
    x = y = heading = 0.0
    side = 1
    points = [(x, y)]
    for position, leg in enumerate(piece.centre_legs):
        x, y = x + leg * cos(heading), y + leg * sin(heading)
        points.append((x, y))
        if position < len(piece.bends):
            bend = piece.bends[position]
            side = side if not position or bend.roll == 0 else -side
            heading += side * radians(float(bend.angle))
    return points


legs = some.floats(6, 60)
angles = some.floats(1, 120)


@settings(deadline=None)
@given(some.lists(some.tuples(legs, angles), min_size=1, max_size=9), legs)
def test_the_apex_mark_is_the_legs_so_far_less_the_gains_so_far(
    pairs: list[tuple[float, float]], last: float
) -> None:
    # the two ways in which the trade says it give one mark
    piece = Piece((*(leg for leg, _ in pairs), last), tuple(Bend(a) for _, a in pairs), None, SMALL)
    for number, apex in enumerate(piece.apexes):
        by_gains = sum(piece.centre_legs[: number + 1]) - sum(piece.gains[:number])
        assert apex == pytest.approx(by_gains, abs=EXACT)
    assert piece.ends[-1] + piece.straights[-1] == pytest.approx(piece.cut, abs=EXACT)


@settings(deadline=None)
@given(legs, legs, legs, angles, angles, some.sampled_from(["outside", "inside"]))
def test_a_leg_converts_at_each_end_that_is_bent(  # noqa: PLR0913 - three legs, two bends
    one: float, two: float, three: float, first: float, second: float, to: str
) -> None:
    piece = Piece(
        (one, two, three), (Bend(first), Bend(second)), Fraction(3, 8), SMALL,
        "outside" if to == "outside" else "inside",
    )  # fmt: skip
    sign = 1 if to == "outside" else -1
    half = [3 / 16 * tan(radians(a) / 2) for a in (first, second)]
    expected = (one - sign * half[0], two - sign * sum(half), three - sign * half[1])
    assert piece.centre_legs == pytest.approx(expected, abs=EXACT)


@pytest.mark.parametrize(
    ("legs_of", "bends", "key"),
    [
        ((10, 12, 14), (Bend(90),), "angles_and_legs"),
        ((10,), (), "angles_and_legs"),
        ((0, 10), (Bend(90),), "leg_range"),
        ((-3, 10), (Bend(90),), "leg_range"),
        ((10, 601), (Bend(90),), "leg_range"),
        ((10, 10), (Bend(0),), "angle_range"),
        ((10, 10), (Bend(181),), "angle_range"),
        ((10, 10), (Bend(180),), "no_apex"),
    ],
)
def test_a_piece_that_cannot_be_is_refused(
    legs_of: tuple[int, ...], bends: tuple[Bend, ...], key: str
) -> None:
    with pytest.raises(Refusal) as refused:
        Piece(legs_of, bends, Fraction(3, 8), SMALL)
    assert refused.value.key == key


def test_a_ratchet_bends_ninety_at_most() -> None:
    ratchet = Bender(Fraction(15, 16), largest=90)
    with pytest.raises(Refusal) as refused:
        Piece((10, 10), (Bend(120),), Fraction(3, 8), ratchet)
    assert refused.value.key == "too_sharp"


@settings(deadline=None)
@given(some.floats(0.5, 30), some.sampled_from([10, 15, 22.5, 30, 45, 60]), some.floats(20, 80))
def test_an_offset_runs_on_level_and_as_high_as_asked(
    height: float, angle: float, overall: float
) -> None:
    first = 12.0
    if overall <= first + shapes.run(height, angle) + 1:
        return
    piece = shapes.offset(height, angle, None, SMALL, shapes.Ends(first, overall))
    end = _flat_walk(piece)[-1]
    assert end == pytest.approx((overall, height), abs=EXACT)


@settings(deadline=None)
@given(some.floats(0.5, 8), some.sampled_from([45, 60]), some.floats(30, 60))
def test_a_saddle_comes_back_to_its_run_and_its_crown_rises_as_asked(
    rise: float, centre_angle: float, centre: float
) -> None:
    overall = 2 * centre
    piece = shapes.saddle_of_three(rise, centre_angle, centre, overall, None, SMALL)
    points = _flat_walk(piece)
    assert points[-1] == pytest.approx((overall, 0), abs=EXACT)
    top = points[2]
    assert top[0] == pytest.approx(centre, abs=EXACT)
    # from the apex down to the round crown: R over the cosine of half the bend, less R
    crown = top[1] - (15 / 16) * (1 / cos(radians(centre_angle) / 2) - 1)
    assert crown == pytest.approx(rise, abs=EXACT)


def test_a_saddle_of_four_is_flat_on_top_and_level_at_the_end() -> None:
    piece = shapes.saddle_of_four(3, 8, 30, None, SMALL, shapes.Ends(12, 60))
    points = _flat_walk(piece)
    assert points[2][1] == pytest.approx(3)
    assert points[3][1] == pytest.approx(3)
    assert points[3][0] - points[2][0] == pytest.approx(8)
    assert points[-1] == pytest.approx((60, 0), abs=EXACT)


@settings(deadline=None)
@given(some.floats(0.5, 20), some.floats(0.5, 20))
def test_a_rolled_offset_goes_up_and_over(rise: float, roll: float) -> None:
    found = shapes.rolling(rise, roll)
    assert found.true * cos(radians(found.roll)) == pytest.approx(rise)
    assert found.true * sin(radians(found.roll)) == pytest.approx(roll)


def test_a_u_narrower_than_the_former_is_refused_with_the_tightest() -> None:
    with pytest.raises(Refusal) as refused:
        shapes.u_bend(12, 1.5, None, SMALL)
    assert refused.value.key == "too_narrow"
    assert refused.value.values["tightest"].value == pytest.approx(1.875)  # type: ignore[attr-defined]


def test_the_smallest_offset_just_fits() -> None:
    tool = Bender(Fraction(3, 2), between=1)
    for angle in shapes.STEEPEST_FIRST:
        least = shapes.smallest_offset(tool, angle)
        assert not room.shortages(shapes.offset(least + 1e-6, angle, None, tool))
        assert room.shortages(shapes.offset(least - 1e-6, angle, None, tool))


corners = some.tuples(some.floats(8, 30), some.floats(10, 100), some.booleans())


@settings(deadline=None)
@given(some.lists(corners, min_size=1, max_size=5), some.floats(8, 30), some.floats(0.5, 3))
def test_the_tube_beside_stays_as_far_away_all_along(
    bends: list[tuple[float, float, bool]], last: float, spacing: float
) -> None:
    piece = Piece(
        (*(leg for leg, _, _ in bends), last),
        tuple(Bend(a, 180 if other else 0) for _, a, other in bends),
        None,
        SMALL,
    )
    first, second = _flat_walk(piece), _flat_walk(shapes.beside(piece, spacing))
    for position, (x, y) in enumerate(first[:-1]):
        # the distance of each apex of the second tube, moved to its side, from the first leg's line
        ax, ay = first[position + 1][0] - x, first[position + 1][1] - y
        size = hypot(ax, ay)
        px, py = second[position][0] - x, second[position][1] - spacing - y
        assert abs((ax * py - ay * px) / size) == pytest.approx(spacing, abs=1e-6)


def test_a_rolled_piece_has_no_tube_beside_it() -> None:
    piece = Piece((10, 10, 10), (Bend(90), Bend(90, 90)), None, SMALL)
    with pytest.raises(Refusal) as refused:
        shapes.beside(piece, 2)
    assert refused.value.key == "out_of_plane"


def test_the_smallest_legs_are_just_long_enough() -> None:
    tool = Bender(Fraction(15, 16), between=1.25, grip=1, after=1.5)
    piece = Piece((10, 18, 12), (Bend(90), Bend(45, 180)), Fraction(3, 8), tool, "outside")
    shortest = Piece(
        room.smallest_legs(piece), piece.bends, piece.outside_diameter, tool, "outside"
    )
    assert shortest.straights == pytest.approx((1, 1.25, 1.5), abs=EXACT)
    assert not room.shortages(shortest)
