"""What rounding a piece's marks to the tape costs, and when a finer tape is worth offering.

Each mark is rounded once, from its exact value. Source: usual practice: from three
bends on, thirty-seconds are offered where a mark moves by more than a sixty-fourth, and a leg that
two roundings together leave a sixteenth off is named.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from handsfree.calculators.bends.planner import Plan
from handsfree.quantity import Number, rounded

SIXTEENTH = Fraction(1, 16)
WORTH_OFFERING = Fraction(1, 64)
FEWEST_BENDS = 3


def notes(made: Plan) -> tuple[tuple[str, ...], dict[str, str]]:
    """Return the sentences that a piece's rounded marks call for, and the words that fill them.

    None for legs that no inch tape shows: those are told in millimetres.
    """
    if any(Fraction(leg) * 64 % 1 for leg in made.piece.legs):
        return (), {}
    marks = {step.bend: step.mark for step in made.steps}
    off = [_off(marks[bend]) for bend in sorted(marks)]
    found: list[str] = []
    words: dict[str, str] = {}
    for leg, (before, after) in enumerate(pairwise(off), start=2):
        apart = after - before
        if rounded(abs(apart), SIXTEENTH) >= SIXTEENTH:
            found = ["two_roundings"]
            words = {"rounded_leg": str(leg), "longer": "long" if apart > 0 else "short"}
            break
    if len(off) >= FEWEST_BENDS and max(map(abs, off)) > WORTH_OFFERING:
        found.append("thirty_seconds")
    return tuple(found), words


def _off(mark: Number) -> Fraction:
    """Return how far a mark moves when it is rounded to the sixteenth, inches."""
    return rounded(mark, SIXTEENTH) - Fraction(mark)
