"""The three sounds that are no words: made from their tones when they are played."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from handsfree.edge.voice import clips

if TYPE_CHECKING:
    from handsfree.library import Earcon

__all__ = ["write"]

_LOUD = 0.5
"""Amplitude at full volume: about that of the loudest speech."""
_FADE = 0.005
"""Seconds in which a tone comes and goes: a hard edge is a click."""


def write(path: Path, earcon: Earcon, volume: float) -> Path:
    """Return a new clip of a sound at a volume from 0 to 1; raises `OSError`."""
    pieces = []
    for hertz, seconds in earcon.tones * earcon.times:
        time = np.arange(round(seconds * clips.RATE)) / clips.RATE
        edge = np.minimum(1.0, np.minimum(time, time[::-1]) / _FADE)
        pieces.append(_LOUD * volume * edge * np.sin(2 * np.pi * hertz * time))
    samples = np.round(np.concatenate(pieces) * np.iinfo(np.int16).max).astype("<i2")
    return clips.write(path, samples.tobytes())
