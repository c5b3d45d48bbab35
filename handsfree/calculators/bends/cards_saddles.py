"""Saddles: over a pipe with three bends, over a duct with four."""

from __future__ import annotations

from handsfree.calculators.bends import shapes
from handsfree.calculators.bends.asking import (
    RADIUS,
    TOOL,
    angle,
    bender,
    held,
    length,
    mark,
    size,
)
from handsfree.calculators.card import Answer, Condition, Option, calculator
from handsfree.quantity import Number

FLATTEST, STEEPEST, SHARPEST_CENTRE = 5, 60, 90
HIGHEST = 60
WHOLE = Condition("rise_by", ("rise",))
PIPE = Condition("rise_by", ("pipe",))


@calculator(
    "saddle_three",
    parameters=(
        Option("rise_by", ("rise", "pipe"), default="rise"),
        length("rise", high=HIGHEST, only_if=WHOLE),
        length("pipe", high=HIGHEST, optional=True),
        length("over", high=HIGHEST, only_if=PIPE),
        length("clearance", low=0, high=HIGHEST, only_if=PIPE),
        length("insulation", low=0, high=12, only_if=PIPE),
        angle("centre_angle", low=2 * FLATTEST, high=SHARPEST_CENTRE),
        length("centre"),
        length("overall", optional=True),
        size(only_if=PIPE),
        RADIUS,
        *TOOL,
    ),
    results=(
        mark("rise", "centre"),
        mark("height", "centre"),
        mark("leg", "centre"),
        mark("cut", "centre", "cut"),
        mark("middle", "centre"),
        mark("first", "centre"),
        mark("last", "centre"),
    ),
    sources=("geometry",),
)
def saddle_three(  # noqa: PLR0913 - a saddle is told by what it climbs over, and where
    rise_by: str,
    rise: Number | None,
    pipe: Number | None,
    over: Number | None,
    clearance: Number | None,
    insulation: Number | None,
    centre_angle: Number,
    centre: Number,
    overall: Number | None,
    size: Number | None,
    radius: Number,
    **tool: Number | str | None,
) -> Answer:
    """Return the start marks of the centre bend and of the two outers, inches from the left end.

    `rise` is the crown of the tube's centre line above its run, or is made of the top of what it
    climbs over (above the resting centre line), the clearance, the insulation and half the tube.
    Raises `Refusal` where it does not fit its run or the tool. Source: geometry.
    """
    del pipe  # it names the obstacle; what counts is how far that stands out
    if rise_by == "pipe" or rise is None:
        cover = float(clearance or 0) + float(insulation or 0)
        rise = shapes.height_to_clear(over or 0, cover, size or 0, 0)
    made_on = bender(radius, **tool)
    piece = held(shapes.saddle_of_three(rise, centre_angle, centre, overall, size, made_on))
    first, middle, last = piece.starts
    values = {
        "rise": float(rise),
        "height": shapes.crown_apex(rise, centre_angle, radius),
        "leg": piece.centre_legs[1],
    }
    if overall is not None:
        values["cut"] = piece.cut
    values |= {"middle": middle, "first": first, "last": last}
    return Answer(values, sentence="answer" if overall is None else "overall")


@calculator(
    "saddle_four",
    parameters=(
        length("height", high=HIGHEST),
        length("width"),
        angle(low=FLATTEST, high=STEEPEST),
        RADIUS,
        size(optional=True),
        length("first", optional=True),
        length("overall", optional=True),
        *TOOL,
    ),
    results=(
        mark("travel", "height"),
        mark("top", "height"),
        mark("shrink", "height"),
        mark("spacing", "height"),
        mark("start", "height"),
        mark("second", "height"),
        mark("third", "height"),
        mark("fourth", "height"),
        mark("across", "height"),
        mark("cut", "height", "cut"),
    ),
    sources=("geometry",),
)
def saddle_four(  # noqa: PLR0913 - as saddle_three
    height: Number,
    width: Number,
    angle: Number,
    radius: Number,
    size: Number | None,
    first: Number | None,
    overall: Number | None,
    **tool: Number | str | None,
) -> Answer:
    """Return start to start in each rise, start to start across the top, and the cut, inches.

    `width` is between the upper apexes. `first` is the first apex and `overall` the straight run,
    from the left end: with them the four start marks and the cut are given. Raises `Refusal`
    where a straight is too short for the tool. Source: geometry.
    """
    made_on = bender(radius, **tool)
    ends = shapes.Ends(first, overall)
    piece = held(shapes.saddle_of_four(height, width, angle, size, made_on, ends))
    one, two, three, four = piece.starts
    values = {
        "travel": shapes.travel(height, angle),
        "top": piece.straights[2],
        "shrink": 2 * shapes.shrink(height, angle),
        "across": three - two,
        "spacing": two - one,
    }
    sentence = "answer"
    if overall is not None:
        values["cut"], sentence = piece.cut, "overall"
    if first is not None:
        values |= {"start": one, "second": two, "third": three, "fourth": four}
        sentence = "placed"
    return Answer(values, sentence=sentence)
