"""Sums with tape fractions, exact."""

from __future__ import annotations

from fractions import Fraction

from handsfree.calculators.card import Answer, Option, Parameter, Result, calculator
from handsfree.errors import Refusal
from handsfree.quantity import Kind, rounded

FINEST = 32
COARSE = Fraction(1, 16)


@calculator(
    "fractions",
    parameters=(
        Option("operation", ("plus", "minus", "times", "divided by", "compare")),
        Parameter("first", Kind.COUNT, "one", assume="one", rule="number"),
        Parameter("second", Kind.COUNT, "one", assume="one", rule="number"),
    ),
    results=(
        Result("result", Kind.COUNT, "one", "exact"),
        Result("nearest", Kind.COUNT, "one", "exact"),
        Result("larger", Kind.COUNT, "one", "exact"),
    ),
    sources=("geometry",),
)
def fractions(operation: str, first: Fraction, second: Fraction) -> Answer:
    """Return a sum, difference, product, quotient or the larger of two numbers, exact.

    What is not a whole number of thirty-seconds is also given to the nearest sixteenth.
    Raises `Refusal` for a division by nothing. Source: arithmetic.
    """
    if operation == "compare":
        if first == second:
            return Answer({"larger": first}, sentence="same")
        return Answer({"larger": max(first, second)}, sentence="larger")
    if operation == "divided by" and second == 0:
        raise Refusal("by_nothing")
    result = {
        "plus": lambda: first + second,
        "minus": lambda: first - second,
        "times": lambda: first * second,
        "divided by": lambda: first / second,
    }[operation]()
    if FINEST % result.denominator == 0:
        return Answer({"result": result}, sentence="exact")
    return Answer({"result": result, "nearest": rounded(result, COARSE)}, sentence="about")
