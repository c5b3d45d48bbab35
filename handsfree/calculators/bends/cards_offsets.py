"""Offsets, kicks and pairs: how far apart marks go, which angle fits, how a second tube runs."""

from __future__ import annotations

from handsfree.calculators.bends import shapes
from handsfree.calculators.bends.asking import (
    RADIUS,
    SIZE_IF_KNOWN,
    TOOL,
    angle,
    bender,
    held,
    length,
    mark,
    size,
    straight,
)
from handsfree.calculators.bends.piece import Piece, check_radius
from handsfree.calculators.card import Answer, Condition, Option, Result, calculator
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number, inches

FLATTEST, STEEPEST = 5, 60
"""Offsets are bent between these angles, degrees."""
LOWEST, HIGHEST = 0.25, 60
"""Heights of offsets, inches."""
WHOLE = Condition("height_by", ("height",))
BEAM = Condition("height_by", ("beam",))


@calculator(
    "offset",
    parameters=(
        Option("about", ("marks", "travel", "shrink", "run"), default="marks"),
        Option("height_by", ("height", "beam"), default="height"),
        length("height", low=LOWEST, high=HIGHEST, only_if=WHOLE),
        length("obstruction", high=HIGHEST, only_if=BEAM),
        length("clearance", low=0, high=HIGHEST, only_if=BEAM),
        length("from_wall", low=0, high=HIGHEST, only_if=BEAM),
        angle(low=FLATTEST, high=STEEPEST),
        size(only_if=BEAM),
        RADIUS,
        length("first", optional=True),
        length("overall", optional=True),
        *TOOL,
    ),
    results=(
        mark("height", "height"),
        mark("travel", "height"),
        mark("run", "height"),
        mark("shrink", "height"),
        mark("straight", "height"),
        mark("cut", "height", "cut"),
        mark("start", "height"),
        mark("second", "height"),
        mark("spacing", "height"),
    ),
    sources=("geometry",),
)
def offset(  # noqa: PLR0913 - an offset can be told in many ways
    about: str,
    height_by: str,
    height: Number | None,
    obstruction: Number | None,
    clearance: Number | None,
    from_wall: Number | None,
    angle: Number,
    size: Number | None,
    radius: Number,
    first: Number | None,
    overall: Number | None,
    **tool: Number | str | None,
) -> Answer:
    """Return travel, run, shrink, and the distance from start mark to start mark, inches.

    The height is from centre line to centre line, or what clears a beam. `first` is the first
    apex and `overall` the straight run, from the left end: with them the marks and the cut are
    given. Raises `Refusal` where the two bends are too close for the tool. Source: geometry.
    """
    if height_by == "beam" or height is None:
        height = shapes.height_to_clear(obstruction or 0, clearance or 0, size or 0, from_wall or 0)
        if height <= 0:
            raise Refusal("no_offset")
    made_on = bender(radius, **tool)
    piece = held(shapes.offset(height, angle, size, made_on, shapes.Ends(first, overall)))
    return _told(piece, height, angle, about, first=first, overall=overall)


def _told(  # noqa: PLR0913 - as offset
    piece: Piece,
    height: Number,
    angle: Number,
    about: str,
    *,
    first: Number | None,
    overall: Number | None,
) -> Answer:
    values = {
        "height": float(height),
        "travel": shapes.travel(height, angle),
        "run": shapes.run(height, angle),
        "shrink": shapes.shrink(height, angle),
        "straight": piece.straights[1],
        "spacing": piece.starts[1] - piece.starts[0],
    }
    sentence = about
    if first is not None:
        values |= {"start": piece.starts[0], "second": piece.starts[1]}
        sentence = "placed" if about == "marks" else about
    if overall is not None:
        values["cut"] = piece.cut
        sentence = "overall" if about == "marks" and first is None else sentence
    told = {"marks": "spacing", "placed": "second", "overall": "cut"}.get(sentence, sentence)
    return Answer({**values, told: values.pop(told)}, sentence=sentence)


