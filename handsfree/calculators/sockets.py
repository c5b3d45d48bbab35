"""Sockets for brazing: how deep, and how tight around the tube."""

from __future__ import annotations

from fractions import Fraction

from handsfree.calculators.card import Answer, Condition, Option, Parameter, Result, calculator
from handsfree.calculators.joints import SIZE
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number
from handsfree.reference import tables

OVERLAP_WALLS = 3
"""A lap of three times the thinner wall is as strong as the tube."""
LARGEST_BY_DIAMETER = Fraction(1)
"""Up to this OD, inches, a swage is about as deep as the tube is wide."""
TIGHT, GOOD, TOLERABLE = Fraction(1), Fraction(5), Fraction(10)
"""Socket bore less tube OD, thousandths of an inch: needed, good, and with a gap-filling rod."""
LARGEST_SIZE = Fraction(13, 8)


@calculator(
    "socket_depth",
    parameters=(
        Option("about", ("depth", "least"), default="depth"),
        SIZE,
        Parameter("tried", Kind.LENGTH, "inch", optional=True),
    ),
    results=(
        Result("least", Kind.LENGTH, "inch", "gap"),
        Result("depth", Kind.LENGTH, "inch", "mark", follows="size"),
        Result("cup", Kind.LENGTH, "inch", "decimal"),
    ),
    sources=("practice", "aws_overlap"),
)
def socket_depth(about: str, size: Fraction, tried: Number | None) -> Answer:
    """Return how deep a swage is made for a tube, inches, and the least lap that holds.

    Above one inch OD the cup depth of fittings goes. Raises `Refusal` for a depth below the least
    lap, and for a size without a wall in the table. Source: practice; AWS for the least lap.
    """
    made = tables.tubes(size, "coil")
    if not made:
        raise Refusal("not_in_table")
    least = OVERLAP_WALLS * made[-1].wall_in
    cup = tables.cup_depth(size)
    if tried is not None and tried < least:
        raise Refusal("too_shallow")
    by_cup = size > LARGEST_BY_DIAMETER and cup is not None
    depth = cup.depth_in if by_cup and cup is not None else size
    if tried is not None:
        sentence = "deep_enough" if tried >= depth else "shallow"
        return Answer({"least": least, "depth": depth}, sentence=sentence)
    if about == "least":
        return Answer({"least": least}, sentence="least")
    if by_cup and cup is not None:
        sentence = "cup" if cup.status == "published" else "cup_memory"
        return Answer({"cup": cup.depth_in}, sentence=sentence, sources=(cup.source,))
    return Answer({"least": least, "depth": depth})


@calculator(
    "braze_gap",
    parameters=(
        Option("about", ("sizes", "gap", "allowed"), default="sizes"),
        Parameter(
            "socket",
            Kind.LENGTH,
            "inch",
            low=Fraction(3, 16),
            high=LARGEST_SIZE + Fraction(1, 16),
            rule="decimal_inch",
            only_if=Condition("about", ("sizes",)),
        ),
        Parameter(
            "tube",
            Kind.LENGTH,
            "inch",
            low=Fraction(3, 16),
            high=LARGEST_SIZE,
            rule="decimal_inch",
            only_if=Condition("about", ("sizes",)),
        ),
        Parameter(
            "measured_gap",
            Kind.LENGTH,
            "thou",
            low=0,
            high=50,
            assume="thou",
            only_if=Condition("about", ("gap",)),
        ),
    ),
    results=(
        Result("gap", Kind.LENGTH, "thou", "gap"),
        Result("low", Kind.LENGTH, "thou", "gap"),
        Result("high", Kind.LENGTH, "thou", "gap"),
    ),
    sources=("practice",),
)
def braze_gap(
    about: str, socket: Number | None, tube: Number | None, measured_gap: Number | None
) -> Answer:
    """Return the gap between socket and tube, thousandths of an inch over the diameter.

    `socket` and `tube` in inches. Raises `Refusal` where the tube does not go in. Source: practice.
    """
    if about == "allowed":
        return Answer({"low": TIGHT, "high": GOOD}, sentence="allowed")
    if measured_gap is not None:
        gap = Fraction(measured_gap)
    elif socket is not None and tube is not None:
        gap = (Fraction(socket) - Fraction(tube)) * 1000
    else:
        gap = Fraction(0)
    if gap <= 0:
        raise Refusal("does_not_go_in")
    if gap < TIGHT:
        sentence = "tight"
    elif gap <= GOOD:
        sentence = "good"
    else:
        sentence = "loose" if gap <= TOLERABLE else "remake"
    return Answer({"gap": gap}, sentence=sentence)
