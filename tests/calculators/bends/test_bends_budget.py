"""The error budget against Monte Carlo: ten thousand pieces bent on the virtual bench."""

from __future__ import annotations

import random
from dataclasses import replace
from statistics import fmean, stdev

import pytest
from bends_walk import bend_all, measured_legs, orders_of, walk

from handsfree.calculators.bends.budget import Uncertainty, budget
from handsfree.calculators.bends.piece import Bend, Bender, Piece
from handsfree.calculators.bends.planner import Plan, plan

TOOL = Bender(1.5, springback=0.97)
MIXED = Piece((12, 14, 16, 10), (Bend(90), Bend(45, 180), Bend(90, 90)), 0.5, TOOL)
ZEROS = replace(MIXED, bender=replace(TOOL, indexed=()))
DRAWS = 4_000
SECOND_ORDER = 2e-3
"""What a budget of the first order leaves out, inches: at a square bend an angle has no other."""


def _bent(piece: Piece, known: Uncertainty, chance: random.Random) -> list[float]:
    """Return the legs of one piece, bent with every error drawn anew."""
    made = plan(piece)
    assert isinstance(made, Plan)
    radius = float(piece.bender.radius) + chance.gauss(0, known.radius)
    # an angle is off by chance at each bend, and by springback at all of them
    ratio = chance.gauss(0, known.springback)
    orders = [
        replace(
            order,
            mark=order.mark + chance.gauss(0, known.mark),
            pull_to=order.pull_to * (1 + ratio / TOOL.springback)
            + chance.gauss(0, known.angle) / TOOL.springback,
        )
        for order in orders_of(made)
    ]
    cut = made.cut + chance.gauss(0, known.cut)
    bends = bend_all(orders, "left", cut, radius, TOOL.springback)
    return measured_legs(walk(bends, cut, radius), "centre", 0)


@pytest.mark.parametrize("piece", [MIXED, ZEROS], ids=["indexed", "zeros"])
@pytest.mark.parametrize(
    "known",
    [
        Uncertainty(),
        Uncertainty(1 / 32, 0, 0, 0, 0),
        Uncertainty(0, 1 / 16, 0, 0, 0),
        Uncertainty(0, 0, 1.0, 0, 0),
        Uncertainty(0, 0, 0, 0.02, 0),
        Uncertainty(0, 0, 0, 0, 1 / 16),
    ],
    ids=["usual", "marks", "cut", "angles", "springback", "radius"],
)
def test_each_leg_scatters_as_the_budget_says(piece: Piece, known: Uncertainty) -> None:
    chance = random.Random(3)  # noqa: S311 - the same draws each time
    legs = [_bent(piece, known, chance) for _ in range(DRAWS)]
    for leg, told in enumerate(budget(piece, known, step=0)):
        scatter = stdev(one[leg] for one in legs)
        # two deviations; the sample's own is true to 1/sqrt(2·draws), three times over
        assert told.expected / 2 == pytest.approx(scatter, rel=0.05, abs=SECOND_ORDER)
        assert fmean(one[leg] for one in legs) == pytest.approx(float(piece.legs[leg]), abs=5e-3)


def test_with_rounding_nineteen_pieces_of_twenty_are_within() -> None:
    known = Uncertainty()
    chance = random.Random(4)  # noqa: S311 - the same draws each time
    within = [0, 0, 0, 0]
    for _ in range(DRAWS):
        legs = tuple(float(leg) + chance.random() for leg in MIXED.legs)
        piece = replace(MIXED, legs=legs)
        made = plan(piece)
        assert isinstance(made, Plan)
        orders = [
            replace(
                order,
                mark=round(order.mark * 16) / 16 + chance.gauss(0, known.mark),
                pull_to=order.pull_to + chance.gauss(0, known.angle) / TOOL.springback,
            )
            for order in orders_of(made)
        ]
        cut = -(-made.cut * 16 // 1) / 16 + chance.gauss(0, known.cut)
        radius = 1.5 + chance.gauss(0, known.radius)
        bends = bend_all(orders, "left", cut, radius, TOOL.springback)
        bent = measured_legs(walk(bends, cut, radius), "centre", 0)
        for leg, told in enumerate(budget(piece, known)):
            within[leg] += abs(bent[leg] - legs[leg]) <= told.expected
    assert min(within) >= 0.95 * DRAWS


@pytest.mark.parametrize(
    ("known", "leg", "helps"),
    [
        (Uncertainty(0.1, 0, 0.1, 0, 0), 1, "mark"),
        (Uncertainty(0.001, 0.2, 0.1, 0, 0), 4, "cut"),
        (Uncertainty(0.001, 0, 5, 0, 0), 2, "angle"),
        (Uncertainty(0.001, 0, 0.1, 0.05, 0), 2, "springback"),
        (Uncertainty(0.001, 0, 0.1, 0, 0.2), 3, "radius"),
    ],
)
def test_the_measurement_that_would_help_most_is_named(
    known: Uncertainty, leg: int, helps: str
) -> None:
    assert budget(MIXED, known)[leg - 1].helps == helps
