"""A virtual bench: takes a plan's words and bends a tube with them, arc by arc, in space.

It shares nothing with the package but the plan's own fields. The tool stands still and always
bends to the same side; its L mark stands one radius beyond the zero and its R mark at the length
of a square bend less a radius (the index geometry of job practice). The tube is turned and
swapped as the plan says; a line drawn along it keeps account of that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, cos, pi, radians, sin, sqrt

Vector = tuple[float, float, float]


@dataclass(frozen=True)
class Bent:
    """A bend as it was made: where on the straight tube, how far, and at which side of it.

    `side` is how far its inside lies from the line drawn along the tube, clockwise as seen from
    the left end, in degrees.
    """

    number: int
    start: float
    end: float
    angle: float
    side: float


@dataclass(frozen=True)
class Order:
    """One line of a plan, as a person would act on it."""

    number: int
    mark: float
    index: str
    hook: str
    pull_to: float
    turn: float


def orders_of(plan: object) -> list[Order]:
    """Return the lines of a plan."""
    return [
        Order(s.bend, s.mark, s.index, s.hook, s.pull_to, s.turn)
        for s in plan.steps  # type: ignore[attr-defined]
    ]


def bend_all(
    orders: Sequence[Order], measured_from: str, cut: float, radius: float, springback: float
) -> list[Bent]:
    """Bend a tube line by line; return the bends as they lie along it, from the left end."""
    quarter = pi / 2 * radius
    beyond_zero = {"0": 0.0, "L": radius, "R": quarter - radius}
    made: list[Bent] = []
    turned = 0.0
    for order in orders:
        turned += order.turn
        mark = order.mark if measured_from == "left" else cut - order.mark
        got = order.pull_to * springback
        long = radius * radians(got)
        if order.hook == "left":
            start = mark - beyond_zero[order.index]
            end = start + long
        else:
            end = mark + beyond_zero[order.index]
            start = end - long
        made.append(Bent(order.number, start, end, got, -turned))
    return sorted(made, key=lambda bent: bent.start)


# ---------------------------------------------------------------------------- vectors


def plus(a: Vector, b: Vector, k: float = 1.0) -> Vector:
    return (a[0] + k * b[0], a[1] + k * b[1], a[2] + k * b[2])


def dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def size(a: Vector) -> float:
    return sqrt(dot(a, a))


def spun(v: Vector, axis: Vector, angle: float) -> Vector:
    """Return a vector turned about an axis, right handed, degrees (Rodrigues' formula)."""
    c, s = cos(radians(angle)), sin(radians(angle))
    k = dot(axis, v) * (1 - c)
    w = cross(axis, v)
    return (
        v[0] * c + w[0] * s + axis[0] * k,
        v[1] * c + w[1] * s + axis[1] * k,
        v[2] * c + w[2] * s + axis[2] * k,
    )


@dataclass(frozen=True)
class Shape:
    """A bent tube in space: the end points and directions of its straights, and bend axes."""

    straights: list[tuple[Vector, Vector]]
    ways: list[Vector]
    axes: list[Vector]


def walk(bends: Sequence[Bent], cut: float, radius: float) -> Shape:
    """Walk along a bent tube from its left end: straight, arc, straight.

    It starts at the origin along +x with the drawn line at +y; +z is clockwise of +y there.
    """
    at: Vector = (0.0, 0.0, 0.0)
    way: Vector = (1.0, 0.0, 0.0)
    line: Vector = (0.0, 1.0, 0.0)
    straights, ways, axes = [], [way], []
    reached = 0.0
    for bent in bends:
        end = plus(at, way, bent.start - reached)
        straights.append((at, end))
        inside = spun(line, way, bent.side)
        axis = cross(way, inside)
        centre = plus(end, inside, radius)
        at = plus(centre, spun(plus(end, centre, -1.0), axis, bent.angle))
        way, line = spun(way, axis, bent.angle), spun(line, axis, bent.angle)
        axes.append(axis)
        ways.append(way)
        reached = bent.end
    straights.append((at, plus(at, way, cut - reached)))
    return Shape(straights, ways, axes)


def corner(shape: Shape, number: int, out: float = 0.0) -> Vector:
    """Return where the lines of two straights cross, each moved `out` away from the bend's inside.

    By solving the two lines for their nearest points, not by any bend formula.
    """
    (_, p), (q, _) = shape.straights[number], shape.straights[number + 1]
    u, v, axis = shape.ways[number], shape.ways[number + 1], shape.axes[number]
    p = plus(p, cross(u, axis), out)
    q = plus(q, cross(v, axis), out)
    between = plus(q, p, -1.0)
    b = dot(u, v)
    along = (dot(between, u) - b * dot(between, v)) / (1 - b * b)
    return plus(p, u, along)


def measured_legs(shape: Shape, dimension_to: str, tube: float) -> list[float]:
    """Return each leg as it measures: along its own line, between ends and corners."""
    out = {"centre": 0.0, "outside": tube / 2, "inside": -tube / 2}[dimension_to]
    count = len(shape.axes)
    found = []
    for leg, way in enumerate(shape.ways):
        low = shape.straights[0][0] if leg == 0 else corner(shape, leg - 1, out)
        high = shape.straights[-1][1] if leg == count else corner(shape, leg, out)
        found.append(dot(plus(high, low, -1.0), way))
    return found


def apexes(shape: Shape) -> list[Vector]:
    """Return the left end, every apex on the centre line, and the right end."""
    middle = [corner(shape, number) for number in range(len(shape.axes))]
    return [shape.straights[0][0], *middle, shape.straights[-1][1]]


def turned_angles(shape: Shape) -> list[float]:
    """Return each bend's angle as a protractor shows it, degrees."""
    return [
        acos(max(-1.0, min(1.0, dot(shape.ways[i], shape.ways[i + 1])))) * 180 / pi
        for i in range(len(shape.axes))
    ]


def planes(shape: Shape) -> list[float]:
    """Return the twist from each bend's plane to the next, clockwise looking ahead, degrees."""
    found = []
    for i in range(len(shape.axes) - 1):
        way, one, two = shape.ways[i + 1], shape.axes[i], shape.axes[i + 1]
        c, s = dot(one, two), dot(cross(one, two), way)
        turn = acos(max(-1.0, min(1.0, c))) * 180 / pi
        found.append(turn if s >= 0 else -turn)
    return found
