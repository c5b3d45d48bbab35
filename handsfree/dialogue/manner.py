"""How the tool speaks to this person: steps of rate, loudness and length, from what is usual."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Dial:
    """A setting that is turned a step at a time, by its two words, between two ends."""

    name: str
    less: str
    more: str
    lowest: int
    highest: int

    def turned(self, level: int, word: str) -> int:
        """Return the level after a word; at an end it stays."""
        step = {self.less: -1, self.more: 1}[word]
        return min(max(level + step, self.lowest), self.highest)


RATE = Dial("rate", "slower", "faster", -3, 3)
VOLUME = Dial("volume", "quieter", "louder", -4, 1)
WORDS = Dial("words", "shorter", "longer", -1, 0)
"""Titles only, or the whole sentence."""
DIALS: Mapping[str, Dial] = {
    word: dial for dial in (RATE, VOLUME, WORDS) for word in (dial.less, dial.more)
}
"""Which dial a word turns."""


def turned(levels: Mapping[str, int], word: str) -> Mapping[str, int]:
    """Return the levels after a word; one that turns no dial changes nothing."""
    dial = DIALS.get(word)
    if dial is None:
        return levels
    return {**levels, dial.name: dial.turned(levels.get(dial.name, 0), word)}
