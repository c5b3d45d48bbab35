"""The acoustic pass: sound to log-probabilities of phonemes, one row every 20 ms."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from handsfree.edge.ear.recogniser import Samples

__all__ = ["BLANK", "AcousticModel"]

BLANK = "<blank>"
_WORD_BREAK = "<wb>"
_SHORTEST = 400
"""Samples below which the model gives no frame (one analysis window of 25 ms)."""
_LOWEST = -30.0


class AcousticModel:
    """The phoneme model that the `hama` wheel carries.

    `tokens` maps each of its phonemes to its column. The model's own mark for a break between
    words is counted with the blank: it is often late or missing, so a pronunciation may not
    depend on it.
    """

    def __init__(self) -> None:
        try:
            import hama  # noqa: PLC0415 - loading it costs time that other commands need not pay

            self._model = hama.ASRModel()
        except (ImportError, OSError, RuntimeError) as error:
            raise DeviceError(
                "The built-in recogniser does not start on this machine. "
                "Install the package again, or use: handsfree chat."
            ) from error
        names = self._model.decoder_tokens
        self.tokens: Mapping[str, int] = {name: index for index, name in enumerate(names)}
        self.blank = self.tokens[BLANK]
        self._word_break = self.tokens[_WORD_BREAK]

    def log_probabilities(self, samples: Samples) -> NDArray[np.float32]:
        """Return log-probabilities (frames, tokens) of a mono 16 kHz utterance."""
        if len(samples) < _SHORTEST:
            return np.empty((0, len(self.tokens)), dtype=np.float32)
        wave = np.ascontiguousarray(samples, dtype=np.float32).reshape(1, -1)
        length = np.array([wave.shape[1]], dtype=np.int64)
        found, frames = self._model.session.run(
            ["log_probs", "out_lengths"], {"waveform": wave, "waveform_lengths": length}
        )
        result: NDArray[np.float32] = np.maximum(found[0][: int(frames[0])], _LOWEST)
        result[:, self.blank] = np.logaddexp(result[:, self.blank], result[:, self._word_break])
        result[:, self._word_break] = _LOWEST
        return result
