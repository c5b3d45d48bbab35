"""Clips: mono 16-bit WAV files, the one form in which sound goes to a player."""

from __future__ import annotations

import io
import os
import tempfile
import wave
from pathlib import Path

RATE = 22_050
"""Samples a second of the clips that we make ourselves; speech comes at its engine's own rate."""

SILENCE = 0.05
"""Seconds of a clip in which nothing is said."""

MEMORY = Path("/dev/shm")  # noqa: S108 - it gets a folder of its own  # nosec B108
"""Where Linux keeps files in memory."""


def folder() -> tempfile.TemporaryDirectory[str]:
    """Return a new folder for clips; raises `OSError`.

    It is in memory where that can be had: a full disk must still be told aloud.
    """
    chosen = not os.environ.get("TMPDIR") and os.access(MEMORY, os.W_OK | os.X_OK)
    return tempfile.TemporaryDirectory(prefix="handsfree-voice-", dir=MEMORY if chosen else None)


def write(path: Path, samples: bytes) -> Path:
    """Return a new clip of little-endian 16-bit samples; raises `OSError`."""
    whole = io.BytesIO()  # since a file that fails makes the module complain twice
    with wave.open(whole, "wb") as clip:
        clip.setnchannels(1)
        clip.setsampwidth(2)
        clip.setframerate(RATE)
        clip.writeframes(samples)
    path.write_bytes(whole.getvalue())
    return path


def silence(path: Path, seconds: float = SILENCE) -> Path:
    """Return a new clip in which nothing is said; raises `OSError`."""
    return write(path, bytes(2 * round(seconds * RATE)))


def seconds(path: Path) -> float:
    """Return how long a clip plays; raises `OSError`, `EOFError` or `wave.Error` if it is none."""
    with wave.open(str(path), "rb") as clip:
        return clip.getnframes() / clip.getframerate()
