"""How likely a sentence is, exactly: the CTC forward sum over its ways of being said.

Sentences that may have been said differ in a word or two, so they are joined into one tree of
words, and the forward pass goes over all branches at once: one step of numpy for each frame.
Theory: Graves et al., Connectionist Temporal Classification, ICML 2006, section 4.1. Within a
sentence, each choice of a way for each word is one label sequence; their likelihoods add up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Likelihood", "log_likelihoods"]


class Likelihood(NamedTuple):
    """Log-likelihoods in nats: summed over all alignments of a sentence, and of the best one."""

    whole: float
    best: float


Way = tuple[int, ...]
"""One way of saying a word: columns of the acoustic model."""
_NOWHERE = 0
_OUTSET = 1


@dataclass
class _Net:
    """States and the arcs between them, while they are written.

    A state stands for one frame of one phoneme or blank: `token` of it. State 0 is never reached;
    state 1 is left at the first frame.
    """

    blank: int
    tokens: list[int] = field(default_factory=lambda: [-1, -1])
    sources: list[list[int]] = field(default_factory=lambda: [[_NOWHERE], [_NOWHERE]])

    def state(self, token: int, sources: Sequence[int]) -> int:
        """Add a state that holds for one frame or more; return its number."""
        number = len(self.tokens)
        self.tokens.append(token)
        self.sources.append([number, *sources])
        return number

    def gap(self, sources: Sequence[int]) -> int:
        return self.state(self.blank, sources)

    def word(self, ways: Sequence[Way], before: Sequence[int]) -> tuple[int, ...]:
        """Add a word after these states; return the states in which it may end."""
        ends: list[int] = []
        for way in ways:
            here = before
            for place, token in enumerate(way):
                entered = [s for s in here if self.tokens[s] != token]
                sound = self.state(token, entered)
                last = place == len(way) - 1
                here = (sound,) if last else (sound, self.gap([sound]))
            ends.extend(here)
        return (*ends, self.gap(ends))


class _Steps:
    """A written net as arrays: which states each state is reached from, and what it costs."""

    def __init__(self, net: _Net, frames: NDArray[np.float32]) -> None:
        self.sources = np.array([s for found in net.sources for s in found])
        counts = [len(found) for found in net.sources]
        self.starts = np.concatenate(([0], np.cumsum(counts)[:-1]))
        tokens = np.array(net.tokens)
        barred = tokens < 0
        self.costs = frames[:, np.where(barred, 0, tokens)].astype(np.float64)
        self.costs[:, barred] = -np.inf

    def forward(self, join: np.ufunc) -> NDArray[np.float64]:
        """Return the log of each state's likelihood at the last frame.

        `join` puts the ways of reaching a state together: `np.add` sums over all of them,
        `np.maximum` keeps the best one.
        """
        best = self.costs.max(axis=1, keepdims=True)
        factors = np.exp(self.costs - best)
        now = np.zeros(factors.shape[1])
        now[_OUTSET] = 1.0
        scale = float(best.sum())
        for factor in factors:
            now = join.reduceat(now[self.sources], self.starts) * factor
            largest = now.max()
            if largest == 0.0:
                break
            now /= largest
            scale += float(np.log(largest))
        with np.errstate(divide="ignore"):
            result: NDArray[np.float64] = np.log(now) + scale
        return result


def log_likelihoods(
    sentences: Sequence[Sequence[int]],
    ways: Sequence[Sequence[Way]],
    frames: NDArray[np.float32],
    blank: int,
) -> list[Likelihood]:
    """Return how likely each sentence is.

    `sentences` are numbers of words, `ways` the ways of saying each word by its number, `frames`
    log-probabilities (frames, tokens).
    """
    net = _Net(blank)
    root = (_OUTSET, net.gap([_OUTSET]))
    ends: dict[tuple[int, ...], tuple[int, ...]] = {(): root}
    for sentence in sentences:
        for length in range(1, len(sentence) + 1):
            key = tuple(sentence[:length])
            if key not in ends:
                ends[key] = net.word(ways[key[-1]], ends[key[:-1]])
    steps = _Steps(net, frames)
    sums, bests = steps.forward(np.add), steps.forward(np.maximum)
    found = [list(ends[tuple(sentence)]) for sentence in sentences]
    return [Likelihood(float(np.logaddexp.reduce(sums[e])), float(bests[e].max())) for e in found]
