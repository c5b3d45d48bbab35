"""The parts of a drawing: the formed view, the straight tube with its marks, the table of bends."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot

from handsfree.calculators.bends.drawing.placing import Taken, bend_label, dimension, spread
from handsfree.calculators.bends.drawing.sheet import (
    ARROW,
    BALLOON,
    CENTRE_LINE,
    LARGE,
    NARROW,
    PLAIN,
    SMALL,
    WIDE,
    Point,
    Sheet,
    letters,
)
from handsfree.calculators.bends.drawing.view import Formed
from handsfree.calculators.bends.drawing.words import Tape, angle_text, say
from handsfree.calculators.bends.planner import Plan, Step
from handsfree.calculators.bends.space import Vector

Placed = Callable[[Vector], Point]

SLIMMEST = 1.4
"""A tube is never drawn slimmer than this, mm, or its two edges run together."""
FLAT_TUBE = 4.0
"""The straight tube is drawn this wide, mm, so that marks show; its length is to scale."""
FULL_TURN, HALF_TURN = 360, 180
ORIGIN = 1.5
"""The radius of the circle at the end that everything is measured from, mm."""
PAGE, EDGE = 297.0, 6.0
"""The width of the sheet, and the edge that nothing is drawn on, mm."""
HIDDEN = "2 1"
AXIS = 9.0
"""The length of each axis that shows how an isometric view is seen, mm."""
STRAIGHT_ON = 1e-6


@dataclass(frozen=True, slots=True)
class Drawing:
    """What every part of a drawing needs: `inch` is how many millimetres an inch takes."""

    sheet: Sheet
    plan: Plan
    tape: Tape
    inch: float


def draw_formed(drawing: Drawing, shape: Formed, placed: Placed) -> None:
    """Draw the formed piece with its legs and angles."""
    sheet, plan = drawing.sheet, drawing.plan
    piece = plan.piece
    points = [placed(point) for point in shape.path]
    taken = Taken()
    taken.add_path(points)
    if not shape.flat:
        for slant in _slants(shape, placed):
            sheet.path(slant, NARROW, HIDDEN)
            taken.add_path(slant)
    for leg in shape.legs:
        sheet.line(placed(leg.start), placed(leg.end))
    sheet.tube(points, max(piece.tube * drawing.inch, SLIMMEST))
    for leg, asked in zip(shape.legs, piece.legs, strict=True):
        text = drawing.tape.length(asked)
        dimension(sheet, taken, placed(leg.start), placed(leg.end), text)
    order = {step.bend: str(number) for number, step in enumerate(plan.steps, start=1)}
    for number, (corner, bend) in enumerate(zip(shape.corners, piece.bends, strict=True)):
        bend_label(sheet, taken, placed(corner), order[number], angle_text(bend.angle))
    sheet.circle(points[0] if plan.measured_from == "left" else points[-1], ORIGIN)


def draw_axes(sheet: Sheet, placed: Placed, corner: Point) -> None:
    """Draw the three axes of an isometric view."""
    zero = placed((0.0, 0.0, 0.0))
    for axis in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)):
        x, y = placed(axis)
        size = hypot(x - zero[0], y - zero[1])
        tip = (corner[0] + (x - zero[0]) / size * AXIS, corner[1] + (y - zero[1]) / size * AXIS)
        sheet.line(corner, tip)
        sheet.arrow(tip, corner)


def _slants(shape: Formed, placed: Placed) -> list[list[Point]]:
    """Return the way along the axes to the end of each leg that runs along none of them."""
    found: list[list[Point]] = []
    for leg in shape.legs:
        begin, end = leg.start, leg.end
        if sum(abs(b - a) > STRAIGHT_ON for a, b in zip(begin, end, strict=True)) > 1:
            by_x = (end[0], begin[1], begin[2])
            by_y = (end[0], end[1], begin[2])
            found.append([placed(point) for point in (begin, by_x, by_y, end)])
    return found


def draw_tube(drawing: Drawing, left: float, top: float) -> float:
    """Draw the straight tube with its marks; return how high it is, mm."""
    sheet, plan, tape, scale = drawing.sheet, drawing.plan, drawing.tape, drawing.inch
    from_left = plan.measured_from == "left"
    long = plan.cut * scale
    middle = top + LARGE + 9

    def at(inches: float) -> float:
        """Return the place of a length from the end that is measured from."""
        return left + (inches if from_left else plan.cut - inches) * scale

    edges = (middle - FLAT_TUBE / 2, middle + FLAT_TUBE / 2)
    for edge in edges:
        sheet.line((left, edge), (left + long, edge), WIDE)
    for end in (left, left + long):
        sheet.line((end, edges[0]), (end, edges[1]), WIDE)
    for start, stop in zip(plan.piece.starts, plan.piece.ends, strict=True):
        _hatch(sheet, (left + start * scale, edges[0]), (left + stop * scale, edges[1]))
    sheet.path(((left - 4, middle), (left + long + 4, middle)), NARROW, CENTRE_LINE)
    steps = sorted(enumerate(plan.steps, start=1), key=lambda pair: at(pair[1].mark))
    base = edges[1] + 6
    _marks(sheet, steps, at, edges)
    origin, far = at(0), at(plan.cut)
    sheet.line((origin, base), (far, base))
    sheet.circle((origin, base), ORIGIN)
    sheet.line((origin, edges[1]), (origin, base))
    _running(sheet, [(step.mark, tape.length(step.mark)) for _, step in steps], at, base, edges[1])
    sheet.line((far, edges[1] + 1), (far, base + 2))
    sheet.arrow((far, base), (origin, base))
    line = base + 2 * PLAIN + 5
    cut = say("cut", cut=tape.cut(plan.cut))
    sheet.text((far, line), cut, LARGE, "end" if from_left else "start", bold=True)
    sheet.text((origin, line), say("origin"), SMALL, "start" if from_left else "end")
    return line + 2 - top


def _marks(
    sheet: Sheet,
    steps: list[tuple[int, Step]],
    at: Callable[[float], float],
    edges: tuple[float, float],
) -> None:
    """Draw each mark across the tube, its number, its index and which way the bend runs."""
    texts = [say("index_" + step.index) for _, step in steps]
    widths = [2 * BALLOON + letters(text, LARGE) + 9 for text in texts]
    middles = spread([at(step.mark) for _, step in steps], widths, EDGE, PAGE - EDGE)
    for (number, step), text, x, wide in zip(steps, texts, middles, widths, strict=True):
        mark = at(step.mark)
        top = edges[0] - 3.5
        sheet.line((mark, edges[0] - 1), (mark, edges[1] + 1), WIDE * 1.6)
        sheet.line((mark, edges[0] - 1), (x, top))
        begin = x - wide / 2 + BALLOON
        line = top - 1
        sheet.balloon((begin, line - LARGE * 0.36), str(number))
        sheet.text((begin + BALLOON + 1, line), text, LARGE, bold=True)
        tail = begin + BALLOON + 2 + letters(text, LARGE)
        tip = tail + 2 * ARROW
        if step.hook == "right":
            tail, tip = tip, tail
        height = line - LARGE * 0.36
        sheet.line((tail, height), (tip, height), WIDE)
        sheet.arrow((tip, height), (tail, height))


def _running(
    sheet: Sheet,
    marks: list[tuple[float, str]],
    at: Callable[[float], float],
    base: float,
    edge: float,
) -> None:
    """Draw running dimensions of the marks from the one origin."""
    widths = [letters(text, PLAIN) + 2 for _, text in marks]
    middles = spread([at(mark) for mark, _ in marks], widths, EDGE, PAGE - EDGE)
    for (mark, text), x in zip(marks, middles, strict=True):
        place = at(mark)
        sheet.line((place, edge + 1), (place, base + 1))
        sheet.arrow((place, base), (at(0), base))
        sheet.line((place, base + 1), (x, base + 3))
        sheet.text((x, base + 3 + PLAIN * 0.8), text, PLAIN, "middle", bold=True)


def _hatch(sheet: Sheet, corner: Point, opposite: Point) -> None:
    """Draw narrow slanting lines over the part of the tube that becomes a bend."""
    (left, top), (right, bottom) = corner, opposite
    high = bottom - top
    x = left
    while x < right:
        over = min(high, right - x)
        sheet.line((x, bottom), (x + over, bottom - over), 0.13)
        x += 2.0
    for side in (left, right):
        sheet.line((side, top), (side, bottom))


# ---------------------------------------------------------------------------- the table

COLUMNS = ("order", "mark", "index", "angle", "pull_to", "turn", "hook", "check")
ROW = 7.5


def draw_table(drawing: Drawing, left: float, top: float, wide: float) -> float:
    """Draw the table of bends in the order in which they are made; return how high it is, mm."""
    sheet, plan = drawing.sheet, drawing.plan
    rows = [_row(drawing, number, step) for number, step in enumerate(plan.steps, start=1)]
    heads = [say(column) for column in COLUMNS]
    widths = [
        max(letters(head, SMALL), *(letters(row[place], PLAIN) for row in rows)) + 4
        for place, head in enumerate(heads)
    ]
    stretch = max((wide - sum(widths)) / len(widths), 0)
    places = [left + sum(widths[:place]) + stretch * place for place in range(len(widths))]
    line = top + SMALL + 1
    for place, head in zip(places, heads, strict=True):
        sheet.text((place, line), head, SMALL)
    line += 2
    sheet.line((left, line), (left + wide, line), WIDE)
    for row in rows:
        for column, (place, text) in enumerate(zip(places, row, strict=True)):
            strong = COLUMNS[column] in ("mark", "index", "angle")
            sheet.text((place, line + ROW - 2), text, PLAIN, bold=strong)
        line += ROW
        sheet.line((left, line), (left + wide, line))
    if plan.turned and any(step.turn % HALF_TURN for step in plan.steps):
        line += SMALL + 1.5
        sheet.text((left, line), say("seen"), SMALL)
    return line - top


def _row(drawing: Drawing, number: int, step: Step) -> tuple[str, ...]:
    tape, legs = drawing.tape, drawing.plan.piece.legs
    checks = [say("leg", leg=leg, length=tape.length(legs[leg - 1])) for leg in step.legs]
    return (
        str(number),
        tape.length(step.mark),
        say("index_" + step.index),
        angle_text(step.angle),
        angle_text(step.pull_to),
        turn_text(step, first=number == 1) if drawing.plan.turned else say("as_it_is"),
        say("hook_end", end=say(step.hook)),
        ", ".join(checks) or say("as_it_is"),
    )


def turn_text(step: Step, *, first: bool) -> str:
    """Return how to turn the tube before a bend, in words."""
    found: list[str] = []
    if step.swap:
        found.append(say("swap"))
    turn = round(step.turn % FULL_TURN, 6) % FULL_TURN
    if turn == HALF_TURN:
        found.append(say("flip"))
    elif turn:
        way = "clockwise" if turn < HALF_TURN else "anticlockwise"
        found.append(say(way, angle=angle_text(min(turn, FULL_TURN - turn))))
    elif not first:
        found.append(say("line_up"))
    if step.face == "over":
        found.append(say("over"))
    return ", ".join(found) or say("as_it_is")
