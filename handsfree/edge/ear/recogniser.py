"""What an ear is, and what it hears."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from handsfree.dialogue.events import Alternative, Heard

if TYPE_CHECKING:
    from datetime import datetime

    import numpy as np
    from numpy.typing import NDArray

    from handsfree.language.grammar import Grammar

    Samples = NDArray[np.float32]

__all__ = ["SAMPLE_RATE", "Hearing", "Recogniser", "Spot", "Spotting", "Watchful"]

SAMPLE_RATE = 16_000
"""Samples a second of all sound in this package: one channel, float32 from -1 to 1."""


@dataclass(frozen=True, slots=True)
class Hearing:
    """What an ear made of one utterance.

    `alternatives` stand best first, scores in nats; empty when nothing of the grammar was heard.
    `signal_to_noise` is in decibels, None where it cannot be told.
    `clipped` is the share of samples at full scale, `duration` the length in seconds, `stages` what
    each stage of hearing it took, in seconds.
    """

    alternatives: tuple[Alternative, ...]
    signal_to_noise: float | None
    clipped: float
    duration: float
    stages: tuple[tuple[str, float], ...] = ()

    def event(self, at: datetime, second: str | None = None) -> Heard:
        """Return the event for the dialogue; `second` is what another ear heard."""
        return Heard(
            alternatives=self.alternatives,
            at=at,
            duration=self.duration,
            signal_to_noise=self.signal_to_noise,
            second=second,
        )


class Recogniser(Protocol):
    """An ear: told what may be said, it says which of it was."""

    def listen_for(self, grammar: Grammar) -> None:
        """Take the sentences of this grammar, and no others, from now on."""

    def hear(self, samples: Samples) -> Hearing:
        """Return what was said in one utterance (float32, mono, 16 kHz)."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A phrase that was found, its fit in nats a phoneme, and how many phonemes it has."""

    phrase: str
    fit: float
    phonemes: int


class Spotting(Protocol):
    """What finds a few words in the middle of other sound."""

    def spot(self, phrases: tuple[str, ...], samples: Samples) -> Spot | None:
        """Return which phrase fits best, wherever it lies; None without sound or phrases."""


class Watchful(Recogniser, Spotting, Protocol):
    """An ear that does both."""
