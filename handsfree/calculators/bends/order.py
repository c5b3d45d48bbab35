"""In which order the bends of a piece can be made, and with which end in the hook.

A bend can be made when the hook and the shoe find the straight that they need and no formed part
meets the bender, the bench or a wall. What a bend meets depends on which others are made already,
so the order is searched: straight through from the working end first, then any order, then with
the tube end for end. Lengths in inches, angles in degrees, bends counted from 0 at the left end.
Source: geometry; to work one way from the end that must be exact is common practice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate
from math import hypot
from typing import Literal

from handsfree.calculators.bends.body import Obstacle, Region, further, in_the_way, regions
from handsfree.calculators.bends.piece import End, Piece
from handsfree.calculators.bends.space import Corner, Frame, Segment, corners, outward

Face = Literal["up", "over"]
Trouble = Obstacle | Literal["grip", "shoe", "between", "bench", "wall"]
Choice = tuple[int, End, Face]
"""A bend, the end in the hook, and the face of the tool that looks up from the bench."""
OTHER: dict[End, End] = {"left": "right", "right": "left"}
_NOISE = 1e-9


@dataclass(frozen=True, slots=True)
class Blocked:
    """A bend that could not be made where the search got furthest, and what was in the way."""

    bend: int
    hook: End
    trouble: Trouble
    leg: int
    short: float = 0.0


@dataclass(frozen=True, slots=True)
class _Held:
    """How a bend stands in the tool: clear, on which faces, or what stops it."""

    trouble: Blocked | None
    lowest: float = 0.0
    highest: float = 0.0


class Bench:
    """One piece at one bender; remembers what it has worked out."""

    def __init__(self, piece: Piece) -> None:
        self.piece, self.bender = piece, piece.bender
        self.count = len(piece.bends)
        self.starts, self.ends = piece.starts, piece.ends
        self.setbacks, self.cut = piece.setbacks, piece.cut
        self.stand = tuple(accumulate(float(bend.roll) for bend in piece.bends))
        self.sides: dict[tuple[int, End], dict[tuple[End, int], _Held]] = {
            (bend, side): {} for bend in range(self.count) for side in OTHER
        }
        self.met: dict[float, tuple[tuple[Region, ...], tuple[Region, ...]]] = {}
        self.around = piece.tube / 2
        self.under = self.bender.body.bench if self.bender.body else None

    def like(self, piece: Piece, leg: int | None) -> Bench:
        """Return the bench for a piece that differs in one leg (from 1), or in no leg at all.

        What stands on the other side of a bend than that leg is the same, and is worked out once
        for both. A piece that differs in no leg may have another bench under it.
        """
        other = Bench(piece)
        other.met = self.met
        for bend, side in self.sides:
            within = leg is not None and (leg <= bend + 1) == (side == "left")
            if not within:
                other.sides[bend, side] = self.sides[bend, side]
        return other

    def held(self, bend: int, hook: End, made: int) -> Blocked | Face:
        """Return the face of the tool for this bend, or what stops it."""
        left = self._side(bend, "left", hook, made)
        if left.trouble is not None:
            return left.trouble
        right = self._side(bend, "right", hook, made)
        if right.trouble is not None:
            return right.trouble
        bench = self.under
        if bench is None or min(left.lowest, right.lowest) >= -bench:
            return "up"
        if max(left.highest, right.highest) <= bench:
            return "over"
        return Blocked(bend, hook, "bench", bend + 1)

    def _side(self, bend: int, side: End, hook: End, made: int) -> _Held:
        below = (1 << bend) - 1
        mask = made & below if side == "left" else made & ~below & ~(1 << bend)
        known = self.sides[bend, side]
        held = known.get((hook, mask))
        if held is None:
            held = known[hook, mask] = self._work_out(bend, side, hook, mask)
        return held

    def _work_out(self, bend: int, side: End, hook: End, mask: int) -> _Held:
        order = range(bend - 1, -1, -1) if side == "left" else range(bend + 1, self.count)
        formed = [other for other in order if mask >> other & 1]
        blocked = self._too_short(bend, side, hook, formed)
        if blocked is not None:
            return _Held(blocked)
        body = self.bender.body
        if body is None:
            return _Held(None)
        leg = bend + 1 if side == "left" else bend + 2
        held, *part = self._part(bend, side, hook, formed)
        if side != hook and body.clear is not None and _reach([held, *part]) > body.clear:
            return _Held(Blocked(bend, hook, "wall", leg))
        if not part:
            return _Held(None)
        angle = float(self.piece.bends[bend].angle)
        if angle not in self.met:
            self.met[angle] = regions(self.piece.radius, body, 2 * self.around, angle)
        met = self.met[angle][0 if side == hook else 1]
        obstacle = in_the_way(part, met)
        if obstacle is None and side != hook:  # the tube still to be bent holds it further out
            obstacle = in_the_way(further(part, self.piece.arcs[bend]), met)
        if obstacle is not None:
            return _Held(Blocked(bend, hook, obstacle, leg))
        heights = [point[2] for segment in part for point in segment]
        return _Held(None, min(heights) - self.around, max(heights) + self.around)

    def _too_short(self, bend: int, side: End, hook: End, formed: list[int]) -> Blocked | None:
        """Return what the hook or the shoe lacks on this side, or None."""
        leg = bend + 1 if side == "left" else bend + 2
        if formed:
            near = formed[0]
            gap = (
                self.starts[bend] - self.ends[near]
                if side == "left"
                else self.starts[near] - self.ends[bend]
            )
            trouble: Trouble = "between"
            least = self.bender.between
        else:
            gap = self.starts[bend] if side == "left" else self.cut - self.ends[bend]
            trouble, least = (
                ("grip", self.bender.grip) if side == hook else ("shoe", self.bender.after)
            )
            leg = 1 if side == "left" else self.count + 1
        return None if gap >= least - _NOISE else Blocked(bend, hook, trouble, leg, least - gap)

    def _part(self, bend: int, side: End, hook: End, formed: list[int]) -> list[Segment]:
        """Return the tube on one side as held: the straight in the tool, then what is formed."""
        sign = -1.0 if side == "left" else 1.0
        lengths: list[float] = []
        turns: list[Corner] = []
        reached, stand, extra = bend, self.stand[bend], 0.0
        for other in formed:
            near, far = (other, reached) if side == "left" else (reached, other)
            lengths.append(self.starts[far] - self.ends[near] + self.setbacks[other] + extra)
            bent = self.piece.bends[other]
            turns.extend(corners(bent, sign * (self.stand[other] - stand)))
            if bent.crown:
                lengths.append(2 * self.piece.radius)
            reached, stand, extra = other, self.stand[other], self.setbacks[other]
        last = self.starts[reached] if side == "left" else self.cut - self.ends[reached]
        lengths.append(last + extra)
        along = -1.0 if side == hook else 1.0
        held = Frame((0.0, self.piece.radius, 0.0), (along, 0.0, 0.0), (0.0, -1.0, 0.0))
        return list(outward(held, tuple(lengths), tuple(turns)))


@dataclass(frozen=True, slots=True)
class NoOrder:
    """No order of the bends can be made: what stopped the search where it got furthest."""

    blocked: tuple[Blocked, ...]


def search(bench: Bench, end: End, first: int | None = None) -> tuple[Choice, ...] | NoOrder:
    """Return the bends in the order found, or what stopped the search where it got furthest.

    `first` is a bend to begin with where that can be, such as the centre of a saddle.
    """
    left_first = list(range(bench.count))
    worked = left_first if end == "left" else left_first[::-1]
    usual = [(worked, end), (worked[::-1], OTHER[end])]
    if first is not None:
        after = [first, *(bend for bend in worked if bend != first)]
        usual[:0] = [(after, end), (after, OTHER[end])]
    for order, hook in usual:
        found = _straight_through(bench, order, hook)
        if found is not None:
            return found
    search = _Search(bench, worked, (end,))
    for hooks in ((end,), (OTHER[end],), (end, OTHER[end])):
        search = _Search(bench, worked, hooks)
        done = search.go((1 << bench.count) - 1, ())
        if done is not None:
            return done
    return NoOrder(search.furthest[1])


def _straight_through(bench: Bench, order: list[int], hook: End) -> tuple[Choice, ...] | None:
    made, chosen = 0, list[Choice]()
    for bend in order:
        held = bench.held(bend, hook, made)
        if isinstance(held, Blocked):
            return None
        chosen.append((bend, hook, held))
        made |= 1 << bend
    return tuple(chosen)


@dataclass(slots=True)
class Allowance:
    """How many more sets of made bends may be looked at; what is not reached by then is not found.

    One allowance for all that is tried keeps an answer quick, whatever the piece.
    """

    left: int


class _Search:
    """A depth-first search over orders, from the last bend back to the first.

    The last bend meets the most formed tube, so what cannot be is found out soonest there. A set
    of made bends that cannot be reached is not tried again.
    """

    def __init__(
        self,
        bench: Bench,
        order: list[int],
        hooks: tuple[End, ...],
        allowance: Allowance | None = None,
    ) -> None:
        self.allowance = allowance
        self.bench, self.order, self.hooks = bench, order[::-1], hooks
        self.by_following = {
            end: tuple(sorted(hooks, key=lambda side: side != end)) for end in OTHER
        }
        self.dead: set[int] = set()
        self.furthest: tuple[int, tuple[Blocked, ...]] = (-1, ())

    def go(self, made: int, after: tuple[Choice, ...]) -> tuple[Choice, ...] | None:
        """Return the bends in order, given the set made before those that come after."""
        if not made:
            return after
        if made in self.dead:
            return None
        if self.allowance is not None:
            if not self.allowance.left:
                return None
            self.allowance.left -= 1
        stopped: list[Blocked] = []
        for bend, hook, held in self._last(made, after):
            if isinstance(held, Blocked):
                stopped.append(held)
                continue
            found = self.go(made & ~(1 << bend), ((bend, hook, held), *after))
            if found is not None:
                return found
        self.dead.add(made)
        if len(after) > self.furthest[0]:
            self.furthest = (len(after), tuple(stopped))
        return None

    def _last(
        self, made: int, after: tuple[Choice, ...]
    ) -> Iterator[tuple[int, End, Blocked | Face]]:
        """Yield what could be the last of the bends made, without swapping ends where possible."""
        following = after[0][1] if after else self.hooks[0]
        for hook in self.by_following[following]:
            for bend in self.order:
                if made >> bend & 1:
                    yield bend, hook, self.bench.held(bend, hook, made & ~(1 << bend))


def _reach(part: list[Segment]) -> float:
    """Return how far from the centre of the bend a part reaches."""
    return max(hypot(*point) for segment in part for point in segment)


def can_be_made(bench: Bench, end: End, allowance: Allowance) -> bool:
    """Return whether an order that makes a piece is found within an allowance, which it uses up."""
    whole = (1 << bench.count) - 1
    search = _Search(bench, list(range(bench.count)), (end, OTHER[end]), allowance)
    return search.go(whole, ()) is not None
