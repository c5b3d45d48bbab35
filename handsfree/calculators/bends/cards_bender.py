"""What a bender does: how far to pull, and what a test bend tells of it."""

from __future__ import annotations

from handsfree.calculators.bends.asking import angle, length, mark, size, springback_known
from handsfree.calculators.bends.piece import SQUARE, Bender
from handsfree.calculators.bends.rebase import LET_PASS
from handsfree.calculators.bends.testbend import TestBend, estimate
from handsfree.calculators.card import Answer, Condition, Option, Result, calculator
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number

LEAST_RATIO, MOST_RATIO = 0.9, 1.0
"""Soft tube springs back by no more than a tenth, and never forward: common practice."""
MOST_SPRINGBACK = 20


@calculator(
    "springback",
    parameters=(
        Option("by", ("got", "back", "profile"), default="got"),
        angle("pulled", high=200, only_if=Condition("by", ("got", "back"))),
        angle("got", high=200, only_if=Condition("by", ("got",))),
        angle("back", low=0, high=MOST_SPRINGBACK, only_if=Condition("by", ("back",))),
        springback_known(only_if=Condition("by", ("profile",))),
        angle("wanted", optional=True),
        size(optional=True),
    ),
    results=(
        Result("ratio", Kind.RATIO, "one", "decimal"),
        Result("springback", Kind.ANGLE, "degree", "angle", keeps="always"),
        Result("pull", Kind.ANGLE, "degree", "angle"),
    ),
    sources=("geometry",),
)
def springback(  # noqa: PLR0913 - it is measured in two ways, or known
    by: str,
    pulled: Number | None,
    got: Number | None,
    back: Number | None,
    springback: Number | None,
    wanted: Number | None,
    size: Number | None,
) -> Answer:
    """Return the angle to pull to, degrees, and the ratio of the angle got to the angle pulled.

    Measured on a bend (what it was pulled to, and what it came out or by how much it sprang
    back), or as the bender's profile has it. Without a wanted angle, the one pulled is wanted.
    `springback` is what a square bend loses, and is kept in the profile. Raises
    `Refusal` for a ratio below 0.9 or above 1. Source: geometry; the bounds are common practice.
    """
    del size  # it names the profile
    if by == "profile":
        pulled, back = SQUARE, springback
    set_to = float(pulled or 0)
    left = float(got or 0) if by == "got" else set_to - float(back or 0)
    ratio = left / set_to
    if ratio > MOST_RATIO:
        raise Refusal("sprang_forward")
    if ratio < LEAST_RATIO:
        raise Refusal("too_springy")
    tool = Bender(1, ratio)
    values = {"ratio": ratio}
    if by != "profile":
        values["springback"] = SQUARE * (1 - ratio)
    values["pull"] = tool.set_angle(set_to if wanted is None else wanted)
    return Answer(values)


@calculator(
    "test_bend",
    parameters=(
        length("offcut", low=6, high=120),
        length("first", high=60),
        length("second", high=60),
        angle("bent", low=20, high=120, optional=True),
        length("marked", high=60, optional=True),
        angle("pulled", low=20, high=130, optional=True),
        size(optional=True),
    ),
    results=(
        Result("gain", Kind.LENGTH, "inch", "decimal", follows="offcut", keeps="always"),
        Result("index_error", Kind.LENGTH, "inch", "fine", follows="offcut", keeps="always"),
        Result("springback", Kind.RATIO, "one", "decimal"),
        mark("within", "offcut", "decimal"),
        Result("radius", Kind.LENGTH, "inch", "decimal", follows="offcut", keeps="if_new"),
    ),
    sources=("geometry",),
)
def test_bend(  # noqa: PLR0913 - everything that can be measured on one bend
    offcut: Number,
    first: Number,
    second: Number,
    bent: Number | None,
    marked: Number | None,
    pulled: Number | None,
    size: Number | None,
) -> Answer:
    """Return radius and gain of a bender from one test bend, and how truly they are known.

    Legs to the centre line, inches; `bent` is the angle now, 90 if not said, `pulled` what the
    tool was set to, `marked` where the L mark was. Raises `Refusal` where the legs are no longer
    than the offcut, and for an odd radius. Source: geometry.
    """
    turn = SQUARE if bent is None else bent
    test = TestBend(offcut, first, second, turn, pulled, marked)
    found = estimate((test,), size)
    values: dict[str, float] = {"gain": test.gain}
    if found.index_error is not None:
        values["index_error"] = found.index_error
    if found.springback is not None:
        values["springback"] = found.springback
    values |= {"within": found.radius_within, "radius": found.radius}
    off = abs(found.index_error or 0) > LET_PASS
    return Answer(values, warnings=("index_off",) if off else ())
