"""Fixing the line: the hole, the clips, the fall, the insulation."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor

from handsfree.calculators.card import Answer, Condition, Option, Parameter, Result, calculator
from handsfree.calculators.joints import SIZE
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number
from handsfree.reference import tables

CLEARANCE = Fraction(1, 2)
"""Inches that a hole is larger than what goes through it."""
OUTWARD_FALL = Fraction(1, 4)
CONDENSATE_FALL = Fraction(1, 8)
"""Inches in a foot."""
STRETCH = Fraction(103, 100)
"""Insulation is cut longer than the line and never stretched."""
STICK_FOOT = Fraction(6)
USUAL_SUPPORTS, CODE_SUPPORTS = "makers_supports", "mss_sp_58"
CLIPS_AT_A_BEND = 2


@calculator(
    "wall_hole",
    parameters=(
        Option("about", ("hole", "fall"), default="hole"),
        Parameter(
            "sizes",
            Kind.LENGTH,
            "inch",
            low=SIZE.low,
            high=SIZE.high,
            rule="size",
            many=True,
            only_if=Condition("about", ("hole",)),
        ),
        Parameter(
            "lagging",
            Kind.LENGTH,
            "inch",
            low=0,
            high=3,
            only_if=Condition("about", ("hole",)),
        ),
        Parameter("drain", Kind.LENGTH, "inch", low=0, high=3, optional=True),
        Parameter("sleeve", Kind.LENGTH, "inch", low=1, high=12, optional=True),
        Parameter(
            "thickness",
            Kind.LENGTH,
            "inch",
            low=1,
            high=60,
            only_if=Condition("about", ("fall",)),
        ),
    ),
    results=(
        Result("bundle", Kind.LENGTH, "inch", "mark", follows="lagging"),
        Result("hole", Kind.LENGTH, "inch", "hole", follows="lagging"),
        Result("fall", Kind.LENGTH, "inch", "cut", follows="thickness"),
    ),
    sources=("practice",),
)
def wall_hole(  # noqa: PLR0913 - what goes through a wall, and the wall
    about: str,
    sizes: tuple[Number, ...] | None,
    lagging: Number | None,
    drain: Number | None,
    sleeve: Number | None,
    thickness: Number | None,
) -> Answer:
    """Return the core bit for lines side by side, or the outward fall of the hole; all inches.

    Raises `Refusal` where no core bit is large enough. Source: geometry, and practice for the
    half inch of clearance and the quarter inch in a foot.
    """
    if about == "fall" and thickness is not None:
        return Answer({"fall": Fraction(thickness) / 12 * OUTWARD_FALL}, sentence="fall")
    lines = tuple(Fraction(one) for one in sizes or ())
    round_each = sum((one + 2 * Fraction(lagging or 0) for one in lines), Fraction(drain or 0))
    bundle = round_each + CLEARANCE
    bit = tables.core_bit(bundle)
    if bit is None:
        raise Refusal("no_bit")
    if sleeve is not None:
        return Answer({"bundle": bundle}, "fits" if sleeve >= bundle else "does_not_fit")
    return Answer({"bundle": bundle, "hole": bit.inch}, sources=(bit.source,))


@calculator(
    "supports",
    parameters=(
        Option("about", ("count", "spacing"), default="count"),
        Parameter(
            "length",
            Kind.LENGTH,
            "foot",
            low=1,
            high=500,
            assume="run",
            only_if=Condition("about", ("count",)),
        ),
        Option("basis", ("said", "usual", "code")),
        Parameter(
            "spacing",
            Kind.LENGTH,
            "foot",
            low=1,
            high=12,
            assume="run",
            only_if=Condition("basis", ("said",)),
        ),
        Parameter(
            "size",
            Kind.LENGTH,
            "inch",
            low=SIZE.low,
            high=SIZE.high,
            origins=("said", "fact"),
            rule="size",
            only_if=Condition("basis", ("usual", "code")),
        ),
        Parameter(
            "bends", Kind.COUNT, "one", low=0, high=50, rule="count", assume="one", optional=True
        ),
    ),
    results=(
        Result("apart", Kind.LENGTH, "foot", "run", follows="length"),
        Result("at_bends", Kind.COUNT, "one", "whole"),
        Result("clips", Kind.COUNT, "one", "whole"),
    ),
    sources=("practice",),
)
def supports(  # noqa: PLR0913 - a run, its spacing, and its bends
    about: str,
    length: Number | None,
    basis: str,
    spacing: Number | None,
    size: Fraction | None,
    bends: Fraction | None,
) -> Answer:
    """Return how many clips a run takes, or how far apart they go; lengths in feet.

    One clip more than whole spacings, and one each side of every bend. Raises `Refusal` for a size
    without a figure. Source: the spacing's own: what was said, makers' guidance or MSS SP-58.
    """
    sources: tuple[str, ...] = ()
    if basis == "said" and spacing is not None:
        apart, kind = Fraction(spacing), "said"
    else:
        source = CODE_SUPPORTS if basis == "code" else USUAL_SUPPORTS
        row = tables.support(Fraction(size or 0), source)
        if row is None:
            raise Refusal("no_spacing")
        apart, sources, kind = row.foot, (source,), basis
    if about == "spacing" or length is None:
        return Answer({"apart": apart}, f"spacing_{kind}", sources=sources)
    at_bends = CLIPS_AT_A_BEND * (bends or Fraction(0))
    clips = floor(Fraction(length) / apart) + 1 + at_bends
    sentence = "count" if bends is None else "count_with_bends"
    return Answer({"apart": apart, "clips": Fraction(clips)}, sentence, sources=sources)


@calculator(
    "fall",
    parameters=(
        Parameter("length", Kind.LENGTH, "foot", low=1, high=500, assume="run"),
        Parameter(
            "slope",
            Kind.SLOPE,
            "inch_per_foot",
            low=Fraction(1, 16),
            high=1,
            assume="inch_per_foot",
            optional=True,
        ),
        Parameter("tried", Kind.LENGTH, "inch", low=0, high=240, optional=True),
    ),
    results=(
        Result("given", Kind.SLOPE, "inch_per_foot", "slope"),
        Result("fall", Kind.LENGTH, "inch", "cut", follows="length"),
    ),
    sources=("geometry",),
)
def fall(length: Number, slope: Number | None, tried: Number | None) -> Answer:
    """Return the fall of a drain, inches, or whether a fall is enough; `length` in feet.

    Without a slope: an eighth of an inch in a foot, as common codes ask of condensate drains.
    Source: geometry; the codes for the eighth.
    """
    steep = CONDENSATE_FALL if slope is None else Fraction(slope)
    needed = Fraction(length) * steep
    sources = ("condensate_fall",) if slope is None else ()
    if tried is None:
        return Answer({"fall": needed}, "by_code" if slope is None else "answer", sources=sources)
    values = {"given": Fraction(tried) / Fraction(length), "fall": needed}
    return Answer(values, "enough" if tried >= needed else "not_enough", sources=sources)


@calculator(
    "insulation",
    parameters=(
        Option("about", ("length", "bore"), default="length"),
        Parameter(
            "size",
            Kind.LENGTH,
            "inch",
            low=SIZE.low,
            high=SIZE.high,
            origins=("said", "fact"),
            rule="size",
            only_if=Condition("about", ("bore",)),
        ),
        Parameter(
            "length",
            Kind.LENGTH,
            "foot",
            low=1,
            high=500,
            assume="run",
            only_if=Condition("about", ("length",)),
        ),
        Option("lines", ("one", "both"), only_if=Condition("about", ("length",))),
    ),
    results=(
        Result("bore", Kind.LENGTH, "inch", "exact", follows="size"),
        Result("total", Kind.LENGTH, "foot", "run", follows="length"),
        Result("sticks", Kind.COUNT, "one", "whole"),
    ),
    sources=("practice",),
)
def insulation(
    about: str, size: Fraction | None, length: Number | None, lines: str | None
) -> Answer:
    """Return the bore of the insulation for a tube, or how much a run takes, feet and lengths.

    Three in a hundred are added, and lengths are of six feet. Source: practice.
    """
    if about == "bore" or length is None:
        return Answer({"bore": Fraction(size or 0)}, sentence="bore")
    total = Fraction(length) * (2 if lines == "both" else 1) * STRETCH
    return Answer({"total": total, "sticks": Fraction(ceil(total / STICK_FOOT))})
