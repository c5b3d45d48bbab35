"""The built-in ear: always there, needs no download."""

from __future__ import annotations

from collections import OrderedDict
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from handsfree.dialogue.events import Alternative
from handsfree.edge.ear.acoustic import AcousticModel
from handsfree.edge.ear.graph import Compiler, DecodingGraph
from handsfree.edge.ear.lattice import best_path, best_sentences, squeezed
from handsfree.edge.ear.lexicon import Lexicon
from handsfree.edge.ear.recogniser import SAMPLE_RATE, Hearing, Spot
from handsfree.edge.ear.scoring import log_likelihoods
from handsfree.edge.ear.sound import clipped_share, repaired, signal_to_noise
from handsfree.edge.ear.spotter import Spotter
from handsfree.edge.stopwatch import StopWatch
from handsfree.language.confusables import neighbours

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from handsfree.edge.ear.recogniser import Samples
    from handsfree.language.grammar import Grammar

__all__ = ["BuiltInEar"]

_FROM_LATTICE = 12
_SWAPPED = 3
_RESCORED = 32
_KEPT = 12
"""Sentences taken from the search, varied by confusions, scored exactly, and given back."""
_GRAPHS = 6
"""Compiled grammars remembered; each may take 28 megabytes."""
_LEAD = np.zeros(SAMPLE_RATE * 3 // 10, dtype=np.float32)
"""Quiet before and after: the model misses a first sound that comes at once."""
_HOPELESS = -2.0
"""Nats a phoneme below which the best path cannot be for us, so that no sentence is sought.

The search is slow where nothing fits: up to ten seconds for a spelled name, were it let in.
"""


class BuiltInEar:
    """The `hama` phoneme model decoded on the grammar of the moment.

    Raises `DeviceError` where the model cannot be loaded.
    """

    def __init__(self) -> None:
        self._model = AcousticModel()
        self._lexicon = Lexicon(self._model.tokens)
        self._compiler = Compiler(self._lexicon, self._model.blank)
        self._compiled: OrderedDict[str, DecodingGraph] = OrderedDict()
        self._spotters: dict[tuple[str, ...], Spotter] = {}
        self._now: DecodingGraph | None = None

    def listen_for(self, grammar: Grammar) -> None:
        """Take the sentences of this grammar; compiled ones are remembered."""
        if grammar.key not in self._compiled:
            self._compiled[grammar.key] = self._compiler.compile(grammar)
            if len(self._compiled) > _GRAPHS:
                self._compiled.popitem(last=False)
        self._compiled.move_to_end(grammar.key)
        self._now = self._compiled[grammar.key]

    def hear(self, samples: Samples) -> Hearing:
        """Return what was said in one utterance."""
        wave = repaired(samples)
        found: tuple[Alternative, ...] = ()
        watch = StopWatch()
        if self._now is not None and len(wave):
            padded = np.concatenate([_LEAD, wave, _LEAD])
            frames = squeezed(self._model.log_probabilities(padded), self._model.blank)
            watch.lap("sounds")
            path = best_path(self._now, frames, self._model.blank) if len(frames) else None
            watch.lap("best path")
            if path is not None and path.phonemes:
                ceiling = float(frames.max(axis=1).sum())
                if (path.score - ceiling) / path.phonemes > _HOPELESS:
                    found = self._sentences(self._now, frames, ceiling)
                    watch.lap("sentences")
        return Hearing(
            alternatives=found,
            signal_to_noise=signal_to_noise(wave),
            clipped=clipped_share(samples),
            duration=len(wave) / SAMPLE_RATE,
            stages=tuple(watch.laps),
        )

    def spot(self, phrases: tuple[str, ...], samples: Samples) -> Spot | None:
        """Return which phrase fits best, wherever it lies in samples; see `Spotting`."""
        if phrases not in self._spotters:
            self._spotters[phrases] = Spotter(phrases, self._lexicon, self._model.blank)
        return self._spotters[phrases].best(self._model.log_probabilities(repaired(samples)))

    def _sentences(
        self, graph: DecodingGraph, frames: NDArray[np.float32], ceiling: float
    ) -> tuple[Alternative, ...]:
        """Return the best sentences and their neighbours with exact scores, best first.

        `ceiling` is the log-likelihood of the likeliest sounds, whatever they are.
        """
        cost = graph.sentences.cost
        found = {one: cost(one) for one in best_sentences(graph, frames, _FROM_LATTICE)}
        for sentence in list(found)[:_SWAPPED]:
            for other in neighbours(tuple(self._lexicon.words[number] for number in sentence)):
                numbers = tuple(self._lexicon.number(word) or 0 for word in other)
                if len(found) < _RESCORED and numbers not in found:
                    costs = cost(numbers)
                    if isfinite(costs):
                        found[numbers] = costs
        sentences = list(found)
        if not sentences:
            return ()
        sound = log_likelihoods(sentences, self._lexicon.ways, frames, self._model.blank)
        heard = [
            Alternative(
                text=" ".join(self._lexicon.words[number] for number in sentence),
                score=likelihood.whole - found[sentence],
                fit=(likelihood.best - ceiling) / phonemes,
                phonemes=phonemes,
            )
            for sentence, likelihood in zip(sentences, sound, strict=True)
            for phonemes in [self._phonemes(sentence)]
            if isfinite(likelihood.whole)
        ]
        return tuple(sorted(heard, key=lambda alternative: -alternative.score)[:_KEPT])

    def _phonemes(self, sentence: tuple[int, ...]) -> int:
        """Return how many phonemes a sentence has at least."""
        return sum(min(map(len, self._lexicon.ways[word])) for word in sentence)
