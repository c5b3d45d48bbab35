"""A plan as plain text for a terminal: the tube as a line with its marks, and its bends."""

from __future__ import annotations

from math import floor

from handsfree.calculators.bends.drawing.placing import spread
from handsfree.calculators.bends.drawing.sections import turn_text
from handsfree.calculators.bends.drawing.words import LengthUnit, Tape, angle_text, say
from handsfree.calculators.bends.planner import Plan

TUBE, BENT, MARK = "-", "=", "|"
NARROWEST = 40


def tape(plan: Plan, unit: LengthUnit = "inch", width: int = 72) -> str:
    """Return a plan as lines of text, at most `width` letters wide where the words allow it.

    The line of the tube is to scale: `=` becomes a bend, `|` is a mark, with its index above and
    its place below.
    """
    written = Tape(unit)
    last = max(width, NARROWEST) - 1
    from_left = plan.measured_from == "left"

    def column(inches: float) -> int:
        part = inches / plan.cut
        return round(last * (part if from_left else 1 - part))

    line = [TUBE] * (last + 1)
    for start, end in zip(plan.piece.starts, plan.piece.ends, strict=True):
        low, high = round(last * start / plan.cut), round(last * end / plan.cut)
        line[low : high + 1] = [BENT] * (high + 1 - low)
    steps = sorted(plan.steps, key=lambda step: column(step.mark))
    columns = [column(step.mark) for step in steps]
    for place in columns:
        line[place] = MARK
    letters = [say("index_" + step.index) for step in steps]
    places = [written.length(step.mark) for step in steps]
    size = plan.piece.outside_diameter
    values = {"cut": written.cut(plan.cut), "end": say(plan.measured_from)}
    heading = (
        say("tape_heading", **values)
        if size is None
        else say("tape_heading_size", size=written.size(size), **values)
    )
    rows = [heading, _row(letters, columns, last), "".join(line), _row(places, columns, last)]
    for number, step in enumerate(plan.steps, start=1):
        told = say(
            "tape_line",
            order=number,
            mark=written.length(step.mark),
            index=say("index_" + step.index),
            angle=angle_text(step.angle),
            pull=angle_text(step.pull_to),
        )
        turn = turn_text(step, first=number == 1) if plan.turned else say("as_it_is")
        rows.append(told if turn == say("as_it_is") else f"{told}, {turn}")
    return "\n".join(row.rstrip() for row in rows) + "\n"


def _row(texts: list[str], columns: list[int], last: int) -> str:
    """Return texts in one row, each as near its column as the others let it be."""
    centres = [column + 0.5 for column in columns]
    middles = spread(centres, [len(text) + 1 for text in texts], -0.5, last + 1.5)
    row = ""
    for text, middle in zip(texts, middles, strict=True):
        begin = max(floor(middle - len(text) / 2), len(row) + bool(row))
        row = row.ljust(begin) + text
    return row
