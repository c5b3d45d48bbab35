"""Placing dimensions and labels so that none lies on the tube or on another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import cos, hypot, radians, sin
from statistics import fmean

from handsfree.calculators.bends.drawing.sheet import (
    ARROW,
    BALLOON,
    PLAIN,
    SMALL,
    Box,
    Point,
    Sheet,
    letters,
    upright,
)

GAP, BEYOND = 1.2, 2.0
"""An extension line starts this far from what it measures, and ends this far past its dimension."""
FIRST_LEVEL, NEXT_LEVEL, LEVELS = 9.0, 7.5, 4
SAMPLE = 2.0
TEXT_LIFT = 1.2
LABEL_NEAREST, LABEL_STEP, LABEL_STEPS, LABEL_TURNS = 7.0, 3.0, 6, 16
ON_TUBE, ON_LABEL = 3, 4
"""What it costs a label to lie on the tube, or on another label; a level further out costs 1."""


@dataclass(slots=True)
class Taken:
    """What of the sheet is taken already: points of the tube, boxes of labels."""

    tube: list[Point] = field(default_factory=list)
    labels: list[Box] = field(default_factory=list)

    def add_path(self, points: Sequence[Point]) -> None:
        """Take the points along a path."""
        for start, end in pairwise(points):
            self.tube.extend(_along(start, end))

    def cost(self, boxes: Iterable[Box], margin: float = 1.0) -> int:
        """Return how badly boxes lie on what is taken."""
        found = 0
        for box in boxes:
            wide = Box(box.left - margin, box.top - margin, box.right + margin, box.bottom + margin)
            if any(wide.left < x < wide.right and wide.top < y < wide.bottom for x, y in self.tube):
                found += ON_TUBE
            found += ON_LABEL * any(wide.meets(other) for other in self.labels)
        return found


def _along(start: Point, end: Point) -> Iterator[Point]:
    count = max(1, int(hypot(end[0] - start[0], end[1] - start[1]) / SAMPLE))
    for step in range(count + 1):
        part = step / count
        yield start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part


@dataclass(frozen=True, slots=True)
class _Place:
    """One way to place the dimension of a leg: its line, its text, and what that takes.

    `tail` is where the line goes on to under a text that is wider than the leg.
    """

    start: Point
    end: Point
    text: Point
    turn: float
    tail: Point | None
    boxes: tuple[Box, ...]


def dimension(sheet: Sheet, taken: Taken, start: Point, end: Point, text: str) -> None:
    """Draw the dimension of a leg beside it, where it lies on least."""
    size = hypot(end[0] - start[0], end[1] - start[1])
    if size == 0:
        return
    way = ((end[0] - start[0]) / size, (end[1] - start[1]) / size)
    beyond = (0,) if letters(text, PLAIN) < size else (1, -1)
    places: list[tuple[float, _Place]] = []
    for level in range(LEVELS):
        for side in (1, -1):
            out = (FIRST_LEVEL + NEXT_LEVEL * level) * side
            move = (-way[1] * out, way[0] * out)
            for past in beyond:
                place = _place(_moved(start, move), _moved(end, move), way, text, past)
                cost = 2 * taken.cost(place.boxes)
                cost += taken.cost(_boxes(place.start, place.end, 1.0), 0.5)
                places.append((cost + level, place))
    place = min(places, key=lambda pair: pair[0])[1]
    _draw(sheet, (start, end), place, text, roomy=size)
    taken.labels.extend(place.boxes)
    taken.labels.extend(_boxes(place.start, place.end, 0.5))


def _draw(
    sheet: Sheet, feet: tuple[Point, Point], place: _Place, text: str, *, roomy: float
) -> None:
    """Draw a dimension; its arrows stand outside where the leg has no room for them."""
    for foot, head in zip(feet, (place.start, place.end), strict=True):
        sheet.line(_beyond(foot, head, -GAP), _beyond(head, foot, BEYOND))
    sheet.line(place.start, place.end)
    before = _beyond(place.start, place.end, 2 * ARROW)
    after = _beyond(place.end, place.start, 2 * ARROW)
    if roomy > 3 * ARROW:
        sheet.arrow(place.start, place.end)
        sheet.arrow(place.end, place.start)
    else:
        sheet.line(before, place.start)
        sheet.line(place.end, after)
        sheet.arrow(place.start, before)
        sheet.arrow(place.end, after)
    if place.tail is not None:
        sheet.line(place.end, place.tail)
        sheet.line(place.start, place.tail)
    sheet.text(place.text, text, PLAIN, "middle", place.turn, bold=True)


def _place(start: Point, end: Point, way: Point, text: str, past: int) -> _Place:
    """Return the dimension with its text over the middle, or past the end or the start."""
    wide = letters(text, PLAIN)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    tail = None
    if past:
        edge, sign = (end, 1) if past > 0 else (start, -1)
        middle = _moved(edge, way, sign * (wide / 2 + 2 * ARROW))
        tail = _moved(edge, way, sign * (wide + 2 * ARROW))
    turn = upright(start, end)
    up = (sin(radians(turn)), -cos(radians(turn)))
    core = _moved(middle, up, TEXT_LIFT + PLAIN / 2)
    line = (_moved(core, way, -wide / 2), _moved(core, way, wide / 2))
    return _Place(start, end, _moved(middle, up, TEXT_LIFT), turn, tail, _boxes(*line, PLAIN / 2))


def _moved(point: Point, way: Point, by: float = 1.0) -> Point:
    return point[0] + way[0] * by, point[1] + way[1] * by


def _boxes(start: Point, end: Point, half: float) -> tuple[Box, ...]:
    return tuple(Box(x - half, y - half, x + half, y + half) for x, y in _along(start, end))


def _beyond(start: Point, end: Point, length: float) -> Point:
    """Return the point beyond `start`, away from `end`."""
    size = hypot(start[0] - end[0], start[1] - end[1])
    part = length / size
    return start[0] + (start[0] - end[0]) * part, start[1] + (start[1] - end[1]) * part


def bend_label(sheet: Sheet, taken: Taken, corner: Point, number: str, text: str) -> None:
    """Draw a bend's number in a circle and its angle, near its corner, where it lies on least."""
    wide = 2 * BALLOON + 1 + letters(text, SMALL)
    best: tuple[float, Point, Box] | None = None
    for step in range(LABEL_STEPS):
        out = LABEL_NEAREST + step * LABEL_STEP
        for part in range(LABEL_TURNS):
            turn = radians(360 * part / LABEL_TURNS)
            x = corner[0] + cos(turn) * (out + wide / 2)
            y = corner[1] + sin(turn) * out
            box = Box(x - wide / 2, y - BALLOON, x + wide / 2, y + BALLOON)
            cost = taken.cost((box,), 0.5) + step * 0.3
            if best is None or cost < best[0]:
                best = (cost, (x, y), box)
    if best is None:
        return
    _, (x, y), box = best
    near = (
        min(max(corner[0], box.left - GAP), box.right + GAP),
        min(max(corner[1], box.top), box.bottom),
    )
    sheet.line(corner, near)
    sheet.balloon((box.left + BALLOON, y), number)
    sheet.text((box.left + 2 * BALLOON + 1, y + SMALL * 0.36), text, SMALL)
    taken.labels.append(box)


def spread(
    places: Sequence[float], widths: Sequence[float], low: float, high: float
) -> list[float]:
    """Return the middles of labels in a row, together as near their places as can be.

    Labels keep their order; groups that would overlap share the shift. They stay between `low`
    and `high` where they fit at all.
    """
    before = [sum(widths[:place]) + width / 2 for place, width in enumerate(widths)]
    groups: list[list[float]] = []
    for place, offset in zip(places, before, strict=True):
        groups.append([place - offset])
        while len(groups) > 1 and fmean(groups[-2]) > fmean(groups[-1]):
            last = groups.pop()
            groups[-1].extend(last)
    shifts = [fmean(group) for group in groups for _ in group]
    most = high - sum(widths)
    return [
        offset + max(min(shift, most), low) for offset, shift in zip(before, shifts, strict=True)
    ]
