"""Probabilities of phonemes to the sentences that explain them best.

Two passes of Viterbi search over the decoding graph. The first keeps few paths and gives the
likelihood of the best; where even that is hopeless, what was said is no sentence of the grammar,
and the second pass, which keeps everything near the best, is spared: it is slow on such talk.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from math import inf
from typing import TYPE_CHECKING, NamedTuple

import kaldi_decoder
import kaldifst
import numpy as np

from handsfree.edge.ear.graph import ENTER, LEAVE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from handsfree.edge.ear.graph import DecodingGraph

__all__ = ["BestPath", "best_path", "best_sentences", "squeezed"]

_BEAM = 9.0
_LATTICE_BEAM = 8.0
"""Nats behind the best in which a path is kept while decoding, and in what is kept of it."""
_PATHS = 4000
"""Paths that the first pass keeps at most."""
_SURE_BLANK = -0.01
"""A blank at least this likely, in nats, after another one tells nothing new."""
_OUTSIDE = -1
_ARC = 4
"""Fields of a line of a lattice's text that is an arc, before its weight."""


class _Arc(NamedTuple):
    """Where it leads, the word or the jump that it gives, and its cost in nats."""

    target: int
    gives: int
    cost: float


class BestPath(NamedTuple):
    """Log-likelihood of the best path's sounds in nats, and how many phonemes it has."""

    score: float
    phonemes: int


def squeezed(frames: NDArray[np.float32], blank: int) -> NDArray[np.float32]:
    """Return the frames (frames, tokens) with each run of sure blanks shortened to its first."""
    sure = frames[:, blank] > _SURE_BLANK
    kept = ~sure
    kept[1:] |= sure[1:] & ~sure[:-1]
    kept[:1] = True
    return frames[kept]


def best_path(graph: DecodingGraph, frames: NDArray[np.float32], blank: int) -> BestPath | None:
    """Return the likelihood of the best path through the graph; None where there is none.

    The path may leave a slot into another sentence, so no sentence is more likely than this.
    """
    options = kaldi_decoder.FasterDecoderOptions()
    options.beam, options.max_active = _BEAM, _PATHS
    decoder = kaldi_decoder.FasterDecoder(graph.graph, options)
    decoder.decode(kaldi_decoder.DecodableCtc(frames))
    if not decoder.reached_final():
        return None
    _, path = decoder.get_best_path()
    _, labels, _, weight = kaldifst.get_linear_symbol_sequence(path)
    column = np.array([0, *labels]) - 1
    new = (column[1:] != column[:-1]) & (column[1:] != blank)
    return BestPath(-weight.value2, int(new.sum()))


def best_sentences(
    graph: DecodingGraph, frames: NDArray[np.float32], count: int
) -> list[tuple[int, ...]]:
    """Return the most likely sentences, best first, as numbers of words."""
    config = kaldi_decoder.LatticeSimpleDecoderConfig(beam=_BEAM, lattice_beam=_LATTICE_BEAM)
    decoder = kaldi_decoder.LatticeSimpleDecoder(graph.graph, config)
    if not decoder.decode(kaldi_decoder.DecodableCtc(frames)):
        return []
    _, lattice = decoder.get_raw_lattice()
    arcs, ends = _read(lattice)
    return _best_of(arcs, ends, lattice.start, count)


def _read(lattice: kaldifst.Lattice) -> tuple[dict[int, list[_Arc]], dict[int, float]]:
    """Return the arcs of each state, and the costs of ending in the final ones.

    The binding cannot walk a lattice, so its text is read: `from to reads gives graph,sound` for
    an arc, `state graph,sound` for an end.
    """
    arcs: dict[int, list[_Arc]] = defaultdict(list)
    ends: dict[int, float] = {}
    for line in lattice.to_str(show_weight_one=True).splitlines():
        fields = line.split()
        cost = sum(map(float, fields[-1].split(",")))
        if len(fields) > _ARC:
            arcs[int(fields[0])].append(_Arc(int(fields[1]), int(fields[3]), cost))
        elif cost != inf:
            ends[int(fields[0])] = cost
    return arcs, ends


def _best_of(
    arcs: Mapping[int, Sequence[_Arc]], ends: Mapping[int, float], start: int, count: int
) -> list[tuple[int, ...]]:
    """Return the best sentences of a lattice.

    From its start to its ends each state keeps the best few beginnings of a sentence that reach
    it, each with the place at which the slot that it is in, if it is in one, must be left. What
    that costs grows with the lattice and no faster; making the lattice deterministic can take
    for ever on speech in noise.
    """
    tree = _Tree()
    reached: dict[int, dict[tuple[int, int], float]] = defaultdict(dict)
    reached[start][0, _OUTSIDE] = 0.0
    whole: dict[int, float] = {}
    for state in _in_order(arcs, start):
        kept = sorted(reached.pop(state).items(), key=lambda item: item[1])[:count]
        for (beginning, place), cost in kept:
            if state in ends and place == _OUTSIDE:
                whole[beginning] = min(cost + ends[state], whole.get(beginning, inf))
        for target, gives, added in arcs.get(state, ()):
            there = reached[target]
            for here, cost in kept:
                gone = tree.follow(here, gives)
                if gone is not None and cost + added < there.get(gone, inf):
                    there[gone] = cost + added
    found = [tree.sentence(end) for end in sorted(whole, key=whole.__getitem__)]
    return [sentence for sentence in found if sentence][:count]


class _Tree:
    """The beginnings of sentences, by number: each an earlier one and a word more; 0 is empty."""

    def __init__(self) -> None:
        self._steps: list[tuple[int, int]] = [(0, 0)]
        self._numbers: dict[tuple[int, int], int] = {}

    def follow(self, here: tuple[int, int], gives: int) -> tuple[int, int] | None:
        """Return the beginning and the open place after an arc; None where it may not be taken."""
        beginning, place = here
        if gives >= LEAVE:
            return (beginning, _OUTSIDE) if gives - LEAVE == place else None
        if gives >= ENTER:
            return beginning, gives - ENTER
        if not gives:
            return here
        step = beginning, gives
        number = self._numbers.setdefault(step, len(self._steps))
        if number == len(self._steps):
            self._steps.append(step)
        return number, place

    def sentence(self, end: int) -> tuple[int, ...]:
        """Return the words of a beginning."""
        words = []
        while end:
            end, word = self._steps[end]
            words.append(word)
        return tuple(reversed(words))


def _in_order(arcs: Mapping[int, Sequence[_Arc]], start: int) -> list[int]:
    """Return the states from the start on, each before those its arcs lead to."""
    order: list[int] = []
    seen = {start}
    waiting = [(start, iter(arcs.get(start, ())))]
    while waiting:
        state, following = waiting[-1]
        for arc in following:
            if arc.target not in seen:
                seen.add(arc.target)
                waiting.append((arc.target, iter(arcs.get(arc.target, ()))))
                break
        else:
            order.append(state)
            waiting.pop()
    return order[::-1]
