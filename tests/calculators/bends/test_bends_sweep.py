"""The swept check against brute force: points of the real tube, moved by scipy's rotations.

The formed tube is walked arc by arc (`bends_walk`) with the bend partly made, in steps of a
degree, and every tenth of an inch of it is tried against the solid former and the solid handle.
Whatever is hit there must be known to the planner; it may be more cautious, since it takes
corners sharp, but not by much.
"""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest
from bends_walk import Bent, cross, plus, walk
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from handsfree.calculators.bends.order import Bench, Blocked
from handsfree.calculators.bends.piece import Bend, Bender, Body, End, Piece

STEP, EVERY = 1.0, 0.1
Points = NDArray[np.float64]


def _random_bench(chance: random.Random) -> Piece:
    size = chance.choice([0.25, 0.375, 0.625])
    body = Body(
        half_width=chance.uniform(0.3, 1.0),
        handle=chance.uniform(5, 14),
        handle_angle=chance.choice([30.0, 60.0, 90.0, 120.0]),
    )
    tool = Bender(size * chance.uniform(2.5, 4), body=body)
    bends = tuple(
        Bend(
            chance.choice([90.0, 90.0, 45.0, 60.0, 120.0]), chance.choice([0.0, 180.0, 90.0, 30.0])
        )
        for _ in range(chance.randint(2, 5))
    )
    short = Piece((1,) * (len(bends) + 1), bends, size, tool)
    legs = tuple(1 - straight + chance.uniform(1.0, 14) for straight in short.straights)
    return replace(short, legs=legs)


def _points(start: tuple[float, ...], end: tuple[float, ...]) -> Points:
    a, b = np.array(start), np.array(end)
    count = max(2, int(np.linalg.norm(b - a) / EVERY) + 1)
    return a + np.linspace(0, 1, count)[:, None] * (b - a)


def _around(
    start: tuple[float, ...],
    way: tuple[float, ...],
    axis: tuple[float, ...],
    radius: float,
    angle: float,
) -> Points:
    """Return points along an arc, turned about its centre by scipy."""
    inside = np.cross(axis, way)
    centre = np.array(start) + radius * inside
    turns = np.radians(np.linspace(0, angle, max(2, int(angle / 6))))
    spin = Rotation.from_rotvec(turns[:, None] * np.array(axis))
    return centre + spin.apply(-radius * inside)


def _sides(
    piece: Piece, bend: int, hook: End, made: set[int], turned: float
) -> tuple[Points, Points]:
    """Return the tube beyond the neighbouring formed bends, hook side and shoe side, in the tool.

    The tool's centre is the origin, +x runs from hook to shoe, the bend turns towards -y.
    """
    radius = piece.radius
    stand = np.cumsum([float(one.roll) for one in piece.bends])
    bent: list[Bent] = []
    for other in sorted({*made, bend}):
        angle, start, end = float(piece.bends[other].angle), piece.starts[other], piece.ends[other]
        if other == bend:
            angle = turned
            part = np.radians(turned) * radius
            start, end = (start, start + part) if hook == "left" else (end - part, end)
        bent.append(Bent(other, start, end, angle, float(stand[other])))
    shape = walk(bent, piece.cut, radius)
    place = [one.number for one in bent].index(bend)
    before = [_points(*shape.straights[0])] if place else []
    after = []
    for number in range(1, len(bent) + 1):
        arc_at, way, axis = (
            shape.straights[number - 1][1],
            shape.ways[number - 1],
            shape.axes[number - 1],
        )
        target = before if number - 1 < place else after
        if number - 1 not in (place, place - 1, place + 1):
            target.append(_around(arc_at, way, axis, radius, bent[number - 1].angle))
        if number not in (place, place + 1):
            target.append(_points(*shape.straights[number]))
    at = shape.straights[place][1] if hook == "left" else shape.straights[place + 1][0]
    way = shape.ways[place] if hook == "left" else tuple(-one for one in shape.ways[place + 1])
    axis = shape.axes[place] if hook == "left" else tuple(-one for one in shape.axes[place])
    inside = cross(axis, way)  # type: ignore[arg-type]
    centre = np.array(plus(at, inside, radius))
    frame = np.stack([np.array(way), -np.array(inside), np.cross(way, -np.array(inside))])
    sides = [
        (np.concatenate(side) - centre) @ frame.T if side else np.zeros((0, 3))
        for side in (before, after)
    ]
    return (sides[0], sides[1]) if hook == "left" else (sides[1], sides[0])


