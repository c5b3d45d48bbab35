"""While we speak: our own voice is in the microphone, so only stop words are listened for.

What is said in that time is not taken for a request, and neither is what begins in it: half of it
would be missing. A device plays on for a while after the last sample was given to it, and a room
sounds on, so the time reaches a little further than our speaking does.
"""

from __future__ import annotations

from collections import OrderedDict, deque
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from handsfree.dialogue.events import Alternative
from handsfree.edge.ear import echo
from handsfree.edge.ear.recogniser import SAMPLE_RATE
from handsfree.edge.ear.sources import FileSource
from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from handsfree.edge.ear.recogniser import Samples, Spotting
    from handsfree.edge.ear.sources import Block
    from handsfree.library import Watch

__all__ = ["OwnVoice", "StopWords"]

_TAIL = round(0.3 * SAMPLE_RATE)
"""Samples after our last one in which we may still be heard."""
_WINDOW = round(1.2 * SAMPLE_RATE)
_STEP = round(0.3 * SAMPLE_RATE)
"""Samples that are looked at together, and how often: a stop word is whole in one of them."""
_CLIPS = 4
"""Clips of ours whose sound is kept at hand."""


class StopWords:
    """Finds a stop word in sound in which our own voice is, too."""

    def __init__(self, ear: Spotting, limits: Watch) -> None:
        self._ear, self._limits = ear, limits
        self._clips: OrderedDict[Path, Samples] = OrderedDict()

    def find(self, samples: Samples, clips: tuple[Path, ...]) -> Alternative | None:
        """Return the stop word in samples (float32, 16 kHz), None where there is none.

        `clips` are the sentences that were being played. They are taken out of the sound; and what
        is left counts only where it is more like the word than anything in those sentences is.
        """
        ours = [self._sound(clip) for clip in clips]
        for own in ours:
            samples = echo.without(own, samples)
        found = self._ear.spot(self._limits.words, samples)
        if found is None or found.fit < self._limits.fit:
            return None
        for own in ours:
            like = self._ear.spot((found.phrase,), own)
            if like is not None and found.fit < like.fit + self._limits.margin:
                return None
        return Alternative(found.phrase, fit=found.fit, phonemes=found.phonemes)

    def _sound(self, clip: Path) -> Samples:
        """Return the sound of a clip; nothing where it is gone already."""
        if clip not in self._clips:
            try:
                self._clips[clip] = np.concatenate(list(FileSource(clip)))
            except DeviceError:
                return np.empty(0, dtype=np.float32)
            if len(self._clips) > _CLIPS:
                self._clips.popitem(last=False)
        return self._clips[clip]


class OwnVoice:
    """Keeps our own voice from the ears, and looks for stop words in it."""

    def __init__(self, words: StopWords) -> None:
        self._words = words
        self._blocks: deque[Samples] = deque()
        self._kept, self._fresh, self._tail = 0, 0, 0
        self._said: tuple[Path, ...] = ()

    def covers(self, block: Block) -> bool:
        """Return whether our voice may be in a block; each block is asked about once, in order."""
        if block.own is not None:
            self._tail = _TAIL
            self._said = block.own
            return True
        self._tail = max(0, self._tail - len(block.samples))
        if not self._tail:
            self._forget()
        return self._tail > 0

    def heard(self, samples: Samples) -> Alternative | None:
        """Return the stop word that was said over our voice, once; None where there is none."""
        self._blocks.append(samples)
        self._kept += len(samples)
        self._fresh += len(samples)
        while self._kept - len(self._blocks[0]) >= _WINDOW:
            self._kept -= len(self._blocks.popleft())
        if self._fresh < _STEP:
            return None
        self._fresh = 0
        found = self._words.find(np.concatenate(tuple(self._blocks)), self._said)
        if found is not None:
            self._forget()
        return found

    def _forget(self) -> None:
        self._blocks.clear()
        self._kept, self._fresh = 0, 0
