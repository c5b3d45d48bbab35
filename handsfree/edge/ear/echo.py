"""Taking our own voice out of what the microphone hears of it.

What was played is known to the sample; what the loudspeaker, the room and the microphone make of it
is not, but over a second it is nearly the same filter. The filter that explains most of the sound
by what was played is found by least squares (the Wiener solution, as in any book on adaptive
filters), and what it explains is taken away. Who speaks over us is not explained by it, and stays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from handsfree.edge.ear.recogniser import Samples

__all__ = ["without"]

_TAPS = 320
"""Samples that the filter reaches (20 ms): the direct sound and the first reflections."""
_EARLY = 32
"""Samples by which it begins before the likeliest delay."""
_STEADY = 1e-3
"""Share of the power added to the diagonal, so that what was never played is not guessed."""


def without(own: Samples, sound: Samples) -> Samples:
    """Return sound (float32, 16 kHz) less what of it was played: `own`, at any one delay."""
    if len(own) < _TAPS or len(sound) < _TAPS or not np.any(own):
        return sound
    size = 1 << (len(own) + len(sound) - 1).bit_length()
    played, taken = np.fft.rfft(own, size), np.fft.rfft(sound, size)
    cross = np.fft.irfft(taken * np.conj(played), size)
    # where in the sound the first sample of `own` would lie; it may lie before its beginning
    delay = int(np.argmax(np.abs(cross)))
    delay = delay - size if delay > size // 2 else delay
    piece = _stretch(own, delay - _EARLY, len(sound))
    filter_ = _wiener(piece, sound)
    explained = np.convolve(piece, filter_)[: len(sound)]
    return np.asarray(sound - explained, dtype=np.float32)


def _stretch(own: Samples, delay: int, length: int) -> NDArray[np.float64]:
    """Return what was played in so many samples, the first of `own` at `delay`."""
    found = np.zeros(length)
    start, end = max(0, delay), min(length, delay + len(own))
    if start < end:
        found[start:end] = own[start - delay : end - delay]
    return found


def _wiener(played: NDArray[np.float64], taken: Samples) -> NDArray[np.float64]:
    """Return the filter of `_TAPS` that makes most of `taken` out of `played`."""
    size = 1 << (len(played) + _TAPS).bit_length()
    spectrum = np.fft.rfft(played, size)
    own = np.fft.irfft(np.abs(spectrum) ** 2, size)[:_TAPS]
    cross = np.fft.irfft(np.fft.rfft(taken, size) * np.conj(spectrum), size)[:_TAPS]
    if own[0] <= 0:
        return np.zeros(_TAPS)
    own[0] *= 1 + _STEADY
    lags = np.abs(np.subtract.outer(np.arange(_TAPS), np.arange(_TAPS)))
    return np.asarray(np.linalg.solve(own[lags], cross))
