"""The walk proof: a tube bent by the plan's words lands on what was asked, in space.

The bench (`bends_walk`) shares nothing with the planner but the plan's fields; the apexes that
were asked for are laid out here with scipy's rotations, a second and independent coding.
"""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from bends_walk import (
    Vector,
    apexes,
    bend_all,
    measured_legs,
    orders_of,
    planes,
    turned_angles,
    walk,
)
from hypothesis import HealthCheck, given, settings
from hypothesis.strategies import randoms
from scipy.spatial.transform import Rotation

from handsfree.calculators.bends.budget import Uncertainty, budget
from handsfree.calculators.bends.piece import Bend, Bender, Body, DimensionTo, End, Piece
from handsfree.calculators.bends.planner import Plan, plan
from handsfree.errors import Refusal
from handsfree.quantity import rounded

CHOSEN, PIECES = 5_000, 15_000
"""Pieces that hypothesis chooses, and more from a seed; for scripts/bench it chooses 20,000."""
LANDS = 1e-6
CONVENTIONS: tuple[DimensionTo, ...] = ("centre", "outside", "inside")
ENDS: tuple[End, ...] = ("left", "right")
SIZES = (0.1875, 0.25, 0.3125, 0.375, 0.5, 0.625, 0.75, 0.875, 1.125)


def random_piece(chance: random.Random, most_bends: int = 6) -> Piece:
    """Return a piece that has room for its bends; rolls, sizes and conventions at random."""
    size = chance.choice(SIZES)
    tool = Bender(
        size * chance.uniform(2, 8),
        springback=chance.uniform(0.9, 1),
        between=chance.uniform(0, 2),
        grip=chance.uniform(0, 2),
        after=chance.uniform(0, 2),
        indexed=chance.choice([(90.0,), ()]),
    )
    bends = tuple(
        Bend(
            chance.choice([90.0, 45.0, 30.0, chance.uniform(1, 150)]),
            chance.choice([0.0, 180.0, 90.0, chance.uniform(-180, 180)]),
        )
        for _ in range(chance.randint(1, most_bends))
    )
    convention = chance.choice(CONVENTIONS)
    short = Piece((1,) * (len(bends) + 1), bends, size, tool, convention)
    legs = tuple(1 - straight + chance.uniform(2.1, 30) for straight in short.straights)
    return replace(short, legs=legs)


def random_plan(chance: random.Random, ends: tuple[End, ...] = ENDS) -> Plan:
    """Return the plan of a random piece that does not cross itself, measured from an end."""
    while True:
        piece, end = random_piece(chance), chance.choice(ends)
        try:
            found = plan(piece, end)
        except Refusal as refusal:
            assert refusal.key == "crosses_itself"  # noqa: PT017 - nothing else may stop it
            continue
        assert isinstance(found, Plan)
        return found


def asked_for(piece: Piece, centre_legs: list[float]) -> list[Vector]:
    """Return the apexes asked for: legs along directions that scipy's rotations turn."""
    frame = Rotation.identity()
    at = np.zeros(3)
    points = [at]
    for position, leg in enumerate(centre_legs):
        at = at + leg * frame.apply([1.0, 0.0, 0.0])
        points.append(at)
        if position < len(piece.bends):
            bend = piece.bends[position]
            roll = float(bend.roll) if position else 0.0
            twist = Rotation.from_euler("x", roll, degrees=True)
            turn = Rotation.from_euler("z", float(bend.angle), degrees=True)
            frame = frame * twist * turn
    return [tuple(map(float, point)) for point in points]  # type: ignore[misc]


def _far(one: Vector, other: Vector) -> float:
    return max(abs(a - b) for a, b in zip(one, other, strict=True))


def landing(made: Plan) -> float:
    """Return by how much a piece bent by its plan misses what was asked, inches, at the worst."""
    piece, tool = made.piece, made.piece.bender
    bends = bend_all(
        orders_of(made), made.measured_from, made.cut, float(tool.radius), tool.springback
    )
    assert [bent.number for bent in bends] == list(range(len(piece.bends)))
    first = bends[0].side  # the drawn line may lie anywhere; the first bend goes to +y
    bends = [replace(bent, side=bent.side - first) for bent in bends]
    shape = walk(bends, made.cut, float(tool.radius))
    # every leg measures what was asked, in the convention that was asked
    legs = measured_legs(shape, piece.dimension_to, float(piece.outside_diameter or 0))
    worst = max(abs(a - float(b)) for a, b in zip(legs, piece.legs, strict=True))
    # and every apex lies in space where the legs on the centre line lead to
    wanted = asked_for(piece, measured_legs(shape, "centre", 0.0))
    worst = max(worst, *(_far(a, b) for a, b in zip(apexes(shape), wanted, strict=True)))
    angles = zip(turned_angles(shape), piece.bends, strict=True)
    assert all(abs(got - float(bend.angle)) < 1e-5 for got, bend in angles)
    return worst


