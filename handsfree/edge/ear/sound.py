"""What can be told of an utterance before it is recognised: repaired, how loud over the noise."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from handsfree.edge.ear.recogniser import Samples

__all__ = ["clipped_share", "repaired", "signal_to_noise"]

_FRAME = 320
_FULL_SCALE = 0.999
_SILENCE = 1e-10
_FLOOR = 0.1
_SPEECH = 0.9
_FEWEST_FRAMES = 10


def repaired(samples: Samples) -> Samples:
    """Return samples without not-a-numbers, without a constant offset, and within -1 to 1."""
    wave = np.nan_to_num(np.asarray(samples, dtype=np.float32), nan=0.0, posinf=1.0, neginf=-1.0)
    if not len(wave):
        return wave
    wave = np.clip(wave, -1.0, 1.0)
    return np.asarray(wave - wave.mean(), dtype=np.float32)


def clipped_share(samples: Samples) -> float:
    """Return the share of samples at full scale, 0 to 1."""
    if not len(samples):
        return 0.0
    return float(np.mean(np.abs(np.nan_to_num(samples, nan=0.0)) >= _FULL_SCALE))


def signal_to_noise(samples: Samples) -> float | None:
    """Return the speech level over the noise floor in decibels, of one utterance.

    The floor is the power that a tenth of the 20 ms frames stay below, the level the power that
    a tenth exceed. None where the utterance is too short, or its floor is digital silence.
    """
    frames = len(samples) // _FRAME
    if frames < _FEWEST_FRAMES:
        return None
    power = np.square(samples[: frames * _FRAME].reshape(frames, _FRAME)).mean(axis=1)
    floor, level = np.quantile(power, [_FLOOR, _SPEECH])
    if floor < _SILENCE:
        return None
    return float(10.0 * np.log10(max(level - floor, floor * 0.01) / floor))
