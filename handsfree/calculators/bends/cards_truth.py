"""How truly a piece comes out: what to expect of a leg, and where the next mark goes now."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from handsfree.calculators.bends.asking import (
    DIMENSION_TO,
    RADIUS,
    SIZE_OF_SIDE,
    angle,
    bender,
    length,
    mark,
    piece_of,
)
from handsfree.calculators.bends.budget import Uncertainty, budget
from handsfree.calculators.bends.cards_marks import PIECE, planned
from handsfree.calculators.bends.rebase import rebase
from handsfree.calculators.card import Answer, Option, Parameter, Result, calculator
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number, Reading, inches

MOST_LEGS = 12


def _count(name: str) -> Parameter:
    return Parameter(name, Kind.COUNT, "one", low=1, high=MOST_LEGS, assume="one")


@calculator(
    "rebase_marks",
    parameters=(
        _count("bend"),
        length("measured"),
        Option("far_leg", ("moves", "fixed")),
        *PIECE,
    ),
    results=(
        mark("error", "measured", "fine"),
        *(mark(f"leg_{number}", "measured") for number in range(1, MOST_LEGS + 1)),
        Result("bend", Kind.COUNT, "one", "exact"),
        mark("legs", "measured"),
        mark("length", "measured"),
        mark("mark", "measured"),
    ),
    sources=("geometry", "practice"),
)
def rebase_marks(bend: Number, measured: Number, far_leg: str, **piece: Any) -> Answer:
    """Return where the next mark goes now that the leg before a bend was measured, inches.

    `length` is what the leg that takes the error up will measure, and `leg_1` … are all the legs
    as they will come out. Raises `Refusal` where there is no such bend, and where a leg gets too
    short for the tool. Source: geometry; a sixteenth is let pass by common practice.
    """
    made = planned(**piece)
    number = int(bend)
    if number > len(made.steps):
        raise Refusal("no_such_bend", {"bends": len(made.steps)})
    now = rebase(made, number - 1, number, measured, far_leg_may_move=far_leg == "moves")
    values: dict[str, Number] = {"error": abs(now.error)}
    for leg, asked in enumerate(made.piece.legs, start=1):
        values[f"leg_{leg}"] = asked
    values |= {f"leg_{number}": measured, f"leg_{now.leg}": now.length}
    legs = tuple(inches(values[f"leg_{leg}"]) for leg in range(1, len(made.piece.legs) + 1))
    told: dict[str, Number | Reading | tuple[Reading, ...]] = {
        **values,
        "bend": Fraction(number),
        "legs": legs,
        "length": now.length,
    }
    words = {"taker": str(now.leg)}
    if not now.steps:
        return Answer(told, sentence="last", words=words)
    step = now.steps[0]
    told["mark"] = step.mark
    words["next"] = str(step.bend + 1)
    return Answer(told, f"{'moved' if now.moved else 'stays'}_{step.index}", words)


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