@settings(max_examples=CHOSEN, deadline=None, suppress_health_check=list(HealthCheck))
@given(randoms(use_true_random=False))
def test_pieces_that_hypothesis_chooses_land_where_they_were_asked_to(
    chance: random.Random,
) -> None:
    assert landing(random_plan(chance)) < LANDS


def test_fifteen_thousand_more_pieces_land_where_they_were_asked_to() -> None:
    chance = random.Random(20_000)  # noqa: S311 - the same pieces each time
    assert max(landing(random_plan(chance)) for _ in range(PIECES)) < LANDS


def test_quarter_rolls_go_the_way_that_was_asked() -> None:
    tool = Bender(Fraction(15, 16))
    for roll in (90, -90, 45, -135):
        piece = Piece((10, 12, 10), (Bend(90), Bend(90, roll)), Fraction(3, 8), tool)
        for end in ENDS:
            made = plan(piece, end)
            assert isinstance(made, Plan)
            bends = bend_all(orders_of(made), end, made.cut, 15 / 16, 1.0)
            assert planes(walk(bends, made.cut, 15 / 16)) == pytest.approx([roll])


def test_rounded_marks_land_within_what_rounding_can_do() -> None:
    # each mark is off by half a sixteenth at most, and the cut by a sixteenth: so a leg between
    # two marks is off by a sixteenth, the last one by three half-sixteenths
    chance = random.Random(16)  # noqa: S311 - the same pieces each time
    step = Fraction(1, 16)
    for _ in range(2_000):
        made = random_plan(chance, ("left",))
        piece, tool = made.piece, made.piece.bender
        radius = float(tool.radius)
        orders = [
            replace(order, mark=float(rounded(order.mark, step))) for order in orders_of(made)
        ]
        cut = float(rounded(made.cut, step, "up"))
        shape = walk(bend_all(orders, "left", cut, radius, tool.springback), cut, radius)
        legs = measured_legs(shape, piece.dimension_to, float(piece.outside_diameter or 0))
        count = len(piece.bends)
        for leg, (got, wanted) in enumerate(zip(legs, piece.legs, strict=True)):
            allowed = 1 / 32 if leg == 0 else 3 / 32 if leg == count else 1 / 16
            assert abs(got - float(wanted)) <= allowed + 1e-9
        told = budget(piece, Uncertainty(0, 0, 0, 0, 0))
        assert all(
            abs(got - float(wanted)) <= leg.rounding + 1e-9
            for got, wanted, leg in zip(legs, piece.legs, told, strict=True)
        )
        bends = bend_all(orders_of(made), "left", made.cut, radius, tool.springback)
        exact = apexes(walk(bends, made.cut, radius))
        so_far = 0.0
        for one, other, leg in zip(apexes(shape)[1:], exact[1:], told, strict=True):
            so_far += leg.rounding
            assert _far(one, other) <= so_far + 1e-9


def test_in_whatever_order_and_with_whichever_end_the_piece_lands() -> None:
    # tools with a handle, a bench and a wall near: the plans swap ends and bend out of order
    chance = random.Random(6)  # noqa: S311 - the same pieces each time
    swapped = out_of_order = refused = 0
    for _ in range(600):
        piece = random_piece(chance, 8)
        body = Body(
            half_width=chance.uniform(0.3, 1.2),
            handle=chance.uniform(4, 14),
            handle_angle=chance.choice([0, 45, 90, 150]),
            bench=chance.choice([None, 1.5, 3]),
            clear=chance.choice([None, 40]),
        )
        piece = replace(piece, bender=replace(piece.bender, body=body))
        made = _plan_or_none(piece)
        if made is None:
            refused += 1
            continue
        bends_in_order = [step.bend for step in made.steps]
        swapped += any(step.swap for step in made.steps)
        out_of_order += bends_in_order not in (sorted(bends_in_order), sorted(bends_in_order)[::-1])
        radius = float(piece.bender.radius)
        bends = bend_all(orders_of(made), "left", made.cut, radius, piece.bender.springback)
        bends = [replace(bent, side=bent.side - bends[0].side) for bent in bends]
        shape = walk(bends, made.cut, radius)
        wanted = asked_for(piece, list(piece.centre_legs))
        assert max(_far(a, b) for a, b in zip(apexes(shape), wanted, strict=True)) < LANDS
    assert min(swapped, out_of_order, refused) > 20


def _plan_or_none(piece: Piece) -> Plan | None:
    try:
        found = plan(piece)
    except Refusal:
        return None
    return found if isinstance(found, Plan) else None
