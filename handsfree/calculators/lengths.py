"""Lengths on the job: growing, turning, flattening, spacing, adding up."""

from __future__ import annotations

from fractions import Fraction
from math import atan2, degrees

from handsfree.calculators.bends.piece import SQUARE, gain
from handsfree.calculators.card import Answer, Condition, Option, Parameter, Result, calculator
from handsfree.calculators.joints import SIZE
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number, Reading, inches

GROWTH_PER_FAHRENHEIT = Fraction(94, 10_000_000)
FLATTEST_PERCENT = 10
MOST_SPACED = 200
INCHES_IN_A_FOOT = 12
USUAL_WASTE_PERCENT = 10
USUAL_OFFSET, BENDS_OF_AN_OFFSET = 45, 2
"""The angle that an offset is bent at where none is said, degrees. Common practice, no source."""
MILLIMETRES_IN_AN_INCH = Fraction(254, 10)


@calculator(
    "growth",
    parameters=(
        Parameter("length", Kind.LENGTH, "foot", low=1, high=500, assume="run"),
        Parameter(
            "swing",
            Kind.TEMPERATURE_DIFFERENCE,
            "fahrenheit",
            low=1,
            high=400,
            assume="system",
        ),
    ),
    results=(Result("growth", Kind.LENGTH, "inch", "mark", follows="length"),),
    sources=("copper_expansion",),
)
def growth(length: Number, swing: Number) -> Answer:
    """Return how much a run of copper grows, inches; `length` in feet, `swing` in °F.

    Source: 9.4e-6 per °F, Copper Tube Handbook.
    """
    return Answer({"growth": Fraction(length) * 12 * Fraction(swing) * GROWTH_PER_FAHRENHEIT})


@calculator(
    "twist",
    parameters=(
        Parameter("lift", Kind.LENGTH, "inch", low=Fraction(1, 64), high=24),
        Parameter("leg", Kind.LENGTH, "inch", low=Fraction(1, 4), high=600),
    ),
    results=(Result("angle", Kind.ANGLE, "degree", "angle"),),
    sources=("geometry",),
)
def twist(lift: Number, leg: Number) -> Answer:
    """Return the angle by which a leg stands out of the plane, degrees; lengths in inches.

    Raises `Refusal` where the end is lifted more than the leg is long. Source: geometry.
    """
    if lift >= leg:
        raise Refusal("lift_over_leg")
    return Answer({"angle": degrees(atan2(float(lift), float(leg)))})


@calculator(
    "ovality",
    parameters=(
        Option("about", ("measured", "limit"), default="measured"),
        Parameter(
            "widest",
            Kind.LENGTH,
            "millimetre",
            assume="millimetre",
            rule="decimal_inch",
            only_if=Condition("about", ("measured",)),
        ),
        Parameter(
            "narrowest",
            Kind.LENGTH,
            "millimetre",
            assume="millimetre",
            rule="decimal_inch",
            only_if=Condition("about", ("measured",)),
        ),
        Parameter(
            "size",
            Kind.LENGTH,
            "inch",
            low=SIZE.low,
            high=SIZE.high,
            origins=("said", "fact"),
            rule="size",
            only_if=Condition("about", ("measured",)),
        ),
    ),
    results=(Result("ovality", Kind.RATIO, "percent", "percent"),),
    sources=("practice",),
)
def ovality(
    about: str, widest: Number | None, narrowest: Number | None, size: Fraction | None
) -> Answer:
    """Return how oval a bend is, percent of its OD; diameters in millimetres, `size` in inches.

    Raises `Refusal` for diameters that are no tube of this size. Source: common practice, 10 %.
    """
    if about == "limit" or widest is None or narrowest is None or size is None:
        return Answer({"ovality": Fraction(FLATTEST_PERCENT)}, sentence="limit")
    outside = size * MILLIMETRES_IN_AN_INCH
    if widest < narrowest:
        raise Refusal("turned_round")
    if not outside / 2 <= narrowest <= widest <= outside * Fraction(3, 2):
        raise Refusal("not_this_tube")
    percent = (Fraction(widest) - Fraction(narrowest)) / outside * 100
    sentence = "too_flat" if percent > FLATTEST_PERCENT else "fine"
    return Answer({"ovality": percent}, sentence=sentence)


@calculator(
    "equal_spacing",
    parameters=(
        Parameter("count", Kind.COUNT, "one", low=2, high=MOST_SPACED, rule="count", assume="one"),
        Parameter("length", Kind.LENGTH, "inch", low=1, high=6000),
        Parameter("ends", Kind.LENGTH, "inch", low=0, high=600),
    ),
    results=(
        Result("marks", Kind.LENGTH, "inch", "mark", follows="length"),
        Result("spacing", Kind.LENGTH, "inch", "mark", follows="length"),
    ),
    sources=("geometry",),
)
def equal_spacing(count: Fraction, length: Number, ends: Number) -> Answer:
    """Return the distance between so many clips, and where each one goes; all in inches.

    `ends` is from each end to its clip. Raises `Refusal` for a part of a clip, and where the end
    distances leave no room. Source: arithmetic.
    """
    if count.denominator != 1:
        raise Refusal("whole_clips")
    between = Fraction(length) - 2 * Fraction(ends)
    if between <= 0:
        raise Refusal("no_room")
    step = between / (count - 1)
    marks = tuple(inches(Fraction(ends) + position * step) for position in range(int(count)))
    return Answer({"marks": marks, "spacing": step})


