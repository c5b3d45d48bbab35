"""A whole piece: its marks, its cut length, and whether the tool and the tube are enough for it."""

from __future__ import annotations

from handsfree.calculators.bends.asking import (
    DIMENSION_TO,
    LONGEST_LEG,
    RADIUS,
    SIZE_IF_KNOWN,
    SIZE_OF_SIDE,
    TOOL,
    angle,
    bender,
    held,
    length,
    mark,
    piece_of,
    size,
    straight,
)
from handsfree.calculators.bends.piece import check_radius, setback
from handsfree.calculators.bends.room import straight_to_flare
from handsfree.calculators.bends.shapes import u_bend as shape_of_u
from handsfree.calculators.card import Answer, Condition, Option, Parameter, Result, calculator
from handsfree.quantity import Kind, Number


@calculator(
    "cut_length",
    parameters=(
        Parameter("legs", Kind.COUNT, "one", low=2, high=12, assume="one", optional=True),
        length("leg", many=True),
        angle(many=True),
        DIMENSION_TO,
        SIZE_OF_SIDE,
        RADIUS,
        length("trim", high=12, optional=True),
    ),
    results=(mark("with_trim", "leg", "cut"), mark("cut", "leg", "cut")),
    sources=("geometry",),
)
def cut_length(  # noqa: PLR0913 - as piece_marks
    legs: Number | None,
    leg: tuple[Number, ...],
    angle: tuple[Number, ...],
    dimension_to: str,
    size: Number | None,
    radius: Number,
    trim: Number | None,
) -> Answer:
    """Return the length to cut, inches: the legs on the centre line less the gain of each bend.

    `legs` equal legs may be said as one; one angle said for several bends stands for each. A trim
    is added once at each end, and told apart. Raises `Refusal` where legs and angles do not fit
    together, and where two bends run into each other. Source: geometry.
    """
    if legs is not None and len(leg) == 1:
        leg = leg * int(legs)
    cut = piece_of(leg, angle, size, bender(radius), dimension_to).cut
    if trim is None:
        return Answer({"cut": cut})
    return Answer({"cut": cut, "with_trim": cut + 2 * float(trim)}, sentence="trimmed")


@calculator(
    "u_bend",
    parameters=(
        Option("about", ("marks", "fit"), default="marks"),
        length("leg", only_if=Condition("about", ("marks",))),
        length("centres", optional=True),
        RADIUS,
        SIZE_IF_KNOWN,
        *TOOL,
    ),
    results=(
        mark("centres", "leg"),
        mark("straight", "leg"),
        mark("start", "leg"),
        mark("first", "leg"),
        mark("second", "leg"),
        mark("cut", "leg", "cut"),
    ),
    sources=("geometry",),
)
def u_bend(
    about: str,
    leg: Number | None,
    centres: Number | None,
    radius: Number,
    size: Number | None,
    **tool: Number | str | None,
) -> Answer:
    """Return the marks and the cut of a U with equal legs to the outermost centre line, inches.

    At twice the radius it is one bend of 180, wider it is two of 90. Raises `Refusal` for nearer
    centres, and where the tool cannot hold it. Source: geometry.
    """
    made_on = bender(radius, **tool)
    if about == "fit" or leg is None:
        held(shape_of_u(LONGEST_LEG, centres, size, made_on))
        return Answer({"centres": 2 * float(radius)}, sentence="fits")
    piece = held(shape_of_u(leg, centres, size, made_on))
    if len(piece.bends) == 1:
        values = {"centres": 2 * piece.radius, "start": piece.starts[0], "cut": piece.cut}
        return Answer(values, sentence="one")
    first, second = piece.apexes
    values = {
        "straight": piece.straights[1],
        "start": piece.starts[0],
        "cut": piece.cut,
        "first": first,
        "second": second,
    }
    return Answer(values, sentence="two")


WHERE = Option("where", ("first", "between", "last"), default="between")


