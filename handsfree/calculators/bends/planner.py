"""From a piece to a plan: every mark, every turn, the order of bends and the end to work from.

Lengths in inches, angles in degrees, bends counted from 0 at the left end. Source: geometry.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal

from handsfree.calculators.bends.advice import Change, changes
from handsfree.calculators.bends.order import (
    Bench,
    Blocked,
    Choice,
    Face,
    NoOrder,
    search,
)
from handsfree.calculators.bends.piece import End, Piece
from handsfree.calculators.bends.room import TOUCHING, Shortage, refuse, smallest_legs
from handsfree.calculators.bends.space import apart, straights_in_space
from handsfree.errors import Refusal

FULL_TURN, HALF_TURN = 360.0, 180.0


@dataclass(frozen=True, slots=True)
class Step:
    """One bend of a plan.

    `mark` is measured from the plan's end and goes to `index`: L, R or 0; `start` is the zero
    mark. `turn` is how far to turn the tube about itself since the bend before, right handed
    looking from the left end, -180 to 180: 0 keeps the line up, 180 flips the tube. `swap` says
    to turn the tube end for end first; `face` which face of the tool looks up from the bench.
    `legs` are the legs that are complete after this bend and can be checked, from 1.
    """

    bend: int
    angle: float
    pull_to: float
    hook: End
    index: Literal["L", "R", "0"]
    mark: float
    start: float
    turn: float
    swap: bool
    face: Face
    legs: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """A piece that can be made: what to cut, and each bend in order.

    `straights` is the straight tube in each leg, `smallest` the shortest that each leg could be
    with this tool, as legs are measured on the piece. Not `turned`: it is not known which way the
    piece turns, so that the turns and faces of its steps mean nothing.
    """

    piece: Piece
    measured_from: End
    cut: float
    straights: tuple[float, ...]
    smallest: tuple[float, ...]
    steps: tuple[Step, ...]
    turned: bool = True


@dataclass(frozen=True, slots=True)
class NoPlan:
    """A piece that no order can make: what stopped it, and the smallest change found, if any."""

    piece: Piece
    blocked: tuple[Blocked, ...]
    changes: tuple[Change, ...]


def plan(piece: Piece, measured_from: End = "left", first: int | None = None) -> Plan | NoPlan:
    """Return the plan for a piece, marks measured from one end; or why there is none.

    `first` is a bend to begin with where that can be. Raises `Refusal`: `too_close`, `too_short`
    or `tail_short` where bends run into each other or over an end whatever the tool;
    `crosses_itself` where two legs of the finished piece would stand in one place.
    """
    for leg, straight in enumerate(piece.straights, start=1):
        if straight < -TOUCHING:
            raise refuse(Shortage(leg, straight, 0.0), len(piece.bends))
    _check_crossing(piece)
    bench = Bench(piece)
    order = search(bench, measured_from, first)
    if isinstance(order, NoOrder):
        return NoPlan(piece, order.blocked, changes(bench, measured_from, order.blocked))
    return _told(bench, measured_from, order)


def left_to_right(piece: Piece) -> Plan:
    """Return the bends of a piece one after the other: the plan where its turns are not known."""
    order: list[Choice] = [(bend, "left", "up") for bend in range(len(piece.bends))]
    return replace(_told(Bench(piece), "left", tuple(order)), turned=False)


def _check_crossing(piece: Piece) -> None:
    """Raise `Refusal` where straights that no one bend joins come nearer than a diameter."""
    straights = straights_in_space(piece)
    for (one, first), (other, second) in combinations(enumerate(straights), 2):
        if other - one > 1 and apart(first, second) < piece.tube - TOUCHING:
            raise Refusal("crosses_itself")


def index_mark(piece: Piece, bend: int, measured_from: End) -> float:
    """Return the index mark of a bend (from 0), inches from either end of the straight tube.

    It goes to L where the measured end is in the hook, and to R where it is at the handle.
    """
    if measured_from == "left":
        return piece.apexes[bend]
    return piece.cut - piece.ends[bend] + piece.setbacks[bend]


def zero_mark(piece: Piece, bend: int, measured_from: End, hook: End) -> float:
    """Return the mark for the zero of the tool, inches from one end, with either in the hook."""
    from_left = piece.starts[bend] if hook == "left" else piece.ends[bend]
    return from_left if measured_from == "left" else piece.cut - from_left


def _told(bench: Bench, end: End, order: tuple[Choice, ...]) -> Plan:
    piece, steps = bench.piece, list[Step]()
    done: set[int] = set()
    for position, (bend, hook, face) in enumerate(order):
        before = order[position - 1] if position else None
        angle = float(piece.bends[bend].angle)
        start = zero_mark(piece, bend, end, hook)
        indexed = angle in piece.bender.indexed
        done.add(bend)
        last = bench.count - 1
        complete = [leg for leg in (bend, bend + 1) if _complete(leg, last, done)]
        steps.append(
            Step(
                bend=bend,
                angle=angle,
                pull_to=piece.bender.set_angle(angle),
                hook=hook,
                index=("L" if hook == end else "R") if indexed else "0",
                mark=index_mark(piece, bend, end) if indexed else start,
                start=start,
                turn=0.0 if before is None else _turn(bench.stand[before[0]], bench.stand[bend]),
                swap=before is not None and before[1] != hook,
                face=face,
                legs=tuple(leg + 1 for leg in complete),
            )
        )
    hooks = {bend: hook for bend, hook, _ in order}
    smallest = smallest_legs(piece, hooks[0], hooks[bench.count - 1])
    return Plan(piece, end, piece.cut, piece.straights, smallest, tuple(steps))


def _complete(leg: int, last_bend: int, done: set[int]) -> bool:
    """Return whether both ends of a leg (from 0) are formed, or free."""
    return (leg == 0 or leg - 1 in done) and (leg > last_bend or leg in done)


def _turn(before: float, after: float) -> float:
    """Return how far to turn the tube so that the next bend plane comes to where this one is.

    The tool stands still: a plane that lies clockwise of it comes to it anticlockwise.
    """
    turn = (before - after) % FULL_TURN
    return turn - FULL_TURN if turn > HALF_TURN else turn
