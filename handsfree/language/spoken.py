"""What was said in place of a number: the exact value, its unit, and how it was put."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction

from handsfree.language.grammar import Spanned

LONGEST_NUMBER = 30
"""Words of the longest number with its unit, and a few to spare; more are no number gone wrong."""


class Sense(StrEnum):
    """In which way a string of words was read as a number, in the order in which to ask."""

    SAID = "said"
    FRACTION = "fraction of the tape"
    """Quarters to sixty-fourths: inches by nature, and never millimetres."""
    ROUTE = "feet and inches"
    """As in "six two" for 6 ft 2 in."""
    POINT_ONE = "one figure after the point"
    """As in "six two" for 6.2."""
    POINT_TWO = "two figures after the point"
    """As in "one fifty" for 1.50."""
    CLOCK = "minutes and seconds"
    """As in "two thirty" for two minutes thirty."""
    FIGURES = "figure by figure"
    """As in "five zero" for 50."""
    THOUSANDTHS = "thousandths"
    """As in "six three one" for 0.631."""


@dataclass(frozen=True, slots=True)
class Spoken(Spanned):
    """A number as it was said.

    `value` is exact; `unit` is a name of `data/units.toml`, None where none was said; `touch` is
    `heavy` or `light` for "a heavy sixteenth"; `basis` is `gauge`, `absolute`, `outside` or
    `nominal` where that was said; `unsold` marks a tube size that nobody sells; `words` are the
    words heard.
    """

    value: Fraction
    unit: str | None = None
    touch: str | None = None
    sense: Sense = field(default=Sense.SAID, compare=False)
    basis: str | None = None
    unsold: bool = False
    words: tuple[str, ...] = field(default=(), compare=False)

    def spanned(self, words: tuple[str, ...]) -> Spoken:
        """Return the same with the words that said it."""
        return replace(self, words=words)


@dataclass(frozen=True, slots=True)
class Band(Spanned):
    """Two numbers with "to" between them; a unit said once holds for both."""

    low: Spoken
    high: Spoken
    words: tuple[str, ...] = field(default=(), compare=False)

    def spanned(self, words: tuple[str, ...]) -> Band:
        """Return the same with the words that said it."""
        return replace(self, words=words)


@dataclass(frozen=True, slots=True)
class Thread:
    """A screw thread: diameter in inches, and threads to the inch."""

    diameter: Fraction
    pitch: int


__all__ = ["LONGEST_NUMBER", "Band", "Sense", "Spoken", "Thread"]