@calculator(
    "bend_room",
    parameters=(
        WHERE,
        length("leg", optional=True),
        angle(high=179),
        RADIUS,
        SIZE_IF_KNOWN,
        straight("grip", optional=False, only_if=Condition("where", ("first",))),
        straight("between", optional=False, only_if=Condition("where", ("between",))),
        straight("after", optional=False, only_if=Condition("where", ("last",))),
    ),
    results=(
        mark("need", "leg"),
        mark("straight", "leg"),
        mark("spare", "leg"),
        mark("short", "leg"),
    ),
    sources=("geometry",),
)
def bend_room(  # noqa: PLR0913 - as piece_marks
    where: str,
    leg: Number | None,
    angle: Number,
    radius: Number,
    size: Number | None,
    grip: Number | None,
    between: Number | None,
    after: Number | None,
) -> Answer:
    """Return whether a leg to the centre line is long enough for the tool, inches.

    A first leg holds the setback and the grip, a leg between bends two setbacks and the straight
    between them, a last leg the setback and what lies under the shoe. Without a leg, the shortest
    is told. Raises `Refusal` for an odd radius. Source: geometry.
    """
    check_radius(radius, size)
    back = setback(radius, angle)
    if where == "between":
        backs, straight_needed = 2 * back, float(between or 0)
    else:
        backs, straight_needed = back, float((grip if where == "first" else after) or 0)
    need = backs + straight_needed
    if leg is None:
        return Answer({"need": need}, sentence="shortest")
    left = float(leg) - backs
    if left >= straight_needed:
        values = {"straight": left, "need": need, "spare": float(leg) - need}
        return Answer({**values}, sentence="fits")
    values = {"need": need, "short": need - float(leg)}
    return Answer(values, sentence="short_between" if where == "between" else "short_end")


@calculator(
    "straight_for_flare",
    parameters=(
        Option("basis", ("measured", "planning")),
        size(),
        length("nut", high=4, only_if=Condition("basis", ("measured",))),
        length("block", high=6, only_if=Condition("basis", ("measured",))),
        length("projection", low=0, high=1, only_if=Condition("basis", ("measured",))),
    ),
    results=(mark("straight", "size"),),
    sources=("practice",),
)
def straight_for_flare(
    basis: str,
    size: Number,
    nut: Number | None,
    block: Number | None,
    projection: Number | None,
) -> Answer:
    """Return the straight that a flare or swage needs after a bend, inches.

    From the measured nut, block and projection, or the planning figure. Source: usual practice.
    """
    if basis == "planning":
        return Answer({"straight": straight_to_flare(size)}, sentence="planning")
    return Answer({"straight": straight_to_flare(size, nut, block, projection)}, "measured")


LONGEST_COIL = 12_000


@calculator(
    "tube_left",
    parameters=(
        Option("about", ("coil", "reach"), default="coil"),
        length("coil", high=LONGEST_COIL, only_if=Condition("about", ("coil",))),
        length("used", high=LONGEST_COIL, many=True, only_if=Condition("about", ("coil",))),
        length("slack", low=0, only_if=Condition("about", ("reach",))),
        length("cut_off", low=0, high=12, only_if=Condition("about", ("reach",))),
        length("flare", low=0, high=12, only_if=Condition("about", ("reach",))),
    ),
    results=(
        Result("left", Kind.LENGTH, "inch", "mark", follows="coil"),
        Result("spare", Kind.LENGTH, "inch", "fine", follows="slack"),
        Result("short", Kind.LENGTH, "inch", "fine"),
    ),
    sources=("geometry",),
)
def tube_left(  # noqa: PLR0913 - two sums, each of three lengths
    about: str,
    coil: Number | None,
    used: tuple[Number, ...] | None,
    slack: Number | None,
    cut_off: Number | None,
    flare: Number | None,
) -> Answer:
    """Return what is left on a coil, or the spare length after a flare is cut off, inches.

    Or by how much it is short. Source: arithmetic.
    """
    if about == "coil":
        left = (coil or 0) - sum(used or ())
        if left < 0:
            return Answer({"short": -left}, sentence="coil_short")
        return Answer({"left": left}, sentence="coil")
    spare = (slack or 0) - (cut_off or 0) - (flare or 0)
    if spare < 0:
        return Answer({"short": -spare}, sentence="reach_short")
    return Answer({"spare": spare}, sentence="reach")
