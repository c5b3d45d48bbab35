"""A whole drawing: the formed piece, the straight tube with its marks, the table of bends."""

from __future__ import annotations

from handsfree.calculators.bends.drawing.sections import (
    AXIS,
    PAGE,
    Drawing,
    draw_axes,
    draw_formed,
    draw_table,
    draw_tube,
)
from handsfree.calculators.bends.drawing.sheet import PLAIN, SMALL, Point, Sheet
from handsfree.calculators.bends.drawing.view import (
    best_projection,
    extent,
    formed,
)
from handsfree.calculators.bends.drawing.words import LengthUnit, Tape, say
from handsfree.calculators.bends.piece import Piece
from handsfree.calculators.bends.planner import Plan
from handsfree.calculators.bends.space import Vector

MARGIN, ROUND_VIEW, TALLEST = 14.0, 22.0, 96.0
MILLIMETRES = 25.4
SCALES = (2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005)
"""The scales of ISO 5455, largest first."""


def draw(plan: Plan, unit: LengthUnit = "inch") -> str:
    """Return a drawing of a plan as SVG, 297 mm wide, black on white, to a standard scale.

    Above, the formed piece: true shape, or isometric where it is rolled; below, the straight tube
    with its marks and the cut length; then the bends in the order in which they are made. Where it
    is not known which way the piece turns, the formed piece is left out.
    """
    piece, tape, sheet = plan.piece, Tape(unit), Sheet()
    shape = formed(piece)
    room = PAGE - 2 * MARGIN
    way = best_projection(shape, room - 2 * ROUND_VIEW, TALLEST)
    (left, top), (right, bottom) = extent([way(point) for point in shape.points])
    fits = [(plan.cut, room)]
    if plan.turned:
        fits += [(right - left, room - 2 * ROUND_VIEW), (bottom - top, TALLEST)]
    scale = _scale(*fits)
    inch = scale * MILLIMETRES
    line = MARGIN + PLAIN + SMALL + 4
    corner = (PAGE / 2 - (right - left) * inch / 2, line + ROUND_VIEW)

    def placed(point: Vector) -> Point:
        x, y = way(point)
        return corner[0] + (x - left) * inch, corner[1] + (y - top) * inch

    _title(sheet, piece, tape, scale, flat=shape.flat or not plan.turned)
    drawing = Drawing(sheet, plan, tape, inch)
    if plan.turned:
        if not shape.flat:
            draw_axes(sheet, placed, (MARGIN + AXIS, corner[1]))
        draw_formed(drawing, shape, placed)
        line = corner[1] + (bottom - top) * inch + ROUND_VIEW
    line += draw_tube(drawing, PAGE / 2 - plan.cut * inch / 2, line) + 6
    line += draw_table(drawing, MARGIN, line, room)
    return sheet.svg(PAGE, line + MARGIN / 2)


def _scale(*fits: tuple[float, float]) -> float:
    """Return the largest standard scale at which every length, inches, finds its room, mm."""
    for scale in SCALES:
        if all(length * MILLIMETRES * scale <= room for length, room in fits):
            return scale
    return SCALES[-1]


def _title(sheet: Sheet, piece: Piece, tape: Tape, scale: float, *, flat: bool) -> None:
    count = len(piece.bends)
    bends = say("one_bend") if count == 1 else say("bends", count=count)
    parts = [
        ""
        if piece.outside_diameter is None
        else say("title_size", size=tape.size(piece.outside_diameter)),
        "" if piece.wall is None else say("title_wall", wall=tape.size(piece.wall)),
        say("title_radius", radius=tape.size(piece.radius)),
        bends,
    ]
    title = ", ".join(part for part in parts if part)
    title = title[:1].upper() + title[1:]
    sheet.text((MARGIN, MARGIN), title, PLAIN, bold=True)
    told = f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"
    key = "note" if flat else "note_isometric"
    note = say(
        key,
        scale=told,
        unit=say(tape.unit),
        dimension_to=say(piece.dimension_to),
        mark=tape.step,
    )
    sheet.text((MARGIN, MARGIN + SMALL + 2), note, SMALL)
