"""The geometry of a bent tube. Every formula stands here once; everything else asks for it.

R is the radius of the centre line, `angle` the change of direction in degrees. The apex of a bend
is where its two centre lines would cross; legs run from apex to apex. Lengths in inches.
Source: plane geometry.
"""

from __future__ import annotations

from math import radians, tan

from handsfree.quantity import Number


def setback(radius: Number, angle: Number) -> float:
    """Return how far a bend starts before its apex: R·tan(a/2). No meaning at 180 degrees."""
    return float(radius) * tan(radians(float(angle)) / 2)


def arc(radius: Number, angle: Number) -> float:
    """Return the length of tube in a bend, on the centre line: R·a."""
    return float(radius) * radians(float(angle))


def gain(radius: Number, angle: Number) -> float:
    """Return by how much a bend makes the tube shorter than the sum of its legs."""
    return 2 * setback(radius, angle) - arc(radius, angle)


def to_centre(
    length: Number, dimension_to: str, outside_diameter: Number, *angles: Number
) -> float:
    """Return a leg on the centre line: corrected once for the bend at each of its ends.

    `dimension_to` is centre, outside or inside; a free end has angle 0 and needs nothing.
    """
    per_end = sum(float(outside_diameter) / 2 * tan(radians(float(a)) / 2) for a in angles)
    sign = {"centre": 0, "outside": -1, "inside": 1}[dimension_to]
    return float(length) + sign * per_end
