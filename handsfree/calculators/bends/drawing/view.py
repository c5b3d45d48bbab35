"""The formed piece on paper: true shape where it lies flat, isometric where it is rolled."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from math import cos, hypot, radians, sin

from handsfree.calculators.bends.drawing.sheet import Point
from handsfree.calculators.bends.piece import Piece
from handsfree.calculators.bends.space import START, Frame, Vector

ISOMETRIC = radians(30)
ARC_STEP = 6.0
"""An arc is drawn in steps of this many degrees at most."""
FLAT = 1e-6
HALF_TURN = 180

Projection = Callable[[Vector], Point]


def _lies_flat(piece: Piece) -> bool:
    """Return whether all bends lie in one plane."""
    return all(abs(sin(radians(float(bend.roll)))) < FLAT for bend in piece.bends[1:])


@dataclass(frozen=True, slots=True)
class Measured:
    """A leg in space: the two points between which it is measured, in the piece's convention."""

    start: Vector
    end: Vector


def _along(frame: Frame, length: float) -> Vector:
    return frame.forward(length).at


def _around(frame: Frame, radius: float, angle: float) -> tuple[list[Vector], Frame]:
    """Return points of the centre line round a bend, and the frame at its end."""
    count = max(1, round(angle / ARC_STEP))
    points = []
    for step in range(1, count + 1):
        turn = radians(angle * step / count)
        over, ahead = radius * (1 - cos(turn)), radius * sin(turn)
        points.append(
            (
                frame.at[0] + frame.along[0] * ahead + frame.inward[0] * over,
                frame.at[1] + frame.along[1] * ahead + frame.inward[1] * over,
                frame.at[2] + frame.along[2] * ahead + frame.inward[2] * over,
            )
        )
    turned = frame.turned(angle)
    return points, Frame(points[-1], turned.along, turned.inward)


@dataclass(frozen=True)
class Formed:
    """The centre line of a formed piece in space, inches: its path, its apexes, its legs.

    `flat`: all in one plane.
    """

    path: tuple[Vector, ...]
    corners: tuple[Vector, ...]
    legs: tuple[Measured, ...]
    flat: bool

    @cached_property
    def points(self) -> tuple[Vector, ...]:
        """Return every point that must find room on the paper."""
        return (*self.path, *self.corners)


def formed(piece: Piece) -> Formed:
    """Return the centre line of a piece. A return's corner is the middle of its crown."""
    frame = START
    path, corners, legs = [frame.at], list[Vector](), list[Measured]()
    thicker = _end_thickness(piece)
    begun = frame
    back = 0.0
    for number, bend in enumerate(piece.bends):
        setback = piece.setbacks[number]
        frame = frame.forward(piece.straights[number]).rolled(float(bend.roll))
        path.append(frame.at)
        before = thicker[number - 1] if number else 0.0
        legs.append(
            Measured(_along(begun, -back - before), _along(frame, setback + thicker[number]))
        )
        arc, frame_after = _around(frame, piece.radius, float(bend.angle))
        corners.append(arc[len(arc) // 2] if bend.crown else _along(frame, setback))
        path.extend(arc)
        frame = begun = frame_after
        back = setback
    last = frame.forward(piece.straights[-1])
    path.append(last.at)
    legs.append(Measured(_along(begun, -back - thicker[-1]), last.at))
    return Formed(tuple(path), tuple(corners), tuple(legs), _lies_flat(piece))


def _end_thickness(piece: Piece) -> tuple[float, ...]:
    """Return how far beyond each apex the legs beside it are measured in this convention."""
    found: list[float] = []
    left_over = piece.thickness[0]
    for thickness in piece.thickness[1:]:
        found.append(left_over)
        left_over = thickness - left_over
    return tuple(found)


def _flat(turned: bool) -> Projection:  # noqa: FBT001 - one of two ways to lay a flat piece
    return (lambda p: (p[1], -p[0])) if turned else (lambda p: (p[0], -p[1]))


def _isometric(mirror: int, tip: int) -> Projection:
    c, s = cos(ISOMETRIC), sin(ISOMETRIC)
    return lambda p: (c * (p[0] - mirror * p[2]), -p[1] + tip * s * (p[0] + mirror * p[2]))


def extent(points: Sequence[Point]) -> tuple[Point, Point]:
    """Return the corners of the smallest rectangle round points."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs), min(ys)), (max(xs), max(ys))


def best_projection(shape: Formed, wide: float, high: float) -> Projection:
    """Return how to look at a piece: so that it is drawn large, and no leg seems short."""
    if shape.flat:
        ways = [_flat(turned=False), _flat(turned=True)]
        return max(ways, key=lambda way: _fit(way, shape, wide, high))
    looks = [_isometric(mirror, tip) for mirror, tip in product((1, -1), repeat=2)]
    return max(looks, key=lambda way: (_shortest(way, shape), _fit(way, shape, wide, high)))


def _fit(way: Projection, shape: Formed, wide: float, high: float) -> float:
    (left, top), (right, bottom) = extent([way(point) for point in shape.points])
    return min(wide / max(right - left, FLAT), high / max(bottom - top, FLAT))


def _shortest(way: Projection, shape: Formed) -> float:
    """Return the smallest part of its length that any leg shows."""
    found = []
    for leg in shape.legs:
        (ax, ay), (bx, by) = way(leg.start), way(leg.end)
        true = hypot(*(b - a for a, b in zip(leg.start, leg.end, strict=True)))
        found.append(round(hypot(bx - ax, by - ay) / max(true, FLAT), 2))
    return min(found)
