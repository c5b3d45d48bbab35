"""How truly a piece comes out: what to expect of a leg, and where the next mark goes now."""

from __future__ import annotations

from handsfree.calculators.bends.asking import (
    DIMENSION_TO,
    RADIUS,
    SIZE_OF_SIDE,
    angle,
    bender,
    length,
    mark,
    piece_of,
    straight,
)
from handsfree.calculators.bends.budget import Uncertainty, budget
from handsfree.calculators.bends.planner import Plan, plan
from handsfree.calculators.bends.rebase import rebase
from handsfree.calculators.card import Answer, Option, Parameter, calculator
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number

MOST_LEGS = 12


def _count(name: str) -> Parameter:
    return Parameter(name, Kind.COUNT, "one", low=1, high=MOST_LEGS, assume="one")


@calculator(
    "rebase_marks",
    parameters=(
        _count("bend"),
        length("measured"),
        Option("far_leg", ("moves", "fixed")),
        length("leg", many=True),
        angle(many=True),
        DIMENSION_TO,
        SIZE_OF_SIDE,
        RADIUS,
        straight("between"),
        straight("grip"),
        straight("after"),
    ),
    results=(
        mark("error", "measured", "fine"),
        mark("length", "measured"),
        mark("mark", "measured"),
    ),
    sources=("geometry", "practice"),
)
def rebase_marks(  # noqa: PLR0913 - a piece, and what was measured on it
    bend: Number,
    measured: Number,
    far_leg: str,
    leg: tuple[Number, ...],
    angle: tuple[Number, ...],
    dimension_to: str,
    size: Number | None,
    radius: Number,
    between: Number | None,
    grip: Number | None,
    after: Number | None,
) -> Answer:
    """Return where the next mark goes now that the leg before a bend was measured, inches.

    `length` is what the leg that takes the error up will measure. Raises `Refusal` where there is
    no such bend, and where a leg gets too short for the tool. Source: geometry; a sixteenth is
    let pass by common practice.
    """
    tool = bender(radius, between, grip, after)
    piece = piece_of(leg, angle, size, tool, dimension_to)
    number = int(bend)
    if number > len(piece.bends):
        raise Refusal("no_such_bend", {"bends": len(piece.bends)})
    made = plan(piece)
    if not isinstance(made, Plan):
        raise Refusal("no_order")
    now = rebase(made, number - 1, number, measured, far_leg_may_move=far_leg == "moves")
    values = {"error": abs(now.error), "length": now.length}
    words = {"taker": str(now.leg), "next": str(number + 1)}
    if not now.steps:
        return Answer(values, sentence="last", words=words)
    return Answer(
        {**values, "mark": now.steps[0].mark},
        sentence="moved" if now.moved else "stays",
        words=words,
    )


@calculator(
    "bend_budget",
    parameters=(
        _count("which"),
        length("leg", many=True),
        angle(many=True),
        DIMENSION_TO,
        SIZE_OF_SIDE,
        RADIUS,
    ),
    results=(mark("within", "leg", "cut"),),
    sources=("geometry", "practice"),
)
def bend_budget(  # noqa: PLR0913 - a piece, and one of its legs
    which: Number,
    leg: tuple[Number, ...],
    angle: tuple[Number, ...],
    dimension_to: str,
    size: Number | None,
    radius: Number,
) -> Answer:
    """Return within what one leg of a piece is to be expected, inches, for two deviations.

    The measurement that would help most is told as a warning. Raises `Refusal` where the piece
    cannot be. Source: the propagation of uncertainty; the usual errors are common practice.
    """
    piece = piece_of(leg, angle, size, bender(radius), dimension_to)
    number = int(which)
    if number > len(piece.legs):
        raise Refusal("no_such_leg", {"legs": len(piece.legs)})
    told = budget(piece, Uncertainty())[number - 1]
    return Answer({"within": told.expected}, warnings=(told.helps,), words={"which": str(number)})
