"""Ways as they are said, against scipy's rotations: the legs must run where they were told to."""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from handsfree.calculators.bends.space import START, outward
from handsfree.calculators.bends.turning import WAYS, rolls_of_bends, rolls_of_legs, rolls_said
from handsfree.errors import Refusal

PIECES = 300
SURE = tuple(way for way in WAYS if way not in ("across", "back"))


def _ways_gone(
    first: np.ndarray, inward: np.ndarray, rolls: tuple[float, ...], angles: list[float]
) -> list[np.ndarray]:
    """Return which way each leg runs, bent with rotations: clockwise looking along the tube."""
    ways = [first]
    normal = np.cross(first, inward)
    for roll, angle in zip(rolls, angles, strict=True):
        normal = Rotation.from_rotvec(np.radians(roll) * ways[-1]).apply(normal)
        ways.append(Rotation.from_rotvec(np.radians(angle) * normal).apply(ways[-1]))
    return ways


def test_square_legs_run_the_ways_they_were_told() -> None:
    chance = random.Random(3)  # noqa: S311 - the same pieces each time
    for _ in range(PIECES):
        ways = [chance.choice(SURE)]
        while len(ways) < 6:
            way = chance.choice(SURE)
            if abs(np.dot(WAYS[way], WAYS[ways[-1]])) < 0.5:
                ways.append(way)
        rolls = rolls_of_legs(ways, [90] * 5)
        gone = _ways_gone(np.array(WAYS[ways[0]]), np.array(WAYS[ways[1]]), rolls, [90.0] * 5)
        for way, ran in zip(ways, gone, strict=True):
            assert ran == pytest.approx(WAYS[way], abs=1e-9)


def test_a_bend_turns_towards_its_way_as_far_as_its_angle_goes() -> None:
    chance = random.Random(4)  # noqa: S311 - the same pieces each time
    for _ in range(PIECES):
        turns = [chance.choice(("up", "down", "left", "right"))]
        angles = [float(chance.choice((30, 45, 60, 90)))]
        for _ in range(3):
            turns.append(chance.choice(SURE))
            angles.append(float(chance.choice((30, 45, 60))))
        try:
            rolls = rolls_of_bends(turns, angles)
        except Refusal:
            continue  # it runs along that way already
        gone = _ways_gone(np.array(WAYS["away"]), np.array(WAYS[turns[0]]), rolls, angles)
        for turn, angle, before, after in zip(turns, angles, gone, gone[1:], strict=False):
            towards = np.array(WAYS[turn])
            wanted = np.degrees(np.arccos(np.clip(np.dot(before, towards), -1, 1))) - angle
            # the new way lies between the old one and the way named, or past it, in one plane
            assert np.dot(np.cross(before, towards), after) == pytest.approx(0, abs=1e-9)
            reached = np.degrees(np.arccos(np.clip(np.dot(after, towards), -1, 1)))
            assert reached == pytest.approx(abs(wanted), abs=1e-5)


def test_same_and_other_way_and_rolls() -> None:
    assert rolls_of_bends(["other"], [90, 90]) == (0, 180)
    assert rolls_of_bends(["same", "other"], [90, 45, 45]) == (0, 0, 180)
    assert rolls_said([90], [90, 90]) == (0, 90)
    # up, across, up is a Z; up, across, down a U; whichever side across is
    for across in ("across", "left", "right", "towards"):
        assert rolls_of_legs(["up", across, "up"], [90, 90]) == pytest.approx((0, 180))
        assert rolls_of_legs(["up", across, "down"], [90, 90]) == pytest.approx((0, 0))


@pytest.mark.parametrize(
    ("ways", "angles", "key"),
    [
        (["up", "across"], [90, 90], "ways_and_legs"),
        (["up", "up", "left"], [90, 90], "no_turn"),
        (["up", "down", "left"], [90, 90], "no_turn"),
        (["up", "across", "away"], [90, 90], "across_which"),
    ],
)
def test_ways_that_cannot_be_are_refused(ways: list[str], angles: list[float], key: str) -> None:
    with pytest.raises(Refusal) as refused:
        rolls_of_legs(ways, angles)
    assert refused.value.key == key


def test_too_few_rolls_and_turns_are_refused() -> None:
    with pytest.raises(Refusal):
        rolls_said([90, 90], [90, 90])
    with pytest.raises(Refusal):
        rolls_of_bends(["up"], [90, 90])


def test_legs_in_plain_numbers_lie_where_frames_turn_them() -> None:
    chance = random.Random(3)  # noqa: S311 - the same parts each time
    for _ in range(200):
        lengths = tuple(chance.uniform(0.25, 30) for _ in range(chance.randint(1, 12)))
        turns = tuple((chance.uniform(-180, 180), chance.uniform(1, 150)) for _ in lengths[1:])
        frame = START
        for leg, (begin, end) in enumerate(outward(START, lengths, turns)):
            if leg:
                roll, angle = turns[leg - 1]
                frame = frame.rolled(roll).turned(angle)
            assert begin == pytest.approx(frame.at, abs=1e-9)
            frame = frame.forward(lengths[leg])
            assert end == pytest.approx(frame.at, abs=1e-9)
