"""Why a piece came out wrong: each usual slip is tried on the piece and compared with what is seen.

A slip shifts marks, the cut, angles or the radius; how the legs feel that is known from the
error budget, so every slip predicts an error on every leg and angle of any piece. Those of one
size are compared as they are; those of any size (an angle, a radius, a slipped mark) by how well
the best size would fit, against how large such slips get. Lengths in inches, angles in degrees,
bends counted from 0 at the left end. Source: geometry and Bayes' rule; what goes wrong, and how
large it gets, is common practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import exp, log
from typing import Literal

from handsfree.calculators.bends.budget import Feels, sensitivities
from handsfree.calculators.bends.piece import SQUARE, Piece, setback, thicker

Name = Literal[
    "nothing", "half_tube", "whole_tube", "other_index", "gain_forgotten", "start_on_index",
    "burnt_inch", "mark", "angle", "springback", "radius", "cut", "unclear",
]  # fmt: skip
CONVENTIONS = ("centre", "outside", "inside")
INCH = 1.0
USUAL_MARK, USUAL_CUT, USUAL_RADIUS = 1 / 8, 1 / 4, 1 / 8
USUAL_ANGLE, USUAL_SPRINGBACK = 2.5, 0.03
"""How large such slips get: one standard deviation, inches, degrees, and of the angle's part."""
LITTLE = 1 / 16
"""How far a mark is off by marking and rounding alone."""
ANYTHING = 0.5
"""How large an error is that no usual slip explains: one standard deviation, inches."""
PROTRACTOR = 0.5
"""How truly an angle is read, degrees, one standard deviation."""
CLEARLY = 3.0
"""Two predictions further apart than this many standard deviations can be told apart."""


@dataclass(frozen=True, slots=True)
class Cause:
    """A slip: its name, and the bend where it happened, or None for the whole piece."""

    name: Name
    bend: int | None = None


@dataclass(frozen=True, slots=True)
class Likely:
    """A cause, how likely it is among all, and its size: inches, degrees or a part of the angle."""

    cause: Cause
    probability: float
    size: float


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """The causes, the likeliest first.

    `alike` are those that the measures cannot tell from the first; `ask_leg` is the leg (from 1)
    that would tell, if one was not measured, or None.
    """

    causes: tuple[Likely, ...]
    alike: tuple[Cause, ...]
    ask_leg: int | None


@dataclass(frozen=True, slots=True)
class Effect:
    """What a slip does: to each leg and each angle; `usual` is 0 for a slip of one size.

    Otherwise legs and angles are told for a slip of 1, and `usual` is how large it gets.
    """

    cause: Cause
    size: float
    legs: tuple[float, ...]
    angles: tuple[float, ...]
    usual: float = 0.0


# ---------------------------------------------------------------------------- slips


