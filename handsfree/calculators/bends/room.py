"""Room: whether the tool can hold a piece where it bends, and straight enough to work after it."""

from __future__ import annotations

from dataclasses import dataclass

from handsfree.calculators.bends.piece import Bender, End, Piece, setback
from handsfree.errors import Refusal
from handsfree.quantity import Number, inches

TOUCHING = 1e-9
"""Lengths nearer than this are one length: the noise of floating point."""


@dataclass(frozen=True, slots=True)
class Shortage:
    """A leg whose straight is too short: its number from the left end, and inches."""

    leg: int
    have: float
    need: float

    @property
    def short(self) -> float:
        """Return by how much it is short."""
        return self.need - self.have


def needed(bender: Bender, leg: int, bends: int, first: End = "left", last: End = "left") -> float:
    """Return the straight that leg number `leg` (from 1) must leave beside `bends` bends, inches.

    `first` and `last` say which end is in the hook for the first and for the last bend.
    """
    if leg == 1:
        return float(bender.grip if first == "left" else bender.after)
    if leg == bends + 1:
        return float(bender.after if last == "left" else bender.grip)
    return float(bender.between)


def shortages(piece: Piece, first: End = "left", last: End = "left") -> tuple[Shortage, ...]:
    """Return every leg that is too short for the tool, from the left end."""
    found: list[Shortage] = []
    for leg, have in enumerate(piece.straights, start=1):
        need = needed(piece.bender, leg, len(piece.bends), first, last)
        if have < need - TOUCHING:
            found.append(Shortage(leg, have, need))
    return tuple(found)


def smallest_legs(piece: Piece, first: End = "left", last: End = "left") -> tuple[float, ...]:
    """Return the shortest that each leg could be, as it is measured on this piece, inches."""
    return tuple(
        float(asked) - have + needed(piece.bender, leg, len(piece.bends), first, last)
        for leg, (asked, have) in enumerate(zip(piece.legs, piece.straights, strict=True), start=1)
    )


def shortest_end(bender: Bender, angle: Number, end: End) -> float:
    """Return the shortest end leg, to the centre line, with the left end in the hook, inches."""
    return setback(bender.radius, angle) + float(bender.grip if end == "left" else bender.after)


def refuse(shortage: Shortage, bends: int) -> Refusal:
    """Return the refusal that tells a shortage: `too_short`, `tail_short` or `too_close`."""
    short = inches(shortage.short)
    if shortage.leg == 1:
        return Refusal("too_short", {"leg": 1, "short": short})
    if shortage.leg == bends + 1:
        return Refusal("tail_short", {"leg": shortage.leg, "short": short})
    first, second = shortage.leg - 1, shortage.leg
    values = {"first": first, "second": second, "leg": shortage.leg, "short": short}
    return Refusal("too_close", values)


PLANNED_DIAMETERS, PLANNED_EXTRA = 2.5, 1.0
"""Straight for a flare where nut and tool were not measured: usual practice, no source."""


def straight_to_flare(
    outside_diameter: Number,
    nut: Number | None = None,
    block: Number | None = None,
    projection: Number | None = None,
) -> float:
    """Return the straight that a flare or swage needs after a bend, inches.

    Nut length, half the bar or the depth of the block, projection, and half the tube to work in;
    without the measured ones, the planning figure. Source: usual practice.
    """
    if nut is None or block is None:
        return PLANNED_DIAMETERS * float(outside_diameter) + PLANNED_EXTRA
    return float(nut) + float(block) + float(projection or 0) + float(outside_diameter) / 2
