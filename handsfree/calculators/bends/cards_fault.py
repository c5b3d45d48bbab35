"""It came out wrong: why. The likeliest slip, and the one that looks the same."""

from __future__ import annotations

from handsfree.calculators.bends.asking import (
    INDEXES,
    RADIUS,
    angle,
    bender,
    convention,
    length,
    mark,
    size,
)
from handsfree.calculators.bends.diagnosis import Diagnosis, diagnose, diagnose_size
from handsfree.calculators.bends.piece import SQUARE, Bend, Piece
from handsfree.calculators.card import Answer, Option, calculator
from handsfree.quantity import Number

LONG_LEG = 20
"""A leg of so many radii is long enough for any slip to show."""


@calculator(
    "bend_fault",
    parameters=(
        length("error", low=0, high=24),
        Option("way", ("long", "short"), default="long"),
        Option("leg", ("any", "second"), default="any"),
        size(),
        RADIUS,
        angle(high=179, optional=True),
        Option(
            "dimension_to",
            ("centre", "outside", "inside"),
            default="centre",
            origins=("said", "fact"),
        ),
        *INDEXES,
    ),
    results=(mark("error", "error", "fine"),),
    sources=("geometry", "practice"),
)
def bend_fault(  # noqa: PLR0913 - what is wrong, by how much, and on what
    error: Number,
    way: str,
    leg: str,
    size: Number,
    radius: Number,
    angle: Number | None,
    dimension_to: str,
    **indexes: str,
) -> Answer:
    """Return the likeliest cause of an error on a leg, and one that looks the same, by name.

    Of an error alone, or of one on the second leg where the first is right. The causes are told as
    warnings. Raises `Refusal` for an odd radius. Source: geometry; what goes wrong is common
    practice.
    """
    corner = Bend(SQUARE if angle is None else angle)
    long = LONG_LEG * float(radius)
    piece = Piece(
        (long, long, long),
        (corner, corner),
        size,
        bender(radius, **indexes),
        convention(dimension_to),
    )
    signed = float(error) if way == "long" else -float(error)
    if leg == "second":
        found = diagnose(piece, (0.0, signed, None))
    else:
        found = diagnose_size(piece, signed)
    return Answer({"error": float(error)}, warnings=_told(found))


def _told(found: Diagnosis) -> tuple[str, ...]:
    """Return the name of the likeliest cause, and of the first other one that is as likely."""
    first = found.causes[0].cause.name
    others = [cause.name for cause in found.alike if cause.name not in (first, "nothing")]
    return (first, f"or_{others[0]}") if others else (first,)