@dataclass(frozen=True, slots=True)
class _Slips:
    """One piece, and how its legs feel a shift of anything."""

    piece: Piece
    feels: tuple[Feels, ...]

    @property
    def count(self) -> int:
        return len(self.piece.bends)

    def marks(self, name: Name, bend: int | None, by: Sequence[float], cut: float = 0) -> Effect:
        """Return the effect of marks that are shifted, and of a cut."""
        legs = tuple(
            sum(feel * shift for feel, shift in zip(leg.marks, by, strict=True)) + leg.cut * cut
            for leg in self.feels
        )
        size = max((*by, cut), key=abs)
        return Effect(Cause(name, bend), size, legs, (0.0,) * self.count)

    def one(self, bend: int, by: float) -> list[float]:
        """Return a shift of one mark alone."""
        return [by if other == bend else 0.0 for other in range(self.count)]

    def turned(self, name: Name, bend: int | None, by: Sequence[float], usual: float) -> Effect:
        """Return the effect of angles that are off."""
        legs = tuple(
            sum(feel * off for feel, off in zip(leg.angles, by, strict=True)) for leg in self.feels
        )
        return Effect(Cause(name, bend), 0.0, legs, tuple(by), usual)

    def dimensions(self) -> Iterator[Effect]:
        """Yield the legs as they come out where they were meant in another convention."""
        piece = self.piece
        around = (0, *(SQUARE if bend.crown else bend.angle for bend in piece.bends), 0)
        for meant in CONVENTIONS:
            if meant == piece.dimension_to:
                continue
            legs = tuple(
                thicker(meant, piece.tube, around[leg], around[leg + 1]) - piece.thickness[leg]
                for leg in range(self.count + 1)
            )
            half = "centre" in (meant, piece.dimension_to)
            size = max(legs, key=abs) if self.count == 1 else legs[0]
            name: Name = "half_tube" if half else "whole_tube"
            yield Effect(Cause(name), size, legs, (0.0,) * self.count)

    def indexes(self) -> Iterator[Effect]:
        """Yield a bend, or every bend, on the wrong index; a start mark on an index; the reverse.

        The L and the R mark stand one gain apart, the L mark one radius beyond the zero.
        """
        piece = self.piece
        square = [float(bend.angle) in piece.bender.indexed for bend in piece.bends]
        gains = [gain if known else 0.0 for gain, known in zip(piece.gains, square, strict=True)]
        to_index = -setback(piece.radius, SQUARE)
        for bend, known in enumerate(square):
            if known:
                yield self.marks("other_index", bend, self.one(bend, piece.gains[bend]))
                yield self.marks("start_on_index", bend, self.one(bend, piece.setbacks[bend]))
            yield self.marks("start_on_index", bend, self.one(bend, to_index))
        if sum(square) > 1:
            yield self.marks("other_index", None, gains)
            backs = [
                back if known else 0.0 for back, known in zip(piece.setbacks, square, strict=True)
            ]
            yield self.marks("start_on_index", None, backs)
        if self.count > 1:
            yield self.marks("start_on_index", None, [to_index] * self.count)

    def gains(self) -> Iterator[Effect]:
        """Yield marks laid out by the sum of the legs alone, a cut made so, and both."""
        gains = self.piece.gains
        before = [sum(gains[:bend]) for bend in range(self.count)]
        yield self.marks("gain_forgotten", None, [0.0] * self.count, sum(gains))
        if self.count > 1:
            yield self.marks("gain_forgotten", None, before)
            yield self.marks("gain_forgotten", None, before, sum(gains))

    def inches(self) -> Iterator[Effect]:
        """Yield the inch that was burnt and not added, or added twice: a mark, all, or the cut."""
        for by in (-INCH, INCH):
            for bend in range(self.count):
                yield self.marks("burnt_inch", bend, self.one(bend, by))
            yield self.marks("burnt_inch", None, [0.0] * self.count, by)
            if self.count > 1:
                yield self.marks("burnt_inch", None, [by] * self.count)

    def of_any_size(self) -> Iterator[Effect]:
        """Yield the slips that can have any size."""
        piece, still = self.piece, (0.0,) * self.count
        for bend in range(self.count):
            mark = self.marks("mark", bend, self.one(bend, 1.0))
            yield Effect(mark.cause, 0.0, mark.legs, still, USUAL_MARK)
            yield self.turned("angle", bend, self.one(bend, 1.0), USUAL_ANGLE)
        if self.count > 1:
            angles = [float(bend.angle) for bend in piece.bends]
            yield self.turned("springback", None, angles, USUAL_SPRINGBACK)
        radius = tuple(leg.radius for leg in self.feels)
        yield Effect(Cause("radius"), 0.0, radius, still, USUAL_RADIUS)
        cut = tuple(leg.cut for leg in self.feels)
        yield Effect(Cause("cut"), 0.0, cut, still, USUAL_CUT)


def effects(piece: Piece) -> tuple[Effect, ...]:
    """Return what every usual slip does to this piece; the first is that nothing slipped."""
    slips = _Slips(piece, sensitivities(piece))
    still = (0.0,) * slips.count
    return (
        Effect(Cause("nothing"), 0.0, (0.0,) * (slips.count + 1), still),
        *slips.dimensions(),
        *slips.indexes(),
        *slips.gains(),
        *slips.inches(),
        *slips.of_any_size(),
    )


# ---------------------------------------------------------------------------- comparing


@dataclass(frozen=True, slots=True)
class _Seen:
    """What was measured: each error, and how truly it is known."""

    legs: tuple[float | None, ...]
    angles: tuple[float | None, ...]
    tape: float

    def pairs(self, effect: Effect) -> list[tuple[float, float]]:
        """Return (seen, predicted) for whatever was measured, in standard deviations."""
        found = [
            (seen / self.tape, told / self.tape)
            for seen, told in zip(self.legs, effect.legs, strict=True)
            if seen is not None
        ]
        found.extend(
            (seen / PROTRACTOR, told / PROTRACTOR)
            for seen, told in zip(self.angles, effect.angles, strict=True)
            if seen is not None
        )
        return found

    def fit(self, effect: Effect) -> tuple[float, float]:
        """Return the logarithm of how well an effect fits, and the size that fits best."""
        pairs = self.pairs(effect)
        if not effect.usual:
            return -sum((seen - told) ** 2 for seen, told in pairs) / 2, effect.size
        prior = 1 / effect.usual**2
        both = sum(seen * told for seen, told in pairs)
        square = sum(told * told for _, told in pairs) + prior
        best = both / square
        rest = sum(seen * seen for seen, _ in pairs) - both * best
        return -rest / 2 - log(square / prior) / 2, best

    def unclear(self) -> float:
        """Return the same logarithm for errors of any size, each by itself."""
        found = 0.0
        for seen, truly, usual in (
            *((leg, self.tape, ANYTHING) for leg in self.legs),
            *((angle, PROTRACTOR, 2 * USUAL_ANGLE) for angle in self.angles),
        ):
            if seen is not None:
                wide = 1 + (usual / truly) ** 2
                found -= (seen / truly) ** 2 / wide / 2 + log(wide) / 2
        return found


