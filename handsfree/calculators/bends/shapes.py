"""The shapes of the trade, each as a piece of tube. Lengths in inches, angles in degrees.

Heights are from centre line to centre line. Where the ends of a shape were not given, they are the
shortest that the tool can hold. Source: plane geometry.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, atan, atan2, cos, degrees, hypot, radians, sin, tan

from handsfree.calculators.bends.piece import (
    RETURN,
    SQUARE,
    Bend,
    Bender,
    Piece,
    setback,
)
from handsfree.calculators.bends.room import shortest_end
from handsfree.errors import Refusal
from handsfree.quantity import Number, inches

SAME, OTHER = 0, 180
"""Rolls: the next bend goes the same way, or the other way."""
STEEPEST_FIRST = (60.0, 45.0, 30.0, 22.5, 15.0)
"""The angles in which offsets are bent, as benders are marked for them."""


def u_bend(
    leg: Number, centres: Number | None, outside_diameter: Number | None, bender: Bender
) -> Piece:
    """Return a U with equal legs to the outermost centre line, its centres so far apart.

    Centres of twice the radius, or None: one bend of 180; wider: two of 90 with a straight.
    Raises `Refusal` `too_narrow` for centres nearer than twice the radius.
    """
    tightest = 2 * float(bender.radius)
    if centres is None or abs(float(centres) - tightest) < 1e-9:  # noqa: PLR2004 - float noise
        crown = Bend(RETURN, crown=True)
        return Piece((leg, leg), (crown,), outside_diameter, bender)
    if centres < tightest:
        raise Refusal("too_narrow", {"tightest": inches(tightest)})
    corners = (Bend(SQUARE), Bend(SQUARE, SAME))
    return Piece((leg, centres, leg), corners, outside_diameter, bender)


# ---------------------------------------------------------------------------- offsets


def travel(height: Number, angle: Number) -> float:
    """Return the tube between the two apexes of an offset: h / sin a."""
    return float(height) / sin(radians(float(angle)))


def run(height: Number, angle: Number) -> float:
    """Return how far an offset goes along the wall: h / tan a."""
    return float(height) / tan(radians(float(angle)))


def shrink(height: Number, angle: Number) -> float:
    """Return how much more tube an offset of sharp corners takes than its run: h·tan(a/2)."""
    return travel(height, angle) - run(height, angle)


@dataclass(frozen=True, slots=True)
class Ends:
    """Where a shape sits: `first`, the left end to its first apex; `overall`, the straight run.

    None: the shortest end that the tool can hold.
    """

    first: Number | None = None
    overall: Number | None = None

    def legs(self, bender: Bender, angle: Number, along: float) -> tuple[float, float]:
        """Return the two end legs of a shape that takes `along` of the run between its apexes.

        Raises `Refusal` `overall_short` where the overall run leaves nothing for the last leg.
        """
        first = shortest_end(bender, angle, "left") if self.first is None else float(self.first)
        if self.overall is None:
            return first, shortest_end(bender, angle, "right")
        last = float(self.overall) - first - along
        if last <= 0:
            raise Refusal("overall_short", {"short": inches(-last)})
        return first, last


def offset(
    height: Number,
    angle: Number,
    outside_diameter: Number | None,
    bender: Bender,
    ends: Ends = Ends(),
) -> Piece:
    """Return an offset: two equal bends, the second the other way."""
    first, last = ends.legs(bender, angle, run(height, angle))
    bends = (Bend(angle), Bend(angle, OTHER))
    return Piece((first, travel(height, angle), last), bends, outside_diameter, bender)


def height_to_clear(
    obstruction: Number, clearance: Number, outside_diameter: Number, from_wall: Number
) -> float:
    """Return the height of an offset that clears a beam: obstruction and clearance and half a tube.

    Less the distance at which the centre line runs along the wall already.
    """
    outer = float(obstruction) + float(clearance) + float(outside_diameter) / 2
    return outer - float(from_wall)


def smallest_offset(bender: Bender, angle: Number) -> float:
    """Return the smallest height that this bender can offset at this angle: the bends just fit."""
    between = float(bender.between) + 2 * setback(bender.radius, angle)
    return between * sin(radians(float(angle)))


def steepest_offset(bender: Bender, height: Number) -> float | None:
    """Return the steepest usual angle at which an offset of this height fits, or None."""
    for angle in STEEPEST_FIRST:
        if smallest_offset(bender, angle) <= height:
            return angle
    return None


@dataclass(frozen=True, slots=True)
class Rolling:
    """An offset that goes up and over at once: its true height and the roll from plumb."""

    true: float
    roll: float


def rolling(rise: Number, roll: Number) -> Rolling:
    """Return the true offset of a rise and a roll, and the angle to roll the piece from plumb."""
    up, over = float(rise), float(roll)
    return Rolling(hypot(up, over), degrees(atan2(over, up)))


# ---------------------------------------------------------------------------- saddles, kicks


def crown_apex(rise: Number, centre_angle: Number, radius: Number) -> float:
    """Return how high the apex of a saddle's centre bend stands above a crown of this rise."""
    half = radians(float(centre_angle)) / 2
    return float(rise) + float(radius) * (1 / cos(half) - 1)


