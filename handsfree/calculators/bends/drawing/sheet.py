"""A sheet of paper: lines, paths and lettering in millimetres, written as SVG.

y runs down, as in SVG. Line widths and lettering heights follow ISO 128 and ISO 3098.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from math import atan2, degrees, hypot
from typing import Literal
from xml.sax.saxutils import escape

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]

WIDE, NARROW = 0.5, 0.25
LARGE, PLAIN, SMALL = 7.0, 5.0, 3.5
CENTRE_LINE = "6 1.2 1.2 1.2"
"""A long-dashed dotted narrow line: the centre line of the tube."""
ARROW, ARROW_HALF = 3.0, 0.6
LETTER = 0.64
"""The mean width of a letter, as a part of its height: enough to keep labels apart."""
LETTERING = "Arial, Helvetica, sans-serif"


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the sheet that something takes."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Return whether two rectangles overlap."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


def letters(text: str, height: float) -> float:
    """Return about how wide a text is, mm."""
    return len(text) * height * LETTER


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


@dataclass(slots=True)
class Sheet:
    """A sheet that is being drawn."""

    parts: list[str] = field(default_factory=list)

    def line(self, start: Point, end: Point, width: float = NARROW, dash: str = "") -> None:
        """Draw a straight line."""
        self.path((start, end), width, dash)

    def path(
        self, points: Iterable[Point], width: float, dash: str = "", stroke: str = "#000"
    ) -> None:
        """Draw a line through points."""
        steps = " ".join(f"{_number(x)},{_number(y)}" for x, y in points)
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(
            f'<polyline points="{steps}" fill="none" stroke="{stroke}"'
            f' stroke-width="{_number(width)}"{dashes}/>'
        )

    def tube(self, points: Sequence[Point], width: float) -> None:
        """Draw a tube of this width along its centre line: its two edges, and the centre line."""
        self.path(points, width + WIDE)
        self.path(points, max(width - WIDE, WIDE / 2), stroke="#fff")
        self.path(points, NARROW, CENTRE_LINE)
        for end, inner in ((points[0], points[1]), (points[-1], points[-2])):
            x, y = end[0] - inner[0], end[1] - inner[1]
            part = (width + WIDE) / 2 / (hypot(x, y) or 1)
            across = (-y * part, x * part)
            self.line(
                (end[0] + across[0], end[1] + across[1]),
                (end[0] - across[0], end[1] - across[1]),
                WIDE,
            )

    def arrow(self, tip: Point, toward: Point) -> None:
        """Draw a filled arrowhead at `tip` that points away from `toward`."""
        away = (tip[0] - toward[0], tip[1] - toward[1])
        size = hypot(*away) or 1.0
        x, y = away[0] / size, away[1] / size
        back = (tip[0] - x * ARROW, tip[1] - y * ARROW)
        corners = (
            tip,
            (back[0] - y * ARROW_HALF, back[1] + x * ARROW_HALF),
            (back[0] + y * ARROW_HALF, back[1] - x * ARROW_HALF),
        )
        steps = " ".join(f"{_number(px)},{_number(py)}" for px, py in corners)
        self.parts.append(f'<polygon points="{steps}"/>')

    def circle(self, centre: Point, radius: float, fill: str = "#fff") -> None:
        """Draw a circle."""
        self.parts.append(
            f'<circle cx="{_number(centre[0])}" cy="{_number(centre[1])}" r="{_number(radius)}"'
            f' fill="{fill}" stroke="#000" stroke-width="{NARROW}"/>'
        )

    def text(  # noqa: PLR0913 - a text is where, what, how high, on which side, how turned
        self,
        at: Point,
        text: str,
        height: float = SMALL,
        anchor: Anchor = "start",
        turned: float = 0.0,
        *,
        bold: bool = False,
    ) -> None:
        """Write a text with its base line at a point."""
        turn = f' transform="rotate({_number(turned)} {_number(at[0])} {_number(at[1])})"'
        self.parts.append(
            f'<text x="{_number(at[0])}" y="{_number(at[1])}" font-size="{_number(height)}"'
            f' text-anchor="{anchor}"{turn if turned else ""}'
            f"{' font-weight=' + chr(34) + 'bold' + chr(34) if bold else ''}>"
            f"{escape(text)}</text>"
        )

    def balloon(self, centre: Point, text: str) -> None:
        """Draw a number in a circle."""
        self.circle(centre, BALLOON)
        self.text((centre[0], centre[1] + SMALL * 0.36), text, SMALL, "middle", bold=True)

    def svg(self, width: float, height: float) -> str:
        """Return the sheet as an SVG document of this size, mm."""
        w, h = _number(width), _number(height)
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm"'
            f' viewBox="0 0 {w} {h}" font-family="{LETTERING}" stroke-linejoin="round">'
        )
        paper = f'<rect width="{w}" height="{h}" fill="#fff"/>'
        return "\n".join((head, paper, *self.parts, "</svg>", ""))


BALLOON = 2.9


def upright(start: Point, end: Point) -> float:
    """Return the angle along a line at which a text reads from below or from the right."""
    turn = degrees(atan2(end[1] - start[1], end[0] - start[0]))
    if turn > 90 - 1e-6:
        return turn - 180
    return turn + 180 if turn < -90 - 1e-6 else turn
