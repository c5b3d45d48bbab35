"""Probabilities of phonemes to the sentences that explain them best.

Two passes of Viterbi search over the decoding graph. The first keeps few paths and gives the
likelihood of the best; where even that is hopeless, what was said is no sentence of the grammar,
and the second pass, which keeps everything near the best, is spared: it is slow on such talk.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

import kaldi_decoder
import kaldifst
import numpy as np

from handsfree.edge.ear.graph import ENTER, LEAVE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from handsfree.edge.ear.graph import DecodingGraph

__all__ = ["BestPath", "best_path", "best_sentences", "squeezed"]

_BEAM = 12.0
_LATTICE_BEAM = 8.0
"""Nats behind the best in which a path is kept while decoding, and in what is kept of it."""
_PATHS = 4000
"""Paths that the first pass keeps at most."""
_SURE_BLANK = -0.01
"""A blank at least this likely, in nats, after another one tells nothing new."""
_OUTSIDE = -1
_ARC = 4
"""Fields of a line of a lattice's text that is an arc, before its weight."""


class BestPath(NamedTuple):
    """Log-likelihood of the best path in nats, and how many phonemes it has."""

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
    return BestPath(-(weight.value1 + weight.value2), int(new.sum()))


def best_sentences(
    graph: DecodingGraph, frames: NDArray[np.float32], count: int
) -> list[tuple[int, ...]]:
    """Return the most likely sentences, best first, as numbers of words."""
    config = kaldi_decoder.LatticeSimpleDecoderConfig(beam=_BEAM, lattice_beam=_LATTICE_BEAM)
    decoder = kaldi_decoder.LatticeSimpleDecoder(graph.graph, config)
    if not decoder.decode(kaldi_decoder.DecodableCtc(frames)):
        return []
    _, lattice = decoder.get_raw_lattice()
    words = _words_of(lattice)
    if words is None:
        return []
    kaldifst.determinize_star(words)
    found: list[tuple[int, ...]] = []
    for path in kaldifst.convert_nbest_to_vector(kaldifst.shortest_path(words, n=count)):
        _, labels, _, _ = kaldifst.get_linear_symbol_sequence(path)
        if labels:
            found.append(tuple(labels))
    return found


def _words_of(  # noqa: C901 - one walk over the lattice
    lattice: kaldifst.Lattice,
) -> kaldifst.StdVectorFst | None:
    """Return the lattice with words for labels, without paths that leave a slot elsewhere.

    Each of its states is a state of the lattice together with the place to which the slot that
    it is in, if it is in one, must be left.
    """
    arcs: dict[str, list[tuple[str, int, str]]] = defaultdict(list)
    ends: dict[str, str] = {}
    first = ""
    for line in lattice.to_str(show_weight_one=True).splitlines():
        fields = line.split()
        first = first or fields[0]
        if len(fields) >= _ARC:
            cost = fields[_ARC].split(",")[1] if len(fields) > _ARC else "0"
            arcs[fields[0]].append((fields[1], int(fields[3]), cost))
        else:
            ends[fields[0]] = fields[1].split(",")[1] if len(fields) > 1 else "0"
    lines: list[str] = []
    start = (first, _OUTSIDE)
    number = {start: 0}
    waiting = [start]
    while waiting:
        here = waiting.pop()
        state, place = here
        if place == _OUTSIDE and state in ends:
            lines.append(f"{number[here]} {ends[state]}")
        for target, label, cost in arcs[state]:
            word, inside = label, place
            if label >= LEAVE:
                if label - LEAVE != place:
                    continue
                word, inside = 0, _OUTSIDE
            elif label >= ENTER:
                word, inside = 0, label - ENTER
            there = (target, inside)
            if there not in number:
                number[there] = len(number)
                waiting.append(there)
            lines.append(f"{number[here]} {number[there]} {word} {word} {cost}")
    if not any(line.count(" ") == 1 for line in lines):
        return None
    words = kaldifst.compile("\n".join([*lines, ""]))
    kaldifst.connect(words)
    return words
