"""Fitting the ears to a person and a microphone, from ten sentences that they read.

What is kept is a handful of figures; the sound is let go as soon as it is measured.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from handsfree.edge.ear.endpoint import Endpointer
from handsfree.edge.ear.recogniser import SAMPLE_RATE
from handsfree.edge.ear.room import decibels, loud_parts
from handsfree.edge.ear.sound import clipped_share
from handsfree.language.grammar import Grammar, Sequence, Word
from handsfree.language.tokens import tokenise

if TYPE_CHECKING:
    from handsfree.edge.ear.recogniser import Recogniser, Samples
    from handsfree.library import Enrolment, Hearing

__all__ = ["Profile", "Take", "first_utterance", "measured", "proposed"]

PATIENCE = 15.0
"""Seconds of sound in which a sentence must have been read."""
_LOW_SHARE = 0.1
"""Share of a person's sentences that may fit worse than what is believed of them."""
_SLACK = 0.1
"""Nats a phoneme between the worst of those and the limit: another day is another voice."""


@dataclass(frozen=True, slots=True)
class Take:
    """One sentence as it was read: levels in decibels of full scale, its fit, and what was heard.

    `floor` is None where the room was not heard before it; `fit` is None where the sentence cannot
    be found in the sound at all.
    """

    prompt: str
    level: float
    peak: float
    floor: float | None
    clipped: float
    fit: float | None
    heard: str

    @property
    def right(self) -> bool:
        """Whether just this sentence was heard."""
        return tokenise(self.heard) == tokenise(self.prompt)


@dataclass(frozen=True, slots=True)
class Profile:
    """What is kept of a person and a microphone: gain in decibels, and the least fit believed."""

    gain: float = 0.0
    fit: float | None = None


def first_utterance(blocks: Iterable[Samples]) -> tuple[Samples | None, float | None]:
    """Return the first utterance of a stream, and the noise before it in decibels of full scale.

    Nothing is found in a stream that ends, or goes on for `PATIENCE` seconds without speech.
    """
    endpointer, before, waited = Endpointer(), [], 0
    for block in blocks:
        waited += len(block)
        if not endpointer.speaking:
            before.append(float(np.var(np.nan_to_num(block))))
        for samples in endpointer.feed(block):
            return samples, _floor(before)
        if waited > PATIENCE * SAMPLE_RATE and not endpointer.speaking:
            return None, _floor(before)
    for samples in endpointer.finish():
        return samples, _floor(before)
    return None, _floor(before)


def _floor(powers: list[float]) -> float | None:
    return decibels(float(np.median(powers))) if powers else None


def measured(
    prompt: str, samples: Samples, floor: float | None, ear: Recogniser, grammar: Grammar
) -> Take:
    """Return how a sentence was read and heard; `grammar` is all that may be said at rest."""
    ear.listen_for(grammar)
    found = ear.hear(samples).alternatives
    ear.listen_for(Grammar(Sequence(tuple(Word(word) for word in tokenise(prompt))), grammar.rules))
    alone = ear.hear(samples).alternatives
    return Take(
        prompt=prompt,
        level=loud_parts(samples),
        peak=decibels(float(np.square(samples).max(initial=0.0))),
        floor=floor,
        clipped=clipped_share(samples),
        fit=alone[0].fit if alone else None,
        heard=found[0].text if found else "",
    )


def proposed(takes: Iterable[Take], limits: Enrolment, hearing: Hearing) -> Profile | None:
    """Return what fits this person and microphone; None where too little was heard to tell."""
    takes = tuple(takes)
    right = [take for take in takes if take.right and take.fit is not None]
    if len(right) < limits.enough:
        return None
    gain = limits.level - float(np.median([take.level for take in right]))
    headroom = limits.peak - max(take.peak for take in right)
    gain = min(max(min(gain, headroom), -limits.most), limits.most)
    fits = [take.fit for take in right if take.fit is not None]
    low = float(np.quantile(fits, _LOW_SHARE)) - _SLACK
    fit = max(min(hearing.fit, low), limits.lowest)
    return Profile(round(gain, 1), round(fit, 2))
