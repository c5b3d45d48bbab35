"""How truly a piece will come out, and which measurement would help most.

Each leg is a sum of marks, bends and the cut; its uncertainty is that of its parts, each times
how much the leg feels it. Radius and springback are the same error in every bend, so they add up
before they are squared. Lengths in inches, angles in degrees. Source: the propagation of
uncertainty (first order), on the geometry of the piece.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sqrt
from typing import Literal

from handsfree.calculators.bends.piece import Piece, arc, setback

Part = Literal["mark", "cut", "angle", "springback", "radius"]
WITHIN = 2
"""Standard deviations in what is to be expected of a leg."""


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """Standard deviations: a mark, the cut, the radius (inches), an angle (degrees), the ratio.

    The usual ones: a fine line at a rule, a wheel at a line, a radius that was stamped on the
    tool, a protractor, soft tube. Common practice, no source.
    """

    mark: float = 1 / 64
    cut: float = 1 / 32
    angle: float = 0.5
    springback: float = 0.005
    radius: float = 1 / 64


@dataclass(frozen=True, slots=True)
class Feels:
    """How much one leg feels: each mark, the cut, each angle (per degree), the radius."""

    marks: tuple[float, ...]
    cut: float
    angles: tuple[float, ...]
    radius: float


@dataclass(frozen=True, slots=True)
class LegBudget:
    """What to expect of a leg (from 1): within `expected` for two pieces of twenty.

    `rounding` is the most that rounding the marks and the cut can do by itself, and is part of
    `expected` as its standard deviation. `helps` names the measurement that would help most.
    """

    leg: int
    expected: float
    rounding: float
    helps: Part


def sensitivities(piece: Piece) -> tuple[Feels, ...]:
    """Return how much each leg feels every mark, the cut, every angle and the radius."""
    count = len(piece.bends)
    indexed = [float(bend.angle) in piece.bender.indexed for bend in piece.bends]
    per_radius = [setback(1, bend.angle, crown=bend.crown) for bend in piece.bends]
    turned = [arc(1, bend.angle) for bend in piece.bends]
    grows = [
        0.0 if bend.crown else piece.radius / 2 / cos(radians(float(bend.angle)) / 2) ** 2
        for bend in piece.bends
    ]
    found: list[Feels] = []
    for leg in range(count + 1):
        marks, angles = [0.0] * count, [0.0] * count
        radius = 0.0
        if leg < count:  # the bend at its right end: its mark, and its setback
            marks[leg] = 1.0
            angles[leg] = radians(grows[leg])
            radius += per_radius[leg] - (per_radius[leg] if indexed[leg] else 0.0)
        if leg > 0:  # the bend at its left end: its mark, its arc, and its setback
            marks[leg - 1] = -1.0
            angles[leg - 1] = radians(grows[leg - 1] - piece.radius)
            radius += per_radius[leg - 1] - turned[leg - 1]
            radius += per_radius[leg - 1] if indexed[leg - 1] else 0.0
        found.append(Feels(tuple(marks), 1.0 if leg == count else 0.0, tuple(angles), radius))
    return tuple(found)


def budget(piece: Piece, known: Uncertainty, step: float = 1 / 16) -> tuple[LegBudget, ...]:
    """Return what to expect of each leg, marks rounded to `step` and the cut up to it, inches."""
    return tuple(
        _leg(piece, leg, feels, known, step)
        for leg, feels in enumerate(sensitivities(piece), start=1)
    )


def _leg(piece: Piece, leg: int, feels: Feels, known: Uncertainty, step: float) -> LegBudget:
    marks = sum(feel * feel for feel in feels.marks)
    together = sum(
        feel * piece.bender.set_angle(bend.angle)
        for feel, bend in zip(feels.angles, piece.bends, strict=True)
    )
    parts: dict[Part, float] = {
        "mark": known.mark * sqrt(marks),
        "cut": known.cut * feels.cut,
        "angle": known.angle * sqrt(sum(feel * feel for feel in feels.angles)),
        "springback": known.springback * abs(together),
        "radius": known.radius * abs(feels.radius),
    }
    rounding = step * (sum(abs(feel) for feel in feels.marks) / 2 + feels.cut)
    even = step * step / 12 * (marks + feels.cut)  # a rounding is as likely one way as the other
    up = step / 2 * feels.cut  # but a cut is never short
    total = sqrt(sum(part * part for part in parts.values()) + even)
    helps: Part = max(parts, key=lambda name: parts[name])
    return LegBudget(leg, up + WITHIN * total, rounding, helps)
