"""The formed piece in space: its straights, and the legs as they stand around one bender.

A vector is three floats, inches. The left end lies at the origin, the first leg runs along +x,
and the first bend turns towards +y when its roll is 0. Source: solid geometry.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, dist, radians, sin

from handsfree.calculators.bends.piece import SQUARE, Bend, Piece

Vector = tuple[float, float, float]
Segment = tuple[Vector, Vector]
STILL = 1e-12
"""A square of a length below this is none."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the tube is, which way it runs, and which way the next bend turns."""

    at: Vector
    along: Vector
    inward: Vector

    def forward(self, length: float) -> Frame:
        """Return the frame further along the straight tube."""
        return Frame(_plus(self.at, self.along, length), self.along, self.inward)

    @property
    def across(self) -> Vector:
        """Return the way that is square to the tube and to the bend plane, right handed."""
        return _cross(self.along, self.inward)

    def rolled(self, angle: float) -> Frame:
        """Return the frame with its bend plane turned about the tube, right handed, degrees."""
        return Frame(self.at, self.along, _mix(self.inward, self.across, radians(angle)))

    def turned(self, angle: float) -> Frame:
        """Return the frame after a sharp corner towards `inward`, degrees."""
        turn = radians(angle)
        along = _mix(self.along, self.inward, turn)
        inward = _mix(self.inward, _scaled(self.along, -1.0), turn)
        return Frame(self.at, along, inward)


START = Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))


def _plus(at: Vector, way: Vector, length: float) -> Vector:
    return (at[0] + way[0] * length, at[1] + way[1] * length, at[2] + way[2] * length)


def _scaled(way: Vector, by: float) -> Vector:
    return (way[0] * by, way[1] * by, way[2] * by)


def dot(one: Vector, other: Vector) -> float:
    """Return the scalar product."""
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def _cross(one: Vector, other: Vector) -> Vector:
    return (
        one[1] * other[2] - one[2] * other[1],
        one[2] * other[0] - one[0] * other[2],
        one[0] * other[1] - one[1] * other[0],
    )


def square_to(way: Vector) -> Vector:
    """Return a way that is square to one along an axis."""
    return (way[1], way[2], way[0])


def _mix(one: Vector, other: Vector, turn: float) -> Vector:
    """Return `one` turned towards `other`, which is square to it, by radians."""
    c, s = cos(turn), sin(turn)
    return (
        one[0] * c + other[0] * s,
        one[1] * c + other[1] * s,
        one[2] * c + other[2] * s,
    )


Corner = tuple[float, float]
"""A sharp corner: the roll of its plane against the corner before, and its angle, degrees."""


def corners(bend: Bend, roll: float) -> tuple[Corner, ...]:
    """Return the sharp corners of a bend: one; of a return, two square ones at its crown."""
    if bend.crown:
        return ((roll, SQUARE), (0.0, SQUARE))
    return ((roll, float(bend.angle)),)


def straights_in_space(piece: Piece) -> tuple[Segment, ...]:
    """Return the straight tube between the bends of the formed piece, from the left end.

    A return has one more, of no length, where its crown is widest.
    """
    lengths: list[float] = [piece.centre_legs[0]]
    turns: list[Corner] = []
    backs = [0.0]
    for leg, bend, back in zip(piece.centre_legs[1:], piece.bends, piece.setbacks, strict=True):
        turns.extend(corners(bend, float(bend.roll)))
        lengths.extend([2 * piece.radius, leg] if bend.crown else [leg])
        backs.extend([back, back] if bend.crown else [back])
    backs.append(0.0)
    return tuple(
        _shortened(leg, backs[place], backs[place + 1])
        for place, leg in enumerate(outward(START, tuple(lengths), tuple(turns)))
    )


def _shortened(leg: Segment, start: float, end: float) -> Segment:
    """Return a leg without so much at its start and at its end."""
    long = dist(*leg)
    way = _scaled(_plus(leg[1], leg[0], -1.0), 1 / long)
    return _plus(leg[0], way, start), _plus(leg[1], way, -end)


def apart(one: Segment, other: Segment) -> float:
    """Return the least distance between two straight stretches."""
    (p, p2), (q, q2) = one, other
    u, v, w = _plus(p2, p, -1.0), _plus(q2, q, -1.0), _plus(p, q, -1.0)
    a, b, c, d, e = dot(u, u), dot(u, v), dot(v, v), dot(u, w), dot(v, w)
    square = a * c - b * b
    s = _part(b * e - c * d, square)
    t = _part(b * s + e, c)
    s = _part(b * t - d, a)  # the nearest point of the first to the one found on the second
    return dist(_plus(p, u, s), _plus(q, v, t))


def _part(over: float, under: float) -> float:
    """Return a place along a stretch, kept between its ends; the start where it has no length."""
    return min(max(over / under, 0.0), 1.0) if under > STILL else 0.0


def outward(start: Frame, lengths: Sequence[float], turns: Sequence[Corner]) -> Iterator[Segment]:
    """Yield the legs of a formed part from `start` outwards, a corner between each two.

    The turns of `Frame.rolled` and `Frame.turned`, written out in plain numbers: the search for an
    order walks thousands of parts, and takes half as long again with a frame for each.
    """
    x, y, z = start.at
    ax, ay, az = start.along
    ix, iy, iz = start.inward
    for position, length in enumerate(lengths):
        if position:
            roll, angle = turns[position - 1]
            c, s = cos(radians(roll)), sin(radians(roll))
            ix, iy, iz = (
                ix * c + (ay * iz - az * iy) * s,
                iy * c + (az * ix - ax * iz) * s,
                iz * c + (ax * iy - ay * ix) * s,
            )
            c, s = cos(radians(angle)), sin(radians(angle))
            ax, ay, az, ix, iy, iz = (
                ax * c + ix * s,
                ay * c + iy * s,
                az * c + iz * s,
                ix * c - ax * s,
                iy * c - ay * s,
                iz * c - az * s,
            )
        begin = (x, y, z)
        x, y, z = x + ax * length, y + ay * length, z + az * length
        yield begin, (x, y, z)
