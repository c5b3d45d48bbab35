"""Drawings, measured as a person with a ruler would: what is on the paper, where, and how large."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import hypot, pi
from xml.etree import ElementTree as ET

import pytest

from handsfree.calculators.bends.drawing.compose import draw
from handsfree.calculators.bends.drawing.placing import spread
from handsfree.calculators.bends.drawing.tape import tape
from handsfree.calculators.bends.piece import Bend, Bender, End, Piece
from handsfree.calculators.bends.planner import Plan, plan
from handsfree.calculators.bends.shapes import u_bend

TOOL = Bender(Fraction(15, 16), springback=0.967, between=1.25, grip=1, after=1.5)
Z = Piece((10, 18, 12), (Bend(90), Bend(90, 180)), Fraction(3, 8), TOOL, wall=0.032)
ROLLED = Piece((12, 10, 14, 8), (Bend(90), Bend(45, 90), Bend(60, -60)), Fraction(3, 8), TOOL)
SVG = "{http://www.w3.org/2000/svg}"
Paths = list[list[tuple[float, float]]]


def _plan(piece: Piece, end: End = "left") -> Plan:
    found = plan(piece, end)
    assert isinstance(found, Plan)
    return found


def _tree(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314 - our own drawing


def _texts(root: ET.Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


def _paths(root: ET.Element) -> Paths:
    return [
        [tuple(map(float, pair.split(","))) for pair in line.attrib["points"].split()]  # type: ignore[misc]
        for line in root.iter(f"{SVG}polyline")
    ]


def _length(path: list[tuple[float, float]]) -> float:
    return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(path))


def test_it_says_what_to_cut_mark_and_pull() -> None:
    texts = _texts(_tree(draw(_plan(Z))))
    # C-03: cut 39-1/4, marks 10 and 27-5/8; 90 over 0.967 is 93
    for wanted in ("Cut 39-1/4", "10", "27-5/8", "18", "12", "L", "90°", "93°", "flip"):
        assert wanted in texts
    assert any("wall 0.032" in text and "15/16" in text for text in texts)
    assert any("Scale 1:5" in text for text in texts)


def test_the_tube_is_to_scale() -> None:
    paths = _paths(_tree(draw(_plan(Z))))
    # 1:5 is 5.08 mm for an inch; the centre line is as long as the tube that is cut
    cut = 40 - 2 * (2 - pi / 2) * 15 / 16
    longest = max((path for path in paths if len(path) > 10), key=_length)
    assert _length(longest) == pytest.approx(cut * 5.08, rel=2e-3)
    flat = [path for path in paths if len(path) == 2 and path[0][1] == path[1][1]]
    assert any(_length(path) == pytest.approx(cut * 5.08, abs=0.02) for path in flat)


def test_the_ends_of_the_drawn_piece_lie_where_it_ends() -> None:
    paths = _paths(_tree(draw(_plan(Z))))
    longest = max((path for path in paths if len(path) > 10), key=_length)
    (x1, y1), (x2, y2) = longest[0], longest[-1]
    assert (x2 - x1, y1 - y2) == pytest.approx((22 * 5.08, 18 * 5.08), abs=0.05)


def test_each_mark_lies_to_scale_along_the_straight_tube() -> None:
    root = _tree(draw(_plan(Z)))
    across = [
        path[0][0]
        for path, line in zip(_paths(root), root.iter(f"{SVG}polyline"), strict=True)
        if line.attrib["stroke-width"] == "0.8"
    ]
    assert across[1] - across[0] == pytest.approx((27.5976 - 10) * 5.08, abs=0.02)


def test_from_the_right_end_the_marks_run_from_the_right() -> None:
    texts = _texts(_tree(draw(_plan(Z, "right"))))
    # apexes from the right: 12, and 12 + 18 less a gain of 0.4024
    assert "29-5/8" in texts
    assert "27-5/8" not in texts


def test_a_rolled_piece_is_isometric_and_a_flat_one_is_not() -> None:
    assert any("Isometric" in text for text in _texts(_tree(draw(_plan(ROLLED)))))
    assert not any("Isometric" in text for text in _texts(_tree(draw(_plan(Z)))))


def test_in_millimetres() -> None:
    texts = _texts(_tree(draw(_plan(u_bend(12, None, Fraction(3, 8), TOOL)), "millimetre")))
    # C-05: cut 25.0702 in is 636.8 mm, up to 637; start 11-1/16 in is 281 mm
    assert "Cut 637" in texts
    assert "281" in texts


def test_everything_is_black_on_white_and_on_the_sheet() -> None:
    chance = random.Random(20)  # noqa: S311 - the same pieces each time
    for _ in range(40):
        count = chance.randint(1, 8)
        piece = Piece(
            tuple(Fraction(chance.randint(16 * 5, 16 * 30), 16) for _ in range(count + 1)),
            tuple(
                Bend(chance.choice([22.5, 30, 45, 60, 90]), chance.choice([0, 180, 90, -45]))
                for _ in range(count)
            ),
            Fraction(3, 8),
            TOOL,
        )
        found = plan(piece)
        if not isinstance(found, Plan):
            continue
        root = _tree(draw(found))
        for element in root.iter():
            colours = {element.get("fill", "none"), element.get("stroke", "none")}
            assert colours <= {"none", "#000", "#fff"}
        high = float(root.attrib["height"].removesuffix("mm"))
        for path in _paths(root):
            for x, y in path:
                assert -1 < x < 298
                assert -1 < y < high + 1
        heights = [float(text.attrib["font-size"]) for text in root.iter(f"{SVG}text")]
        assert min(heights) >= 3.5


def test_labels_in_a_row_keep_order_and_do_not_overlap() -> None:
    chance = random.Random(7)  # noqa: S311 - the same rows each time
    for _ in range(200):
        count = chance.randint(1, 12)
        places = sorted(chance.uniform(0, 200) for _ in range(count))
        widths = [chance.uniform(4, 16) for _ in range(count)]
        found = spread(places, widths, 0, 200)
        for i in range(1, count):
            assert found[i] - found[i - 1] >= (widths[i] + widths[i - 1]) / 2 - 1e-6
        assert found[0] - widths[0] / 2 >= -1e-6
        assert found[-1] + widths[-1] / 2 <= 200 + 1e-6


def test_a_lone_label_stays_over_its_mark() -> None:
    assert spread([50], [10], 0, 100) == [50]


def test_the_plain_tape_shows_each_mark_where_it_lies() -> None:
    lines = tape(_plan(Z), width=79).splitlines()
    assert lines[0] == "3/8 OD, cut 39-1/4, marks from the left end"
    tube = lines[2]
    assert len(tube) == 79
    found = [place.start() for place in re.finditer(r"\|", tube)]
    assert found == [round(78 * mark / 39.1952) for mark in (10, 27.5976)]
    assert [lines[1][place] for place in found] == ["L", "L"]
    assert lines[4:] == ["1. 10 to L, 90°, pull to 93°", "2. 27-5/8 to L, 90°, pull to 93°, flip"]


def test_the_plain_tape_is_no_wider_than_asked() -> None:
    many = Piece(
        (8, 6, 7, 9, 5, 10, 6, 8), tuple(Bend(45, 180) for _ in range(7)), Fraction(3, 8), TOOL
    )
    for width in (60, 72, 100):
        assert max(len(line) for line in tape(_plan(many), width=width).splitlines()) <= width


def test_a_size_that_is_not_known_is_not_drawn_as_a_number() -> None:
    unknown = replace(Z, outside_diameter=None, wall=None)
    texts = _texts(_tree(draw(_plan(unknown))))
    assert "Bend radius 15/16, 2 bends" in texts
    assert tape(_plan(unknown)).startswith("Cut 39-1/4, marks")
