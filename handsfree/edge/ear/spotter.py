"""Stop words in the middle of other sound: while our own voice is in the air, too.

No utterance can be cut out while we speak, so a few words are looked for wherever they may begin
and end. A word's score is how much worse its sounds explain the frames that it would take than any
sounds could (nats a phoneme, as the not-for-us measure of a sentence is); what comes before and
after it costs nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain, product
from typing import TYPE_CHECKING

import numpy as np

from handsfree.edge.ear.recogniser import Spot

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from handsfree.edge.ear.lexicon import Lexicon

__all__ = ["Spotter"]

_WAYS = 16
"""Ways of saying one phrase that are looked for."""


class Spotter:
    """Looks for phrases (word strings) in frames of log-probabilities."""

    def __init__(self, phrases: Iterable[str], lexicon: Lexicon, blank: int) -> None:
        self._phrases: list[str] = []
        ways: list[tuple[int, ...]] = []
        for phrase in phrases:
            numbers = [lexicon.number(word) for word in phrase.split()]
            if None in numbers:
                continue
            choices = product(*(lexicon.ways[number or 0] for number in numbers))
            for choice, _ in zip(choices, range(_WAYS), strict=False):
                ways.append(tuple(chain.from_iterable(choice)))
                self._phrases.append(phrase)
        self._lengths = np.array([len(way) for way in ways])
        longest = int(self._lengths.max(initial=0))
        # sound, quiet, sound, ...: a quiet may be left out except between two equal sounds
        self._states = np.full((len(ways), max(2 * longest - 1, 0)), blank)
        self._may_skip = np.zeros_like(self._states, dtype=bool)
        for row, way in enumerate(ways):
            self._states[row, : 2 * len(way) - 1 : 2] = way
            for place in range(1, len(way)):
                self._may_skip[row, 2 * place] = way[place] != way[place - 1]

    def best(self, frames: NDArray[np.float32]) -> Spot | None:
        """Return the phrase that fits best in log-probabilities (frames, tokens), or None."""
        if not len(frames) or not len(self._phrases):
            return None
        scores = self._scores(frames - frames.max(axis=1, keepdims=True)) / self._lengths
        row = int(scores.argmax())
        if not np.isfinite(scores[row]):
            return None
        return Spot(self._phrases[row], float(scores[row]), int(self._lengths[row]))

    def _scores(self, losses: NDArray[np.float32]) -> NDArray[np.float64]:
        """Return the least loss of each way, wherever it begins and ends."""
        rows = np.arange(len(self._phrases))
        last = 2 * self._lengths - 2
        now = np.full(self._states.shape, -np.inf)
        best = np.full(len(rows), -np.inf)
        for frame in losses:
            before = now
            now = before.copy()
            now[:, 1:] = np.maximum(now[:, 1:], before[:, :-1])
            skipped = np.where(self._may_skip[:, 2:], before[:, :-2], -np.inf)
            now[:, 2:] = np.maximum(now[:, 2:], skipped)
            now[:, 0] = np.maximum(now[:, 0], 0.0)
            now += frame[self._states]
            best = np.maximum(best, now[rows, last])
        return best