def diagnose(
    piece: Piece,
    leg_errors: Sequence[float | None],
    angle_errors: Sequence[float | None] = (),
    tape: float = 1 / 32,
) -> Diagnosis:
    """Return the causes of what was measured, the likeliest first.

    Errors are what was measured less what was asked, in the piece's convention, None where
    nothing was measured; `tape` is the standard deviation of one measure, inches.
    """
    angles = tuple(angle_errors) or (None,) * len(piece.bends)
    seen = _Seen(tuple(leg_errors), angles, tape)
    known = effects(piece)
    fits = [(effect, *seen.fit(effect)) for effect in known]
    unclear = Effect(Cause("unclear"), 0.0, known[0].legs, known[0].angles)
    ranked = _ranked([*fits, (unclear, seen.unclear(), 0.0)])
    return _told(ranked, known, seen)


def diagnose_size(piece: Piece, error: float, tape: float = 1 / 32) -> Diagnosis:
    """Return the causes of an error where it was not said on which leg, the likeliest first.

    By size alone, long or short, only slips of one size can be told, and a mark that is off by a
    little; any other error is unclear. Causes are told for the whole piece.
    """
    count, angles = len(piece.legs), (None,) * len(piece.bends)
    sightings = [
        _Seen(tuple(seen if other == leg else None for other in range(count)), angles, tape)
        for leg in range(count)
        for seen in (error, -error)
    ]
    fits: list[tuple[Effect, float, float]] = []
    for effect in effects(piece):
        known = replace(effect, cause=Cause(effect.cause.name))
        if effect.usual and effect.cause.name != "mark":
            continue
        if effect.usual:
            known = replace(known, usual=LITTLE)
        each = [seen.fit(known) for seen in sightings]
        top = max(each)
        mean = top[0] + log(sum(exp(fit - top[0]) for fit, _ in each) / len(each))
        fits.append((known, mean, top[1]))
    unclear = Effect(Cause("unclear"), 0.0, (0.0,) * count, (0.0,) * len(piece.bends))
    ranked = _ranked([*fits, (unclear, sightings[0].unclear(), 0.0)])
    nearly = ranked[0].probability / CLEARLY
    alike = tuple(likely.cause for likely in ranked[1:] if likely.probability > nearly)
    return Diagnosis(ranked, alike, None)


def _ranked(fits: Sequence[tuple[Effect, float, float]]) -> tuple[Likely, ...]:
    """Return the causes by probability: each name alike before anything is seen.

    A cause can come about in several ways; they share what their name is given.
    """
    ways: dict[Name, int] = {}
    for effect, _, _ in fits:
        ways[effect.cause.name] = ways.get(effect.cause.name, 0) + 1
    logs = [fit - log(ways[effect.cause.name]) for effect, fit, _ in fits]
    top = max(logs)
    whole = sum(exp(one - top) for one in logs)
    sums: dict[Cause, float] = {}
    best: dict[Cause, tuple[float, float]] = {}
    for (effect, _, size), one in zip(fits, logs, strict=True):
        sums[effect.cause] = sums.get(effect.cause, 0.0) + exp(one - top) / whole
        best[effect.cause] = max(best.get(effect.cause, (one, size)), (one, size))
    found = (Likely(cause, chance, best[cause][1]) for cause, chance in sums.items())
    return tuple(sorted(found, key=lambda likely: -likely.probability))


def _told(ranked: tuple[Likely, ...], known: Sequence[Effect], seen: _Seen) -> Diagnosis:
    """Return the diagnosis with what cannot be told apart, and which leg would tell."""
    first = _best_way(ranked[0].cause, known, seen)
    if first is None:
        return Diagnosis(ranked, (), None)
    alike: list[Cause] = []
    ask: int | None = None
    for likely in ranked[1:]:
        other = _best_way(likely.cause, known, seen)
        if other is None or other.usual or first.usual or not _same(first, other, seen):
            continue
        alike.append(likely.cause)
        gaps = [
            (abs(one - two), leg)
            for leg, (one, two) in enumerate(zip(first.legs, other.legs, strict=True), start=1)
            if seen.legs[leg - 1] is None
        ]
        if ask is None and gaps and max(gaps)[0] > CLEARLY * seen.tape:
            ask = max(gaps)[1]
    return Diagnosis(ranked, tuple(alike), ask)


def _best_way(cause: Cause, known: Sequence[Effect], seen: _Seen) -> Effect | None:
    ways = [effect for effect in known if effect.cause == cause]
    return max(ways, key=lambda effect: seen.fit(effect)[0]) if ways else None


def _same(first: Effect, other: Effect, seen: _Seen) -> bool:
    """Return whether two effects differ by less than one measure can show."""
    return all(
        abs(one - two) < CLEARLY
        for (_, one), (_, two) in zip(seen.pairs(first), seen.pairs(other), strict=True)
    )
