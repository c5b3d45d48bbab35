"""Whether a formed part is in the way of the bender: a simple swept check.

The tool lies in the plane z = 0 with the centre of the bend at the origin. The hook holds the
tube along -x at y = R; the bend turns it clockwise, towards -y. What a part that swings with the
bend could meet of the fixed handle is what a part at rest could meet of a handle that swings the
other way: a sector, cut by planes. The bend takes tube up as it goes on, so a swinging part is
tried where the bend ends and, further out, where it begins.
Corners are taken sharp, which errs towards caution. Source: solid geometry.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import cos, radians, sin, sqrt
from typing import Literal

from handsfree.calculators.bends.piece import Body
from handsfree.calculators.bends.space import Segment

Obstacle = Literal["former", "handle"]
HALF_TURN = 180.0
_STILL = 1e-12


@dataclass(frozen=True, slots=True)
class Region:
    """What part of space an obstacle takes: within a disc, a slab and half planes n·p ≤ c."""

    obstacle: Obstacle
    radius: float
    half_thickness: float
    planes: tuple[tuple[float, float, float], ...] = ()

    def meets(self, segment: Segment) -> bool:
        """Return whether a straight stretch of tube enters the region."""
        (ax, ay, az), (bx, by, bz) = segment
        half = self.half_thickness
        if (az > half and bz > half) or (az < -half and bz < -half):
            return False  # most stretches are all on one side of some face: seen at once
        for nx, ny, c in self.planes:
            if nx * ax + ny * ay > c and nx * bx + ny * by > c:
                return False
        dx, dy, dz = bx - ax, by - ay, bz - az
        low, high = 0.0, 1.0
        limits = [(dz, half - az), (-dz, half + az)]
        limits.extend((nx * dx + ny * dy, c - nx * ax - ny * ay) for nx, ny, c in self.planes)
        for rate, left in limits:
            if abs(rate) < _STILL:
                if left < 0:
                    return False
            elif rate > 0:
                high = min(high, left / rate)
            else:
                low = max(low, left / rate)
            if low > high:
                return False
        return self._within_disc(ax, ay, dx, dy, low, high)

    def _within_disc(  # noqa: PLR0913 - a stretch is a point, a way and its two ends
        self, ax: float, ay: float, dx: float, dy: float, low: float, high: float
    ) -> bool:
        """Return whether the stretch comes as near to the centre as the radius."""
        square = dx * dx + dy * dy
        nearest = low if square < _STILL else min(max(-(ax * dx + ay * dy) / square, low), high)
        x, y = ax + nearest * dx, ay + nearest * dy
        return sqrt(x * x + y * y) <= self.radius


def _sector(obstacle: Obstacle, begin: float, turn: float, reach: float, side: float) -> Region:
    """Return a sector from `begin` anticlockwise by `turn` degrees, widened by `side`."""
    first, last, middle = radians(begin), radians(begin + turn), radians(begin + turn / 2)
    planes = (
        (sin(first), -cos(first), side),
        (-sin(last), cos(last), side),
        (-cos(middle), -sin(middle), side),
    )
    return Region(obstacle, reach, side, planes)


def regions(
    radius: float, body: Body, tube: float, angle: float
) -> tuple[tuple[Region, ...], tuple[Region, ...]]:
    """Return what a part on the hook side, and one on the shoe side, can meet in one bend.

    `radius` is that of the centre line and `tube` the outside diameter. The shoe side is told as
    it stands before the bend.
    """
    around = tube / 2
    side = body.half_width + around
    reach = body.handle + around
    stands = HALF_TURN + body.handle_angle
    former = Region("former", radius - around, side)
    hook = (former, _sector("handle", stands, 0, reach, side))
    shoe = (former, _sector("handle", stands, angle, reach, side))
    return hook, shoe


def in_the_way(part: Iterable[Segment], met: tuple[Region, ...]) -> Obstacle | None:
    """Return the first obstacle that a formed part meets, or None."""
    for segment in part:
        for region in met:
            if region.meets(segment):
                return region.obstacle
    return None


def further(part: Iterable[Segment], by: float) -> Iterator[Segment]:
    """Yield a part further from the hook along the tube, as the shoe finds it at the beginning."""
    for start, end in part:
        yield (start[0] + by, *start[1:]), (end[0] + by, *end[1:])