def _hits(points: Points, piece: Piece) -> bool:
    """Return whether the tube round these points enters the solid former or handle."""
    body = piece.bender.body
    assert body is not None
    if not len(points):
        return False
    half, tube = body.half_width, piece.tube / 2
    over = np.maximum(np.abs(points[:, 2]) - half, 0)
    out = np.maximum(np.hypot(points[:, 0], points[:, 1]) - (piece.radius - 2 * tube), 0)
    if np.any(np.hypot(over, out) < tube):
        return True
    way = np.radians(180 + body.handle_angle)
    along = points[:, 0] * np.cos(way) + points[:, 1] * np.sin(way)
    aside = -points[:, 0] * np.sin(way) + points[:, 1] * np.cos(way)
    beyond = np.maximum(np.maximum(along - body.handle, -along), 0)
    side = np.maximum(np.abs(aside) - half, 0)
    gap = np.sqrt(beyond**2 + side**2 + over**2)
    return bool(np.any(gap < tube))


def _brute(piece: Piece, bend: int, hook: End, made: set[int]) -> bool:
    angle = float(piece.bends[bend].angle)
    held, _ = _sides(piece, bend, hook, made, angle)
    if _hits(held, piece):
        return True
    return any(
        _hits(_sides(piece, bend, hook, made, turned)[1], piece)
        for turned in np.arange(STEP, angle + STEP / 2, STEP)
    )


def test_what_is_hit_is_known_and_little_else_is_feared() -> None:
    chance = random.Random(42)  # noqa: S311 - the same benches each time
    hits = clear = feared = 0
    for _ in range(250):
        piece = _random_bench(chance)
        count = len(piece.bends)
        bend = chance.randrange(count)
        hook: End = chance.choice(["left", "right"])
        made = {other for other in range(count) if other != bend and chance.random() < 0.8}
        mask = sum(1 << other for other in made)
        held = Bench(piece).held(bend, hook, mask)
        flagged = isinstance(held, Blocked)
        if isinstance(held, Blocked) and held.trouble not in ("former", "handle"):
            continue
        if _brute(piece, bend, hook, made):
            hits += 1
            assert flagged, (piece, bend, hook, made)
        else:
            clear += 1
            feared += flagged
    assert hits > 30
    assert clear > 100
    assert feared < 0.15 * clear


def test_a_leg_that_would_hit_the_handle_is_bent_from_the_other_end() -> None:
    # C-05 with centres 5: the first leg, folded back beside the tool, meets a handle that lies
    # that way; the planner says so for that hook
    body = Body(half_width=0.75, handle=12, handle_angle=30)
    tool = Bender(15 / 16, body=body)
    piece = Piece((12, 5, 12), (Bend(90), Bend(90)), 0.375, tool)
    blocked = Bench(piece).held(1, "left", 0b01)
    assert isinstance(blocked, Blocked)
    assert blocked.trouble == "handle"


@pytest.mark.parametrize("bench", [2.0, 4.0])
def test_a_leg_that_would_dip_below_the_bench_turns_the_tool_over(bench: float) -> None:
    body = Body(half_width=0.75, handle=4, handle_angle=90, bench=bench)
    tool = Bender(15 / 16, body=body)
    up = Piece((12, 9, 12), (Bend(90), Bend(90, 90)), 0.375, tool)
    down = Piece((12, 9, 12), (Bend(90), Bend(90, -90)), 0.375, tool)
    faces = {Bench(up).held(1, "left", 0b01), Bench(down).held(1, "left", 0b01)}
    assert faces == {"up", "over"}
