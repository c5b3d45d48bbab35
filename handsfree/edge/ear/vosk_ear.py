"""The other ear: Vosk with its small English model, for those who have fetched it.

Rules that the library needs: it takes the process down on a grammar that is empty or not a list of
sentences, so every grammar is checked first; given no path it goes to the network, so it always
gets one; it only logs a word that its model lacks, so each word is looked up; its list of sentences
is a bigram model and not a set, so what it hears is parsed like anything else that is heard.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from handsfree.dialogue.events import Alternative
from handsfree.edge.ear.recogniser import SAMPLE_RATE, Hearing
from handsfree.edge.ear.sound import clipped_share, repaired, signal_to_noise
from handsfree.errors import DeviceError
from handsfree.language.grammar import words as words_of

if TYPE_CHECKING:
    from handsfree.edge.ear.recogniser import Samples
    from handsfree.language.grammar import Grammar

__all__ = ["VoskEar", "find_model"]

_VARIABLE = "HANDSFREE_VOSK_MODEL"
_UNKNOWN = "[unk]"


class Binding(Protocol):
    """The two classes of the library that are used."""

    Model: Any
    KaldiRecognizer: Any


def find_model(models: Path) -> Path | None:
    """Return the folder of the model: the one that HANDSFREE_VOSK_MODEL names, or one in `models`.

    None where there is none. Raises `DeviceError` where the variable names what is not a model.
    """
    named = os.environ.get(_VARIABLE)
    if named:
        if not _is_model(Path(named)):
            raise DeviceError(
                f"{_VARIABLE} is {named}, which is not the folder of a Vosk model. "
                "Set it to the unpacked folder that holds 'am' and 'conf', or unset it."
            )
        return Path(named)
    if not models.is_dir():
        return None
    return next((folder for folder in sorted(models.iterdir()) if _is_model(folder)), None)


def _is_model(folder: Path) -> bool:
    return (folder / "am").is_dir() and (folder / "conf").is_dir()


def _library() -> Binding:
    try:
        import vosk  # noqa: PLC0415 - loads a large shared library
    except (ImportError, OSError) as error:
        raise DeviceError(
            "The Vosk library does not load on this machine. The built-in ear needs none: "
            f"unset {_VARIABLE} or take the model out of the models folder."
        ) from error
    vosk.SetLogLevel(-1)
    return vosk  # type: ignore[no-any-return]  # the module is untyped


class VoskEar:
    """Vosk on the words of the grammar of the moment."""

    def __init__(self, model: Path, library: Binding | None = None) -> None:
        """Load the model of a folder; raises `DeviceError` where it cannot be loaded."""
        self._library = library or _library()
        try:
            self._model = self._library.Model(model_path=str(model))
        except Exception as error:  # the library raises bare Exception
            raise DeviceError(
                f"The Vosk model in {model} does not load. Fetch it again."
            ) from error
        self._grammar: str | None = None

    def missing(self, words: Iterable[str]) -> list[str]:
        """Return the words that the model cannot hear, sorted."""
        return sorted(w for w in set(words) if self._model.vosk_model_find_word(w) < 0)

    def listen_for(self, grammar: Grammar) -> None:
        """Take the words of this grammar, and `[unk]` for all others."""
        words = words_of(grammar.start, grammar.rules)
        known = sorted(words - set(self.missing(words)))
        self._grammar = json.dumps([*known, _UNKNOWN]) if known else None

    def hear(self, samples: Samples) -> Hearing:
        """Return what was said in one utterance; the score is the mean confidence, as a logarithm.

        A word that Vosk did not know makes the whole utterance not for us.
        """
        wave = repaired(samples)
        text, confidence = self._recognise(wave) if self._grammar and len(wave) else ("", 0.0)
        heard = bool(text) and _UNKNOWN not in text.split()
        score = float(np.log(confidence)) if heard else 0.0
        return Hearing(
            alternatives=(Alternative(text, score, score),) if heard else (),
            signal_to_noise=signal_to_noise(wave),
            clipped=clipped_share(samples),
            duration=len(wave) / SAMPLE_RATE,
        )

    def _recognise(self, wave: Samples) -> tuple[str, float]:
        pcm = (np.clip(wave, -1.0, 1.0) * 32767.0).astype("<i2").tobytes()
        try:
            recogniser = self._library.KaldiRecognizer(self._model, SAMPLE_RATE, self._grammar)
            recogniser.SetWords(True)  # noqa: FBT003 - the library's signature
            recogniser.AcceptWaveform(pcm)
            result = json.loads(recogniser.FinalResult())
        except Exception as error:  # the library raises bare Exception
            raise DeviceError(
                "Vosk stopped while listening. Say it again, or start the program again."
            ) from error
        heard = result.get("result", [])
        confidences = [float(word["conf"]) for word in heard]
        if not confidences:
            return "", 0.0
        mean = max(float(np.mean(confidences)), 1e-6)
        return str(result.get("text", "")), mean