@calculator(
    "smallest_offset",
    parameters=(
        Option("about", ("height", "angle"), default="height"),
        length("height", low=LOWEST, high=HIGHEST, only_if=Condition("about", ("angle",))),
        angle(low=FLATTEST, high=STEEPEST, only_if=Condition("about", ("height",))),
        RADIUS,
        SIZE_IF_KNOWN,
        straight("between", optional=False),
    ),
    results=(
        mark("smallest", "height", "cut"),
        Result("steepest", Kind.ANGLE, "degree", "angle"),
    ),
    sources=("geometry",),
)
def smallest_offset(  # noqa: PLR0913 - as offset
    about: str,
    height: Number | None,
    angle: Number | None,
    radius: Number,
    size: Number | None,
    between: Number,
) -> Answer:
    """Return the smallest height at an angle, inches, or the steepest usual angle for a height.

    Raises `Refusal` where no usual angle fits. Source: geometry.
    """
    check_radius(radius, size)
    tool = bender(radius, between=between)
    if about == "height" and height is None and angle is not None:
        return Answer({"smallest": shapes.smallest_offset(tool, angle)}, sentence="smallest")
    wanted = height or 0
    smallest = None if angle is None else shapes.smallest_offset(tool, angle)
    if smallest is not None and wanted >= smallest:
        return Answer({"smallest": smallest}, sentence="fits")
    steepest = shapes.steepest_offset(tool, wanted)
    if steepest is None:
        flattest = shapes.smallest_offset(tool, shapes.STEEPEST_FIRST[-1])
        raise Refusal("no_angle", {"smallest": inches(flattest)})
    values = {} if smallest is None else {"smallest": smallest}
    return Answer(
        {**values, "steepest": steepest}, sentence="steepest" if smallest is None else "too_tight"
    )


@calculator(
    "rolling_offset",
    parameters=(
        length("rise", low=LOWEST, high=HIGHEST),
        length("roll", low=LOWEST, high=HIGHEST),
        angle(low=FLATTEST, high=STEEPEST),
        RADIUS,
        SIZE_IF_KNOWN,
        straight("between"),
    ),
    results=(
        mark("true", "rise"),
        mark("travel", "rise"),
        mark("spacing", "rise"),
        Result("roll_angle", Kind.ANGLE, "degree", "angle"),
    ),
    sources=("geometry",),
)
def rolling_offset(  # noqa: PLR0913 - as offset
    rise: Number,
    roll: Number,
    angle: Number,
    radius: Number,
    size: Number | None,
    between: Number | None,
) -> Answer:
    """Return the true offset of a rise and a roll, start mark to start mark, and the roll angle.

    Inches and degrees; both bends stay in one plane and the whole piece is rolled from plumb.
    Raises `Refusal` where the two bends are too close for the tool. Source: geometry.
    """
    found = shapes.rolling(rise, roll)
    piece = held(shapes.offset(found.true, angle, size, bender(radius, between=between)))
    values = {
        "true": found.true,
        "travel": shapes.travel(found.true, angle),
        "spacing": piece.starts[1] - piece.starts[0],
        "roll_angle": found.roll,
    }
    return Answer(values)


@calculator(
    "kick",
    parameters=(
        length("kick", low=0.125, high=HIGHEST),
        length("along"),
        Option("by", ("tube", "wall")),
    ),
    results=(Result("angle", Kind.ANGLE, "degree", "angle"),),
    sources=("geometry",),
)
def kick(kick: Number, along: Number, by: str) -> Answer:
    """Return the angle of a kick, degrees: by travel along the tube, or by run along the wall.

    Raises `Refusal` for a kick longer than the tube that makes it. Source: geometry.
    """
    find = shapes.kick_along_tube if by == "tube" else shapes.kick_along_wall
    return Answer({"angle": find(kick, along)}, sentence=by)


@calculator(
    "parallel_bends",
    parameters=(
        Option("about", ("stagger", "corner"), default="stagger"),
        length("spacing", high=HIGHEST),
        angle(high=179),
    ),
    results=(mark("corner", "spacing"), mark("stagger", "spacing")),
    sources=("geometry",),
)
def parallel_bends(about: str, spacing: Number, angle: Number) -> Answer:
    """Return by how much the mark of the outer of two tubes moves at a bend, inches.

    And how far apart the two stand across the corner where their radii are equal.
    Source: geometry.
    """
    stagger = shapes.stagger(spacing, angle)
    corner = shapes.across_corner(spacing, angle)
    if about == "corner":
        return Answer({"stagger": stagger, "corner": corner}, sentence="corner")
    return Answer({"corner": corner, "stagger": stagger}, sentence="stagger")
