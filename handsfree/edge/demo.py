"""The demo's recordings: shipped as text, spoken here by the voice, heard by the ears."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from handsfree.edge.ear.recogniser import SAMPLE_RATE
from handsfree.edge.ear.sources import BLOCK, FileSource

if TYPE_CHECKING:
    from handsfree.edge.ear.recogniser import Samples
    from handsfree.edge.voice.render import Renderer

SILENCE = 1.5
"""Seconds of silence before and after a sentence: longer than the pause that ends speech."""


def recording(text: str, renderer: Renderer) -> Iterator[Samples]:
    """Yield a sentence as it would come from a microphone; raises `DeviceError` without a voice."""
    quiet = np.zeros(BLOCK, dtype=np.float32)
    count = round(SILENCE * SAMPLE_RATE / BLOCK)
    clip = renderer.render(text)
    try:
        yield from (quiet for _ in range(count))
        yield from FileSource(clip)
        yield from (quiet for _ in range(count))
    finally:
        clip.unlink(missing_ok=True)
