"""Which way a piece turns: from ways as they are said to the rolls between its bend planes.

The person stands before the work: right, up and away are the axes, and the frame of `space` is
laid into them. A bend turns towards a way as far as its angle takes it. Source: solid geometry.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, degrees, hypot

from handsfree.calculators.bends.space import Frame, Vector, dot, square_to
from handsfree.errors import Refusal
from handsfree.quantity import Number

Way = str
WAYS: dict[Way, Vector] = {
    "right": (1.0, 0.0, 0.0),
    "left": (-1.0, 0.0, 0.0),
    "away": (0.0, 1.0, 0.0),
    "towards": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
    "across": (1.0, 0.0, 0.0),
    "back": (-1.0, 0.0, 0.0),
}
"""Across and back are right and left, or left and right: the same piece as long as it is flat."""
SIDEWAYS = ("across", "back")
SAME, OTHER = "same", "other"
TURNS = (*WAYS, SAME, OTHER)
HALF_TURN, WHOLE_TURN = 180.0, 360.0
_STRAIGHT_ON = 1e-6


def rolls_of_legs(ways: Sequence[Way], angles: Sequence[Number]) -> tuple[float, ...]:
    """Return the roll of each bend, degrees, where a way was said for every leg.

    Raises `Refusal`: `ways_and_legs` for any other number of ways, `across_which` where a piece
    that is not flat goes across, `no_turn` where a leg goes on straight or straight back.
    """
    if len(ways) != len(angles) + 1:
        raise Refusal("ways_and_legs")
    return _rolls(WAYS[ways[0]], ways[1:], angles)


def rolls_of_bends(turns: Sequence[Way], angles: Sequence[Number]) -> tuple[float, ...]:
    """Return the roll of each bend, degrees, where a way was said for every bend.

    Ways are as seen along the first leg; `same` and `other` are told against the bend before, and
    the first bend may then be left out. Raises `Refusal` as `rolls_of_legs`.
    """
    if len(turns) == len(angles) - 1 and set(turns) <= {SAME, OTHER}:
        turns = (SAME, *turns)
    if len(turns) != len(angles):
        raise Refusal("ways_and_legs")
    return _rolls(WAYS["away"], turns, angles)


def rolls_said(rolls: Sequence[Number], angles: Sequence[Number]) -> tuple[float, ...]:
    """Return the roll of each bend where one was said for every bend after the first."""
    if len(rolls) != len(angles) - 1:
        raise Refusal("rolls_and_bends")
    return (0.0, *(float(roll) for roll in rolls))


def _rolls(first: Vector, turns: Sequence[Way], angles: Sequence[Number]) -> tuple[float, ...]:
    frame = Frame((0.0, 0.0, 0.0), first, square_to(first))
    rolls: list[float] = []
    for number, (turn, angle) in enumerate(zip(turns, angles, strict=True), start=1):
        if turn in (SAME, OTHER):
            roll = 0.0 if turn == SAME else HALF_TURN
        else:
            roll = _towards(frame, WAYS[turn], number)
        frame = frame.rolled(roll).turned(float(angle))
        rolls.append(roll % WHOLE_TURN)
    rolls[0] = 0.0
    flat = all(min(roll % HALF_TURN, -roll % HALF_TURN) < _STRAIGHT_ON for roll in rolls)
    if not flat and set(turns) & set(SIDEWAYS):
        raise Refusal("across_which")
    return tuple(rolls)


def _towards(frame: Frame, way: Vector, bend: int) -> float:
    """Return how far to roll a frame so that its next bend turns towards a way, degrees."""
    inward, across = dot(way, frame.inward), dot(way, frame.across)
    if hypot(inward, across) < _STRAIGHT_ON:
        raise Refusal("no_turn", {"leg": bend + 1, "bend": bend})
    return degrees(atan2(across, inward))