@calculator(
    "take_off",
    parameters=(
        Option("about", ("tube", "line"), default="tube"),
        Parameter("length", Kind.LENGTH, "foot", low=1, high=500, assume="run"),
        Parameter("bends", Kind.COUNT, "one", low=0, high=50, rule="count", assume="one"),
        Parameter(
            "offsets", Kind.COUNT, "one", low=0, high=25, rule="count", assume="one", optional=True
        ),
        Parameter("offset_angle", Kind.ANGLE, "degree", low=5, high=60, optional=True),
        Parameter(
            "radius",
            Kind.LENGTH,
            "inch",
            low=Fraction(1, 4),
            high=14,
            origins=("said", "bender"),
            optional=True,
        ),
        Parameter("ends", Kind.LENGTH, "inch", low=0, high=48, optional=True),
        Parameter("waste", Kind.RATIO, "percent", low=0, high=30, assume="percent", optional=True),
        Parameter("longest", Kind.LENGTH, "foot", low=1, high=500, assume="run", optional=True),
    ),
    results=(
        Result("over", Kind.LENGTH, "foot", "cut", follows="length"),
        Result("saved", Kind.LENGTH, "inch", "decimal", follows="length"),
        Result("line", Kind.LENGTH, "foot", "cut", follows="length"),
        Result("tube", Kind.LENGTH, "foot", "cut", follows="length"),
    ),
    sources=("geometry", "practice"),
)
def take_off(  # noqa: PLR0913 - a run, and what is added to it and taken from it
    about: str,
    length: Number,
    bends: Fraction,
    offsets: Fraction | None,
    offset_angle: Number | None,
    radius: Number | None,
    ends: Number | None,
    waste: Number | None,
    longest: Number | None,
) -> Answer:
    """Return the tube to take for a run of legs to the centre line, and the line that it makes.

    `length`, the sum of the legs, and the maker's `longest` line in feet, `ends` (all that is cut
    off at the ends) and `radius` in inches, `waste` in percent, ten unless said. `bends` are
    square; `offsets` are two bends each of `offset_angle` degrees, 45 unless said, and their
    slanted legs are legs. Without a radius they save nothing. Source: geometry, and usual practice
    for the waste and for the angle.
    """
    saved = 0.0
    if radius is not None:
        turned = USUAL_OFFSET if offset_angle is None else offset_angle
        of_offsets = BENDS_OF_AN_OFFSET * float(offsets or 0) * gain(radius, turned)
        saved = float(bends) * gain(radius, SQUARE) + of_offsets
    line = float(length) - saved / INCHES_IN_A_FOOT
    if longest is not None and line > longest:
        return Answer({"over": line - float(longest), "line": line}, sentence="over")
    if about == "line":
        return Answer({"saved": saved, "line": line}, sentence="line")
    share = USUAL_WASTE_PERCENT if waste is None else waste
    tube = (line + float(ends or 0) / INCHES_IN_A_FOOT) * (1 + float(share) / 100)
    return Answer({"line": line, "tube": tube}, sentence="tube")


@calculator(
    "running_total",
    parameters=(
        Option("operation", ("add", "total", "take off", "clear"), default="add"),
        Parameter("more", Kind.LENGTH, "", only_if=Condition("operation", ("add",))),
        Parameter("kept", Kind.LENGTH, "", optional=True, many=True, origins=("earlier",)),
    ),
    results=(
        Result("kept", Kind.LENGTH, "", "exact"),
        Result("total", Kind.LENGTH, "", "exact"),
    ),
    sources=("geometry",),
)
def running_total(operation: str, more: Reading | None, kept: tuple[Reading, ...] | None) -> Answer:
    """Return the lengths that are kept and their total, in the unit of the first.

    Raises `Refusal` where there is nothing to take off or to total. Source: arithmetic.
    """
    lengths = kept or ()
    if operation == "add" and more is not None:
        lengths = (*lengths, more)
    elif not lengths:
        raise Refusal("nothing_kept")
    elif operation == "take off":
        lengths = lengths[:-1]
    elif operation == "clear":
        lengths = ()
    if not lengths:
        return Answer({"kept": ()}, sentence="empty")
    unit = "inch" if lengths[0].unit == "foot" else lengths[0].unit
    total = sum((Fraction(one.to(unit).value) for one in lengths), Fraction(0))
    told = Reading(total, unit, Kind.LENGTH)
    return Answer(
        {"kept": lengths, "total": told}, sentence="in_feet" if unit == "inch" else "total"
    )
