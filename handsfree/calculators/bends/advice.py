"""What would help where no order makes a piece: a longer leg, more room, or two pieces."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from handsfree.calculators.bends.order import Allowance, Bench, Blocked, can_be_made
from handsfree.calculators.bends.piece import Body, End, Piece
from handsfree.calculators.bends.room import shortages

STEP, MOST = 0.25, 24.0
"""A change of a leg is told in quarters of an inch, and up to two feet."""
MOST_TRIED = 350
"""So many sets of made bends are looked at before two pieces are advised."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that would help.

    `kind`: lengthen a leg (its number from 1) by so much; bend it long and trim it after; take the
    tool off the bench; make room around it; or make two pieces and join them.
    """

    kind: Literal["lengthen", "trim", "off_bench", "make_room", "join"]
    leg: int | None = None
    by: float = 0.0


def changes(bench: Bench, end: End, blocked: Sequence[Blocked]) -> tuple[Change, ...]:
    """Return the smallest change found that lets a piece be made; two pieces where none does."""
    piece, effort = bench.piece, Allowance(MOST_TRIED)
    short = {shortage.leg: shortage.short for shortage in shortages(piece)}
    longer = Bench(_changed(piece, short)) if short else bench
    if short and can_be_made(longer, end, effort):
        return _told(piece, short)
    legs = sorted({stop.leg for stop in blocked})
    more = _one_leg(longer, end, legs, effort)
    if more is not None:
        return _told(piece, {**short, more[0]: short.get(more[0], 0.0) + more[1]})
    if not short:
        elsewhere = _elsewhere(bench, end, effort)
        if elsewhere is not None:
            return (elsewhere,)
    return (Change("join"),)


def _told(piece: Piece, longer: dict[int, float]) -> tuple[Change, ...]:
    """Return longer legs as changes: a free end can be bent long and trimmed after."""
    free = (1, len(piece.legs))
    return tuple(
        Change("trim" if leg in free else "lengthen", leg, by) for leg, by in sorted(longer.items())
    )


def _elsewhere(bench: Bench, end: End, effort: Allowance) -> Change | None:
    """Return whether the piece could be made off the bench, or with room around the tool."""
    piece, body = bench.piece, bench.piece.bender.body
    if body is None:
        return None
    off, free = replace(body, bench=None), replace(body, bench=None, clear=None)
    if free == body or not can_be_made(Bench(_held_by(piece, free)), end, effort):
        return None  # what cannot be with all the room there is cannot be off the bench alone
    if body.clear is None:
        return Change("off_bench")
    lifted = bench.like(_held_by(piece, off), None)
    if body.bench is not None and can_be_made(lifted, end, effort):
        return Change("off_bench")
    return Change("make_room")


def _held_by(piece: Piece, body: Body) -> Piece:
    return replace(piece, bender=replace(piece.bender, body=body))


def _changed(piece: Piece, by: dict[int, float]) -> Piece:
    legs = (float(leg) + by.get(place, 0.0) for place, leg in enumerate(piece.legs, start=1))
    return replace(piece, legs=tuple(legs))


def _one_leg(
    bench: Bench, end: End, legs: list[int], effort: Allowance
) -> tuple[int, float] | None:
    """Return the leg and the smallest lengthening of it, in quarters, that alone helps."""
    best: tuple[int, float] | None = None
    for leg in legs:
        high = MOST if best is None else best[1] - STEP
        found = _least(high, partial(_can, bench, end, effort, leg))
        if found is not None:
            best = (leg, found)
    return best


def _can(bench: Bench, end: End, effort: Allowance, leg: int, by: float) -> bool:
    return can_be_made(bench.like(_changed(bench.piece, {leg: by}), leg), end, effort)


def _least(high: float, can: Callable[[float], bool]) -> float | None:
    """Return the least of the quarters up to `high` with which it can be, by halving."""
    if high <= 0 or not can(high):
        return None
    low = 0.0
    while high - low > STEP:
        middle = round((low + high) / 2 / STEP) * STEP
        if can(middle):
            high = middle
        else:
            low = middle
    return high
