"""One bend and one cut: where the mark goes, and how long to cut."""

from __future__ import annotations

from fractions import Fraction

from handsfree.calculators.bends.piece import arc, gain, setback, to_centre
from handsfree.calculators.card import (
    Answer,
    Condition,
    Option,
    Parameter,
    Result,
    Slots,
    calculator,
)
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number, inches

SHORTEST_LEG, LONGEST_LEG = Fraction(1, 4), 600
TIGHTEST, WIDEST = 2, 8
"""A bend radius outside these multiples of the outside diameter is asked about."""

DIMENSION_TO = Option("dimension_to", ("centre", "outside", "inside"), origins=("said", "fact"))
RADIUS = Parameter(
    "radius", Kind.LENGTH, "inch", low=Fraction(1, 4), high=14, origins=("said", "bender")
)
SIZE = Parameter(
    "size",
    Kind.LENGTH,
    "inch",
    low=Fraction(3, 16),
    high=Fraction(13, 8),
    origins=("said", "fact"),
    only_if=Condition("dimension_to", ("outside", "inside")),
    rule="size",
)
GRIP = Parameter("grip", Kind.LENGTH, "inch", low=0, high=24, origins=("bender",), optional=True)


def check_radius(radius: Number, size: Number | None) -> None:
    """Raise `Refusal` where a radius is outside two to eight times a known tube."""
    if size is not None and not TIGHTEST * size <= radius <= WIDEST * size:
        raise Refusal("odd_radius")


def refuse_left_with_right(slots: Slots) -> None:
    """Raise `Refusal` where the left end and the R index are asked for together."""
    if (slots.get("measured_from"), slots.get("index")) == ("left", "R"):
        raise Refusal("left_with_right")


@calculator(
    "bend_mark",
    parameters=(
        Parameter("angle", Kind.ANGLE, "degree", low=1, high=179, assume="degree"),
        Parameter("distance", Kind.LENGTH, "inch", low=SHORTEST_LEG, high=LONGEST_LEG),
        DIMENSION_TO,
        SIZE,
        RADIUS,
        Option("measured_from", ("left", "right"), default="left", origins=("said", "fact")),
        Option("index", ("L", "R"), optional=True),
        GRIP,
    ),
    results=(
        Result("start", Kind.LENGTH, "inch", "mark", follows="distance"),
        Result("mark", Kind.LENGTH, "inch", "mark", follows="distance"),
    ),
    sources=("geometry",),
    guard=refuse_left_with_right,
)
def bend_mark(  # noqa: PLR0913 - one argument for each thing that a bender needs to know
    angle: Number,
    distance: Number,
    dimension_to: str,
    size: Number | None,
    radius: Number,
    measured_from: str,
    index: str | None,
    grip: Number | None,
) -> Answer:
    """Return the index mark and the start (zero) mark of one bend, inches from the measured end.

    Lengths in inches, angle in degrees. Raises `Refusal` for a radius outside two to eight
    diameters and for a start too near the end to grip.
    Source: geometry; the index marks sit at the apex of the bend.
    """
    del index  # the guard has looked at it
    check_radius(radius, size)
    centre = to_centre(distance, dimension_to, size or 0, angle)
    start = centre - setback(radius, angle)
    if measured_from == "right":
        zero = start + arc(radius, angle)
        return Answer({"start": zero, "mark": centre}, sentence="right")
    least = grip or 0
    if start < least:
        raise Refusal("too_short", {"short": inches(float(least - start))})
    return Answer({"start": start, "mark": centre}, sentence="left")


@calculator(
    "cut_length",
    parameters=(
        Parameter("legs", Kind.COUNT, "one", low=2, high=12, assume="one", optional=True),
        Parameter("leg", Kind.LENGTH, "inch", low=SHORTEST_LEG, high=LONGEST_LEG, many=True),
        Parameter("angle", Kind.ANGLE, "degree", low=1, high=179, assume="degree", many=True),
        DIMENSION_TO,
        SIZE,
        RADIUS,
    ),
    results=(Result("cut", Kind.LENGTH, "inch", "cut", follows="leg"),),
    sources=("geometry",),
)
def cut_length(  # noqa: PLR0913 - as bend_mark
    legs: Number | None,
    leg: tuple[Number, ...],
    angle: tuple[Number, ...],
    dimension_to: str,
    size: Number | None,
    radius: Number,
) -> Answer:
    """Return the length to cut, inches: the legs on the centre line less the gain of each bend.

    `legs` equal legs may be said as one; one angle said for several bends stands for each.
    Raises `Refusal` where legs and angles do not fit together, and where two bends run into each
    other. Source: geometry.
    """
    if legs is not None and len(leg) == 1:
        leg = leg * int(legs)
    angles = angle * (len(leg) - 1) if len(angle) == 1 else angle
    if len(leg) != len(angles) + 1 or not angles:
        raise Refusal("angles_and_legs")
    check_radius(radius, size)
    around = (0, *angles, 0)
    total: Number = 0
    for position, length in enumerate(leg):
        ends = (around[position], around[position + 1])
        centre = to_centre(length, dimension_to, size or 0, *ends)
        straight = centre - sum(setback(radius, end) for end in ends)
        if straight < 0:
            raise Refusal("impossible", {"short": inches(float(-straight))})
        total += centre
    return Answer({"cut": total - sum(gain(radius, bend) for bend in angles)})
