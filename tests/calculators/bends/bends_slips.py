"""Slips made on the virtual bench: a plan is bent as somebody bends it who gets one thing wrong.

Nothing of the diagnosis is used: marks are misread, put on the wrong index, or laid out wrongly,
the tube is bent with `bends_walk`, and its legs and angles are measured in space.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from math import radians, tan

from bends_walk import Order, bend_all, measured_legs, orders_of, turned_angles, walk

from handsfree.calculators.bends.piece import Bend, Bender, Piece
from handsfree.calculators.bends.planner import Plan, plan
from handsfree.errors import Refusal

TUBES = ((0.25, 9 / 16), (0.375, 15 / 16), (0.5, 1.5), (0.625, 2.25), (0.75, 3.0), (0.875, 3.5))
"""Sizes of refrigeration tube with the usual radii of lever benders (from memory)."""


@dataclass(frozen=True)
class Job:
    """What is done at the bench: each may be wrong."""

    orders: list[Order]
    cut: float
    radius: float
    springback: float
    measured_to: str


@dataclass(frozen=True)
class Slip:
    """A job gone wrong: what was the cause, and the errors of its legs and angles, exactly."""

    name: str
    bend: int | None
    piece: Piece
    legs: list[float]
    angles: list[float]


def usual_piece(chance: random.Random) -> Piece:
    """Return a piece as they are bent: one to four bends, square ones mostly."""
    size, radius = chance.choice(TUBES)
    count = chance.randint(1, 4)
    bends = tuple(
        Bend(chance.choice([90.0, 90.0, 90.0, 45.0, 30.0]), chance.choice([0.0, 180.0, 90.0]))
        for _ in range(count)
    )
    legs = tuple(4 * radius + 3 + chance.randint(0, 16 * 20) / 16 for _ in range(count + 1))
    convention = chance.choice(["centre", "outside", "inside"])
    tool = Bender(radius, springback=0.97)
    return Piece(legs, bends, size, tool, convention)  # type: ignore[arg-type]


def _gains(piece: Piece) -> list[float]:
    """Return each bend's gain, by the definition: two setbacks less the arc."""
    turns = [radians(float(bend.angle)) for bend in piece.bends]
    return [float(piece.bender.radius) * (2 * tan(turn / 2) - turn) for turn in turns]


def _starts(piece: Piece) -> list[float]:
    """Return each start mark, from one bend's end to the next."""
    found, end, back, gains = [], 0.0, 0.0, _gains(piece)
    for position, bend in enumerate(piece.bends):
        setback = float(piece.bender.radius) * tan(radians(float(bend.angle)) / 2)
        end += piece.centre_legs[position] - back - setback
        found.append(end)
        end, back = end + 2 * setback - gains[position], setback
    return found


def _one(orders: list[Order], bend: int, change: Callable[[Order], Order]) -> list[Order]:
    return [change(order) if order.number == bend else order for order in orders]


def _shifted(by: float) -> Callable[[Order], Order]:
    return lambda order: replace(order, mark=order.mark + by)


def make(name: str, piece: Piece, chance: random.Random) -> tuple[int | None, Job] | None:  # noqa: C901, PLR0912 - one arm for each slip
    """Return the job with a slip of this name at a random bend, or None where it can't happen."""
    made = plan(piece)
    if not isinstance(made, Plan):
        return None
    orders, count = orders_of(made), len(piece.bends)
    job = Job(
        orders, made.cut, float(piece.bender.radius), piece.bender.springback, piece.dimension_to
    )
    bend: int | None = chance.randrange(count)
    square = [float(one.angle) == 90 for one in piece.bends]
    assert bend is not None
    match name:
        case "half_tube" | "whole_tube":
            half = name == "half_tube"
            others = [
                other
                for other in ("centre", "outside", "inside")
                if other != piece.dimension_to and ("centre" in (other, piece.dimension_to)) == half
            ]
            if not others:
                return None
            return None, replace(job, measured_to=chance.choice(others))
        case "other_index":
            if not square[bend]:
                return None
            return bend, replace(job, orders=_one(orders, bend, lambda o: replace(o, index="R")))
        case "gain_forgotten":
            gains = _gains(piece)
            laid = [replace(o, mark=o.mark + sum(gains[: o.number])) for o in orders]
            both = chance.random() < 0.5 or count == 1
            cut = made.cut + sum(gains) if both else made.cut
            return None, replace(job, orders=laid if count > 1 else orders, cut=cut)
        case "start_on_index":
            start = _starts(piece)[bend]
            if square[bend] and chance.random() < 0.5:  # the index mark put to the zero
                wrong = _one(orders, bend, lambda o: replace(o, index="0"))
            else:
                wrong = _one(orders, bend, lambda o: replace(o, mark=start, index="L"))
            return bend, replace(job, orders=wrong)
        case "burnt_inch":
            by = chance.choice([-1.0, 1.0])
            which = chance.choice(["one", "cut", "all"])
            if which == "one" or (which == "all" and count == 1):
                return bend, replace(job, orders=_one(orders, bend, _shifted(by)))
            if which == "cut":
                return None, replace(job, cut=job.cut + by)
            return None, replace(job, orders=[_shifted(by)(order) for order in orders])
        case "mark":
            by = chance.choice([-1, 1]) * chance.choice([2, 3, 4]) / 16
            return bend, replace(job, orders=_one(orders, bend, _shifted(by)))
        case "angle":
            off = chance.choice([-1, 1]) * chance.uniform(2, 6)
            wrong = _one(orders, bend, lambda o: replace(o, pull_to=o.pull_to + off))
            return bend, replace(job, orders=wrong)
        case "springback":
            if count == 1:
                return None
            return None, replace(job, springback=0.97 * chance.uniform(0.93, 0.975))
        case "radius":
            by = chance.choice([-1, 1]) * chance.uniform(0.12, 0.25)
            return None, replace(job, radius=job.radius + by)
        case "cut":
            by = chance.choice([-1, 1]) * chance.choice([2, 4, 6, 8]) / 16
            return None, replace(job, cut=job.cut + by)
        case _:
            return None, job


NAMES = (
    "nothing", "half_tube", "whole_tube", "other_index", "gain_forgotten", "start_on_index",
    "burnt_inch", "mark", "angle", "springback", "radius", "cut",
)  # fmt: skip


def random_slip(chance: random.Random, names: tuple[str, ...] = NAMES) -> Slip:
    """Return a slip of one of these names on a random piece, bent and measured without noise."""
    while True:
        name, piece = chance.choice(names), usual_piece(chance)
        try:
            found = make(name, piece, chance)
        except Refusal:
            continue
        if found is None:
            continue
        bend, job = found
        bends = bend_all(job.orders, "left", job.cut, job.radius, job.springback)
        if any(b.start < a.end for a, b in pairwise(bends)):
            continue  # no bender could do that
        shape = walk(bends, job.cut, job.radius)
        legs = measured_legs(shape, job.measured_to, float(piece.outside_diameter or 0))
        wanted = [float(leg) for leg in piece.legs]
        angles = [
            got - float(one.angle)
            for got, one in zip(turned_angles(shape), piece.bends, strict=True)
        ]
        return Slip(name, bend, piece, [a - b for a, b in zip(legs, wanted, strict=True)], angles)
