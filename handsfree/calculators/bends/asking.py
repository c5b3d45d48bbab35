"""What the bend cards ask for: readings that several of them share, and the pieces they make."""

from __future__ import annotations

from fractions import Fraction

from handsfree.calculators.bends.piece import (
    SQUARE,
    Bend,
    Bender,
    Body,
    DimensionTo,
    Piece,
)
from handsfree.calculators.bends.room import refuse, shortages
from handsfree.calculators.card import Condition, Option, Parameter, Result
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number

SHORTEST_LEG, LONGEST_LEG = Fraction(1, 4), 600
SMALLEST_SIZE, LARGEST_SIZE = Fraction(3, 16), Fraction(13, 8)
LONGEST_STRAIGHT = 24
MOST_SPRINGBACK = 9

DIMENSION_TO = Option("dimension_to", ("centre", "outside", "inside"), origins=("said", "fact"))
RADIUS = Parameter(
    "radius", Kind.LENGTH, "inch", low=Fraction(1, 4), high=14, origins=("said", "bender")
)


def size(*, only_if: Condition | None = None, optional: bool = False) -> Parameter:
    """Return the parameter for the tube size, outside diameter."""
    return Parameter(
        "size",
        Kind.LENGTH,
        "inch",
        low=SMALLEST_SIZE,
        high=LARGEST_SIZE,
        origins=("said", "fact"),
        only_if=only_if,
        optional=optional,
        rule="size",
    )


SIZE_OF_SIDE = size(only_if=Condition("dimension_to", ("outside", "inside")))
"""The tube size, needed where a leg is measured to the side of the tube."""
SIZE_IF_KNOWN = size(optional=True)
"""The tube size, only to look at the radius with."""


def straight(name: str, *, optional: bool = True, only_if: Condition | None = None) -> Parameter:
    """Return the parameter for a straight that the tool needs: `between`, `grip` or `after`."""
    return Parameter(
        name,
        Kind.LENGTH,
        "inch",
        low=0,
        high=LONGEST_STRAIGHT,
        origins=("said", "bender"),
        optional=optional,
        only_if=only_if,
        rule="length",
    )


def springback_known(*, optional: bool = False, only_if: Condition | None = None) -> Parameter:
    """Return the parameter for what a square bend loses when it is let go, degrees."""
    return Parameter(
        "springback",
        Kind.ANGLE,
        "degree",
        low=0,
        high=MOST_SPRINGBACK,
        assume="degree",
        origins=("bender",) if optional else ("said", "bender"),
        only_if=only_if,
        optional=optional,
    )


def length(  # noqa: PLR0913 - as Parameter
    name: str,
    *,
    low: Number = SHORTEST_LEG,
    high: Number = LONGEST_LEG,
    optional: bool = False,
    only_if: Condition | None = None,
    many: bool = False,
) -> Parameter:
    """Return the parameter for a length on the job, in inches."""
    return Parameter(
        name,
        Kind.LENGTH,
        "inch",
        low=low,
        high=high,
        optional=optional,
        only_if=only_if,
        many=many,
        rule="length",
    )


def angle(  # noqa: PLR0913 - as Parameter
    name: str = "angle",
    *,
    low: Number = 1,
    high: Number = 180,
    optional: bool = False,
    only_if: Condition | None = None,
    many: bool = False,
) -> Parameter:
    """Return the parameter for an angle, in degrees."""
    return Parameter(
        name,
        Kind.ANGLE,
        "degree",
        low=low,
        high=high,
        assume="degree",
        optional=optional,
        only_if=only_if,
        many=many,
        rule="bench_angle" if many else "angle",
    )


def mark(name: str, follows: str, rounding: str = "mark") -> Result:
    """Return the result for a length that is told as a mark, in the tape of another reading."""
    return Result(name, Kind.LENGTH, "inch", rounding, follows=follows)


def _yes_or_no(name: str, default: str) -> Option:
    return Option(name, ("yes", "no"), default=default, origins=("bender",))


def _around(name: str, kind: Kind = Kind.LENGTH, unit: str = "inch") -> Parameter:
    """Return the parameter for a measure around the groove; nothing but the profile has it."""
    return Parameter(name, kind, unit, assume=unit, origins=("bender",), optional=True)


INDEXES = (_yes_or_no("indexes", "yes"), _yes_or_no("forty_five", "no"))
"""Whether the bender has index marks for 90 and for 45 degrees."""
STRAIGHTS = (straight("between"), straight("grip"), straight("after"))
"""The straights that the tool needs; what is not known does not limit."""
TOOL = (
    *STRAIGHTS,
    springback_known(optional=True),
    *INDEXES,
    _around("half_width"),
    _around("handle"),
    _around("handle_angle", Kind.ANGLE, "degree"),
    _around("bench"),
    _around("clear"),
)
"""The whole profile of a bender besides its radius, as `bender` takes it."""
BODY = ("half_width", "handle", "handle_angle", "bench", "clear")
SQUARE_INDEX, OTHER_INDEX = 90.0, 45.0


def bender(radius: Number, **profile: Number | str | None) -> Bender:
    """Return a bender with what is known of its profile, by the names of `TOOL`.

    A bender none of whose outer measures is known has no body: nothing can be in its way.
    """
    known = {name: value for name, value in profile.items() if value is not None}

    def number(name: str) -> float:
        value = known.get(name, 0)
        return 0.0 if isinstance(value, str) else float(value)

    marked = ((SQUARE_INDEX, known.get("indexes", "yes")), (OTHER_INDEX, known.get("forty_five")))
    body = {name: number(name) for name in BODY if name in known}
    return Bender(
        radius,
        springback=1 - number("springback") / SQUARE,
        between=number("between"),
        grip=number("grip"),
        after=number("after"),
        indexed=tuple(angle for angle, has in marked if has == "yes"),
        body=Body(**body) if body else None,
    )


def held(piece: Piece) -> Piece:
    """Return a piece that the tool can hold; raises `Refusal` for the first leg that is short."""
    for shortage in shortages(piece):
        raise refuse(shortage, len(piece.bends))
    return piece


def convention(dimension_to: str) -> DimensionTo:
    """Return the convention of a choice, as the piece wants it."""
    if dimension_to == "outside":
        return "outside"
    return "inside" if dimension_to == "inside" else "centre"


def piece_of(
    legs: tuple[Number, ...],
    angles: tuple[Number, ...],
    outside_diameter: Number | None,
    tool: Bender,
    dimension_to: str,
) -> Piece:
    """Return the piece of these legs; one angle said for several bends stands for each.

    Raises `Refusal` `angles_and_legs` where legs and angles do not fit together, and what
    `Piece` and `held` raise.
    """
    each = angles * (len(legs) - 1) if len(angles) == 1 else angles
    if len(legs) != len(each) + 1 or not each:
        raise Refusal("angles_and_legs")
    bends = tuple(Bend(one) for one in each)
    return held(Piece(legs, bends, outside_diameter, tool, convention(dimension_to)))
