"""One bend: where its mark goes, what it takes, and what a dimension is on the centre line."""

from __future__ import annotations

from handsfree.calculators.bends.asking import (
    DIMENSION_TO,
    INDEXES,
    RADIUS,
    SIZE_IF_KNOWN,
    SIZE_OF_SIDE,
    angle,
    bender,
    length,
    mark,
    size,
    straight,
)
from handsfree.calculators.bends.piece import (
    arc,
    check_radius,
    gain,
    setback,
    to_centre,
)
from handsfree.calculators.card import Answer, Option, Slots, calculator
from handsfree.errors import Refusal
from handsfree.quantity import Number, inches


def refuse_other_index(slots: Slots) -> None:
    """Raise `Refusal` where one end and the index of the other are asked for together."""
    asked = (slots.get("measured_from", "left"), slots.get("index"))
    if asked == ("left", "R"):
        raise Refusal("left_with_right")
    if asked == ("right", "L"):
        raise Refusal("right_with_left")


@calculator(
    "bend_mark",
    parameters=(
        angle(),
        length("distance"),
        DIMENSION_TO,
        SIZE_OF_SIDE,
        RADIUS,
        Option("measured_from", ("left", "right"), default="left", origins=("said", "fact")),
        Option("index", ("L", "R"), optional=True),
        Option("used", ("lever", "ratchet"), default="lever"),
        straight("grip"),
        length("stock", optional=True),
        *INDEXES,
    ),
    results=(mark("start", "distance"), mark("mark", "distance"), mark("middle", "distance")),
    sources=("geometry",),
    guard=refuse_other_index,
)
def bend_mark(  # noqa: PLR0913 - one argument for each thing that a bender needs to know
    angle: Number,
    distance: Number,
    dimension_to: str,
    size: Number | None,
    radius: Number,
    measured_from: str,
    index: str | None,
    used: str,
    grip: Number | None,
    stock: Number | None,
    indexes: str,
    forty_five: str,
) -> Answer:
    """Return the index mark and the start (zero) mark of one bend, inches from the measured end.

    Lengths in inches, angle in degrees; `stock` is the length of the straight tube. The L and R
    marks of a bender hold for a square bend, or for one of 45 where it has such marks; any other
    starts at the zero. A ratchet has its index at the start or at the middle of the bend, and bends
    alike from either end: it is given both. Raises `Refusal` for a return, for a radius outside two
    to eight diameters, for a start too near the end to grip, and for a bend past the other end of
    the `stock`.
    Source: geometry; the index marks sit at the apex of the bend.
    """
    del index  # the guard has looked at it
    check_radius(radius, size)
    centre = to_centre(distance, dimension_to, size or 0, angle)
    start = centre - setback(radius, angle)
    end = start + arc(radius, angle)
    if stock is not None and end > stock:
        raise Refusal("past_end", {"past": inches(float(end - stock))})
    least = grip or 0
    if used == "ratchet":
        if start < least:
            raise Refusal("too_short", {"short": inches(float(least - start))})
        return Answer({"start": start, "middle": (start + end) / 2}, sentence="ratchet")
    indexed = angle in bender(radius, indexes=indexes, forty_five=forty_five).indexed
    if measured_from == "right":
        if indexed:
            return Answer({"start": end, "mark": centre}, sentence="right")
        return Answer({"mark": centre, "start": end}, sentence="right_at_zero")
    if start < least:
        raise Refusal("too_short", {"short": inches(float(least - start))})
    return Answer({"mark": centre, "start": start}, "left" if indexed else "left_at_zero")


@calculator(
    "bend_terms",
    parameters=(
        Option("about", ("all", "setback", "arc", "gain", "zone"), default="all"),
        angle(),
        RADIUS,
        SIZE_IF_KNOWN,
    ),
    results=tuple(mark(name, "radius", "fine") for name in ("setback", "arc", "gain", "zone")),
    sources=("geometry",),
)
def bend_terms(about: str, angle: Number, radius: Number, size: Number | None) -> Answer:
    """Return setback, arc and gain of a bend, inches; a return has an arc only.

    The zone that is annealed for it is the arc and one diameter on each side. Raises `Refusal` for
    setback or gain at 180 degrees, for an odd radius, and for a zone without a tube size. Source:
    geometry; usual practice for the zone.
    """
    check_radius(radius, size)
    if about == "zone":
        if size is None:
            raise Refusal("zone_needs_size")
        return Answer({"zone": arc(radius, angle) + 2 * float(size)}, "zone", sources=("practice",))
    if about == "arc":
        return Answer({"arc": arc(radius, angle)}, sentence="arc")
    values = {
        "setback": setback(radius, angle),
        "arc": arc(radius, angle),
        "gain": gain(radius, angle),
    }
    if about == "all":
        return Answer(values, sentence="all")
    return Answer({about: values[about]}, sentence=about)


@calculator(
    "dimension_to_centre",
    parameters=(
        length("distance"),
        Option("taken_to", ("outside", "inside")),
        Option("ends", ("one", "both"), default="one"),
        angle(high=179),
        size(),
    ),
    results=(mark("centre", "distance"),),
    sources=("geometry",),
)
def dimension_to_centre(
    distance: Number, taken_to: str, ends: str, angle: Number, size: Number
) -> Answer:
    """Return a dimension to the outside or inside of a bend as it is to the centre line, inches.

    A leg with bends at both ends converts at both ends. Raises `Refusal` where nothing is left.
    Source: geometry.
    """
    bends = (angle, angle) if ends == "both" else (angle,)
    centre = to_centre(distance, taken_to, size, *bends)
    if centre <= 0:
        raise Refusal("nothing_left")
    return Answer({"centre": centre})