def saddle_of_three(  # noqa: PLR0913 - a saddle is a rise, an angle and a place on a run
    rise: Number,
    centre_angle: Number,
    centre: Number,
    overall: Number | None,
    outside_diameter: Number | None,
    bender: Bender,
) -> Piece:
    """Return a saddle of three bends: its crown `rise` above the run, `centre` from the left end.

    The outer bends are half the centre one; without an overall run, the last leg is the shortest
    that the tool can hold. Raises `Refusal` `overall_short` where it runs past an end.
    """
    side = float(centre_angle) / 2
    height = crown_apex(rise, centre_angle, bender.radius)
    along, slope = run(height, side), travel(height, side)
    first = float(centre) - along
    if first <= 0:
        raise Refusal("overall_short", {"short": inches(-first)})
    first, last = Ends(first, overall).legs(bender, side, 2 * along)
    legs = (first, slope, slope, last)
    bends = (Bend(side), Bend(centre_angle, OTHER), Bend(side, OTHER))
    return Piece(legs, bends, outside_diameter, bender)


def saddle_of_four(  # noqa: PLR0913 - two offsets and where they sit
    height: Number,
    width: Number,
    angle: Number,
    outside_diameter: Number | None,
    bender: Bender,
    ends: Ends = Ends(),
) -> Piece:
    """Return a saddle of four bends, flat on top: `width` between the upper apexes."""
    first, last = ends.legs(bender, angle, 2 * run(height, angle) + float(width))
    slope = travel(height, angle)
    bends = (Bend(angle), Bend(angle, OTHER), Bend(angle, SAME), Bend(angle, OTHER))
    return Piece((first, slope, width, slope, last), bends, outside_diameter, bender)


def kick_along_tube(kick: Number, along: Number) -> float:
    """Return the angle of a kick by its travel along the tube; `Refusal` `kick_long` if no such."""
    if kick > along:
        raise Refusal("kick_long")
    return degrees(asin(float(kick) / float(along)))


def kick_along_wall(kick: Number, along: Number) -> float:
    """Return the angle of a kick by its run along the wall."""
    return degrees(atan(float(kick) / float(along)))


# ---------------------------------------------------------------------------- pairs


def stagger(spacing: Number, angle: Number) -> float:
    """Return by how much the apex of the outer of two parallel tubes moves: s·tan(a/2)."""
    return setback(spacing, angle)


def across_corner(spacing: Number, angle: Number) -> float:
    """Return how far two tubes of equal radius stand apart across a bend: s / cos(a/2)."""
    return float(spacing) / cos(radians(float(angle)) / 2)


def beside(piece: Piece, spacing: Number) -> Piece:
    """Return the tube that runs beside this one, `spacing` away on the outside of its first bend.

    Bends the same way add to a leg at both its ends, bends the other way cancel. Raises `Refusal`
    `out_of_plane` for a piece that does not lie flat.
    """
    sides: list[int] = []
    for position, bend in enumerate(piece.bends):
        if position and bend.roll not in (SAME, OTHER, -OTHER):
            raise Refusal("out_of_plane")
        before = sides[-1] if sides else 1
        sides.append(-before if position and bend.roll else before)
    steps = [
        side * stagger(spacing, bend.angle) for side, bend in zip(sides, piece.bends, strict=True)
    ]
    around = [0.0, *steps, 0.0]
    legs = tuple(
        float(leg) + around[position] + around[position + 1]
        for position, leg in enumerate(piece.legs)
    )
    return Piece(
        legs, piece.bends, piece.outside_diameter, piece.bender, piece.dimension_to, piece.wall
    )
