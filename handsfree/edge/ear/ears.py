"""One ear, or two: the built-in one, and Vosk beside it where its model is at hand."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from handsfree.dialogue.events import Heard
from handsfree.edge.ear.builtin import BuiltInEar
from handsfree.edge.ear.recogniser import Recogniser, Spot, Watchful
from handsfree.edge.ear.vosk_ear import VoskEar, find_model
from handsfree.edge.stopwatch import StopWatch

if TYPE_CHECKING:
    from collections.abc import Callable

    from handsfree.edge.ear.recogniser import Samples
    from handsfree.language.grammar import Grammar

__all__ = ["MODELS", "Ears", "open_ears"]

MODELS = Path(__file__).resolve().parents[3] / "models"
"""Where `scripts/fetch_model` puts the second ear's model."""


class Ears:
    """Hears each utterance with every ear there is; the first one's evidence is weighed."""

    def __init__(self, first: Watchful, second: Recogniser | None = None) -> None:
        self._first, self._second = first, second
        self.stages: tuple[tuple[str, float], ...] = ()
        """What each stage of hearing the last utterance took, in seconds."""
        self.trace: Callable[[str], None] | None = None
        """Where that is told, one line an utterance; nowhere by default."""

    def listen_for(self, grammar: Grammar) -> None:
        """Take the sentences of this grammar from now on."""
        self._first.listen_for(grammar)
        if self._second is not None:
            self._second.listen_for(grammar)

    def spot(self, phrases: tuple[str, ...], samples: Samples) -> Spot | None:
        """Return which phrase fits best, wherever it lies in samples; see `Spotting`."""
        return self._first.spot(phrases, samples)

    def hear(self, samples: Samples, at: datetime) -> Heard:
        """Return the event of an utterance."""
        hearing = self._first.hear(samples)
        second: str | None = None
        watch = StopWatch()
        if self._second is not None and hearing.alternatives:
            other = self._second.hear(samples).alternatives
            second = other[0].text if other else None
            watch.lap("second ear")
        self.stages = (*hearing.stages, *watch.laps)
        return hearing.event(at, second)


def open_ears(models: Path = MODELS) -> Ears:
    """Return the ears of this machine; raises `DeviceError` where the built-in one fails."""
    folder = find_model(models)
    return Ears(BuiltInEar(), None if folder is None else VoskEar(folder))
