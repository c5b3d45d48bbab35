"""The geometry of a bent tube, and a piece of it. Every formula stands here once.

R is the radius of the centre line, `angle` the change of direction in degrees. The apex of a bend
is where its two centre lines would cross; legs run from apex to apex. A return of 180 degrees has
no apex: its legs run to the crown, the outermost centre line. Lengths in inches, angles in
degrees. Source: plane geometry.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import radians, tan
from typing import Literal

from handsfree.errors import Refusal
from handsfree.quantity import Number, degrees, inches

DimensionTo = Literal["centre", "outside", "inside"]
End = Literal["left", "right"]

TIGHTEST, WIDEST = 2, 8
"""A bend radius outside these multiples of the outside diameter is asked about."""
LONGEST_LEG = 600
RETURN = 180
SQUARE = 90


def setback(radius: Number, angle: Number, *, crown: bool = False) -> float:
    """Return how far a bend starts before its apex: R·tan(a/2); before its crown: R.

    Raises `Refusal` at 180 degrees, where there is no apex, unless the crown is meant.
    """
    if crown:
        return float(radius)
    if angle >= RETURN:
        raise Refusal("no_apex")
    return float(radius) * tan(radians(float(angle)) / 2)


def arc(radius: Number, angle: Number) -> float:
    """Return the length of tube in a bend, on the centre line: R·a."""
    return float(radius) * radians(float(angle))


def gain(radius: Number, angle: Number, *, crown: bool = False) -> float:
    """Return by how much a bend makes the tube shorter than the sum of its legs."""
    return 2 * setback(radius, angle, crown=crown) - arc(radius, angle)


def thicker(dimension_to: str, outside_diameter: Number, *angles: Number) -> float:
    """Return how much longer a leg measures in this convention than on its centre line.

    The outside of a bend lies half the tube further out than the centre line, so its apex lies by
    the setback of that radius further along. A free end has angle 0 and adds nothing; a leg with
    bends at both ends counts both.
    """
    sign = {"centre": 0, "outside": 1, "inside": -1}[dimension_to]
    if not sign:
        return 0.0
    return sign * sum(setback(float(outside_diameter) / 2, angle) for angle in angles)


def to_centre(
    length: Number, dimension_to: str, outside_diameter: Number, *angles: Number
) -> float:
    """Return a leg on the centre line: corrected once for the bend at each of its ends.

    `dimension_to` is centre, outside or inside; a free end has angle 0 and needs nothing.
    """
    return float(length) - thicker(dimension_to, outside_diameter, *angles)


def check_radius(radius: Number, outside_diameter: Number | None) -> None:
    """Raise `Refusal` where a radius is outside two to eight times a known tube."""
    if outside_diameter is None:
        return
    if not TIGHTEST * outside_diameter <= radius <= WIDEST * outside_diameter:
        raise Refusal("odd_radius", {"radius": inches(radius), "size": inches(outside_diameter)})


@dataclass(frozen=True, slots=True)
class Body:
    """What stands around the groove of a bender: a few measures that a rule can take, in inches.

    `half_width`: from the middle of the tube to the side of the tool. `handle`: length of the
    fixed handle from the middle of the former, and `handle_angle`: its direction, in degrees from
    the tube on the hook side round to the inside of the bend. `bench`: from the middle of the tube
    down to the bench; None for a tool in the hand. `clear`: how far from the former a swinging leg
    may reach before a wall or the floor; None where nothing is near.
    """

    half_width: float = 0.75
    handle: float = 10.0
    handle_angle: float = 90.0
    bench: float | None = None
    clear: float | None = None


@dataclass(frozen=True, slots=True)
class Bender:
    """What one bender does with tube of one size; lengths in inches.

    `radius`: to the centre line of a finished bend. `springback`: angle after release divided by
    the angle pulled. `between`: smallest straight between two bends. `grip`: smallest straight in
    the hook before a bend. `after`: smallest straight under the shoe after it. `indexed`: angles
    for which it has L and R marks; every other bend starts at the zero. `largest`: largest angle.
    """

    radius: Number
    springback: float = 1.0
    between: float = 0.0
    grip: float = 0.0
    after: float = 0.0
    indexed: tuple[float, ...] = (90.0,)
    largest: float = 180.0
    body: Body | None = None

    def set_angle(self, angle: Number) -> float:
        """Return the angle to pull to, so that this angle is left after release."""
        return float(angle) / self.springback


@dataclass(frozen=True, slots=True)
class Bend:
    """A bend of `angle` degrees.

    `roll`: the twist of its plane from the plane of the bend before, in degrees, clockwise when
    looking ahead along the tube: 0 bends on the same way, 180 the other way. `crown`: a return of
    180 degrees, its legs measured to the crown.
    """

    angle: Number
    roll: Number = 0
    crown: bool = False


@dataclass(frozen=True)
class Piece:
    """A piece of tube: legs as they were asked for, and the bends between them.

    `outside_diameter` may be None where it is not known and no leg is measured to the tube's side.
    Raises `Refusal`: `angles_and_legs`, `leg_range`, `angle_range`, `too_sharp` (more than this
    bender bends at once), `no_apex` (180 degrees with apex dimensions), `odd_radius`.
    """

    legs: tuple[Number, ...]
    bends: tuple[Bend, ...]
    outside_diameter: Number | None
    bender: Bender
    dimension_to: DimensionTo = "centre"
    wall: Number | None = None

    def __post_init__(self) -> None:
        if len(self.legs) != len(self.bends) + 1 or not self.bends:
            raise Refusal("angles_and_legs", {"legs": len(self.legs), "bends": len(self.bends)})
        for number, leg in enumerate(self.legs, start=1):
            if not 0 < leg <= LONGEST_LEG:
                raise Refusal("leg_range", {"leg": number, "length": inches(leg)})
        for bend in self.bends:
            if not 1 <= bend.angle <= RETURN:
                raise Refusal("angle_range", {"angle": degrees(bend.angle)})
            if bend.angle > self.bender.largest:
                largest = degrees(self.bender.largest)
                raise Refusal("too_sharp", {"angle": degrees(bend.angle), "largest": largest})
            if bend.angle == RETURN and not bend.crown:
                raise Refusal("no_apex")
        check_radius(self.bender.radius, self.outside_diameter)

    @property
    def tube(self) -> float:
        """Return the outside diameter; nothing where it is not known."""
        return float(self.outside_diameter or 0)

    @property
    def radius(self) -> float:
        """Return the radius of the centre line."""
        return float(self.bender.radius)

    @cached_property
    def setbacks(self) -> tuple[float, ...]:
        """Return the setback of each bend."""
        return tuple(setback(self.radius, bend.angle, crown=bend.crown) for bend in self.bends)

    @cached_property
    def arcs(self) -> tuple[float, ...]:
        """Return the length of tube in each bend."""
        return tuple(arc(self.radius, bend.angle) for bend in self.bends)

    @cached_property
    def gains(self) -> tuple[float, ...]:
        """Return the gain of each bend."""
        return tuple(gain(self.radius, bend.angle, crown=bend.crown) for bend in self.bends)

    @cached_property
    def thickness(self) -> tuple[float, ...]:
        """Return how much longer each leg measures, as asked, than on its centre line."""
        # a crown lies half the tube further out, as the apex of a square corner does
        around = (0, *(SQUARE if bend.crown else bend.angle for bend in self.bends), 0)
        return tuple(
            thicker(self.dimension_to, self.tube, around[leg], around[leg + 1])
            for leg in range(len(self.legs))
        )

    @cached_property
    def centre_legs(self) -> tuple[float, ...]:
        """Return each leg on the centre line."""
        return tuple(float(leg) - t for leg, t in zip(self.legs, self.thickness, strict=True))

    @cached_property
    def straights(self) -> tuple[float, ...]:
        """Return the straight tube that each leg leaves between its bends; may be negative."""
        around = (0.0, *self.setbacks, 0.0)
        return tuple(
            leg - around[position] - around[position + 1]
            for position, leg in enumerate(self.centre_legs)
        )

    @cached_property
    def cut(self) -> float:
        """Return the length to cut: the legs on the centre line less the gain of each bend."""
        return sum(self.centre_legs) - sum(self.gains)

    @cached_property
    def starts(self) -> tuple[float, ...]:
        """Return where each bend starts on the straight tube, from the left end."""
        found: list[float] = []
        end = 0.0
        for straight, length in zip(self.straights, self.arcs, strict=False):
            found.append(end + straight)
            end = found[-1] + length
        return tuple(found)

    @cached_property
    def ends(self) -> tuple[float, ...]:
        """Return where each bend ends on the straight tube, from the left end."""
        return tuple(start + length for start, length in zip(self.starts, self.arcs, strict=True))

    @cached_property
    def apexes(self) -> tuple[float, ...]:
        """Return the index mark of each bend, from the left end of the straight tube.

        It goes to L with the left end in the hook, and to R with the right end in the hook.
        """
        return tuple(start + back for start, back in zip(self.starts, self.setbacks, strict=True))
