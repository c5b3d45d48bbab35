"""The room: its noise, measured in the pauses, and whether speech stands out of it."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

import numpy as np

from handsfree.dialogue.events import Clipped, RoomChanged
from handsfree.edge.ear.recogniser import SAMPLE_RATE

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from handsfree.edge.ear.recogniser import Samples
    from handsfree.library import Room as Limits

__all__ = ["Room", "decibels", "loud_parts"]

_PIECE = SAMPLE_RATE // 4
_PIECES = 80
"""The floor is looked for in the last twenty seconds of pauses, a quarter of a second at a time."""
_FRAME = SAMPLE_RATE // 50
_SPEECH = 0.9
"""The level of speech is what a tenth of its frames of 20 ms exceed."""
_SILENT = 1e-9


def decibels(power: float) -> float:
    """Return a mean power (full scale is 1) in decibels below full scale."""
    return float(10 * np.log10(max(power, _SILENT)))


def loud_parts(samples: Samples) -> float:
    """Return the level of the loud parts of an utterance in decibels of full scale."""
    frames = len(samples) // _FRAME
    if not frames:
        return decibels(0.0)
    pieces = np.nan_to_num(samples[: frames * _FRAME]).reshape(frames, _FRAME)
    return decibels(float(np.quantile(np.var(pieces, axis=1), _SPEECH)))


class Room:
    """Measures one room: fed with every block that is not our own voice."""

    def __init__(self, limits: Limits) -> None:
        self._limits = limits
        self._pauses: deque[float] = deque(maxlen=_PIECES)
        self._piece: list[Samples] = []
        self._waiting = 0
        self._in_a_row = 0
        self._loud = False
        self._clipped = False

    @property
    def floor(self) -> float | None:
        """The noise between utterances in decibels of full scale; None before the first second."""
        return (
            float(np.median(self._pauses)) if len(self._pauses) >= SAMPLE_RATE // _PIECE else None
        )

    def pause(self, block: Samples) -> None:
        """Take in a block in which nobody speaks."""
        self._piece.append(block)
        self._waiting += len(block)
        if self._waiting >= _PIECE:
            sound = np.nan_to_num(np.concatenate(self._piece))
            self._pauses.append(decibels(float(np.var(sound))))
            self._piece, self._waiting = [], 0

    def utterance(
        self, samples: Samples, clipped: float, at: datetime
    ) -> Iterator[Clipped | RoomChanged]:
        """Yield what there is to tell after an utterance: at most once for each change."""
        too_near = clipped >= self._limits.clipped
        if too_near and not self._clipped:
            yield Clipped(at)
        self._clipped = too_near
        over = self.over(samples)
        if over is None:
            return
        changes = over >= self._limits.calm if self._loud else over < self._limits.loud
        self._in_a_row = self._in_a_row + 1 if changes else 0
        if self._in_a_row >= self._limits.utterances:
            self._in_a_row, self._loud = 0, not self._loud
            yield RoomChanged(self._loud, at)

    def over(self, samples: Samples) -> float | None:
        """Return by how many decibels an utterance stands out of the room; None where unknown."""
        if self.floor is None or len(samples) < _FRAME:
            return None
        return loud_parts(samples) - self.floor
