"""Playing a clip so that it can be stopped: through PortAudio, or the system's own player."""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any, Protocol

from handsfree.edge import portaudio
from handsfree.edge.voice import clips
from handsfree.errors import DeviceError

_POLL = 0.02
_GRACE = 3.0
"""Seconds that a clip may take beyond its length before its device counts as stuck."""
_NONE = "No loudspeaker here. Plug one in or use --save-voice DIR."
_FAILED = "The loudspeaker stopped working. Look at its plug and its power."


class Player(Protocol):
    """Plays clips."""

    def play(self, path: Path, stopped: Callable[[], bool]) -> bool:
        """Play until the end (true) or until `stopped` (false); raises `DeviceError`."""


class PortAudioPlayer:
    """Plays through the sound device that PortAudio finds, at the clip's rate or at its own."""

    def __init__(self) -> None:
        """Find the device; raises `DeviceError` where there is none."""
        try:
            portaudio.look_again()
            self._sound: Any = portaudio.library()
            self._own_rate = self._sound.query_devices(None, "output")["default_samplerate"]
        except Exception as error:  # PortAudioError has no base that says what it is
            raise DeviceError(_NONE) from error

    def play(self, path: Path, stopped: Callable[[], bool]) -> bool:
        """Play a clip; see `Player`."""
        import soundfile  # noqa: PLC0415 - only when something is played

        try:
            samples, rate = soundfile.read(path, dtype="float32")
            if not self._takes(rate):
                import soxr  # noqa: PLC0415 - only for a device that does not take the clip's rate

                samples, rate = soxr.resample(samples, rate, self._own_rate), self._own_rate
            with portaudio.in_use(), self._stream(samples, rate) as stream:
                # stop() would play on what the device has taken already, and abort() does not
                return _watch(lambda: stream.active, stream.abort, len(samples) / rate, stopped)
        except DeviceError:
            raise
        except Exception as error:  # as above
            raise DeviceError(_FAILED) from error

    def _takes(self, rate: float) -> bool:
        try:
            self._sound.check_output_settings(channels=1, samplerate=rate, dtype="float32")
        except (self._sound.PortAudioError, ValueError):
            return False
        return True

    def _stream(self, samples: Any, rate: float) -> Any:
        """Return a stream that plays these samples, and then ends.

        A device that runs dry for a moment takes up where it was: nothing is left out.
        """
        taken = 0

        def more(out: Any, frames: int, when: object, status: object) -> None:
            nonlocal taken
            del when, status
            piece = samples[taken : taken + frames]
            taken += frames
            out[: len(piece), 0] = piece
            out[len(piece) :] = 0
            if len(piece) < frames:
                raise self._sound.CallbackStop

        return self._sound.OutputStream(samplerate=rate, channels=1, dtype="float32", callback=more)


class CommandPlayer:
    """Plays with the system's own command: aplay on Linux, afplay on macOS."""

    def __init__(self, *options: str) -> None:
        """Find the command; raises `DeviceError` where there is none."""
        name = "afplay" if sys.platform == "darwin" else "aplay"
        found = shutil.which(name)
        if found is None:
            raise DeviceError(_NONE)
        quiet = ["-q"] if name == "aplay" else []
        self._command = [found, *quiet, *options]

    def play(self, path: Path, stopped: Callable[[], bool]) -> bool:
        """Play a clip; see `Player`."""
        try:
            length = clips.seconds(path)
            process = subprocess.Popen(  # noqa: S603 - a fixed command and our own file
                [*self._command, str(path)],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        except (OSError, EOFError, wave.Error) as error:
            raise DeviceError(_FAILED) from error
        with process:
            # the device falls silent when the process that feeds it is gone
            whole = _watch(lambda: process.poll() is None, process.kill, length, stopped)
        if whole and process.returncode:
            raise DeviceError(_NONE)
        return whole


def _watch(
    plays: Callable[[], bool],
    silence: Callable[[], object],
    length: float,
    stopped: Callable[[], bool],
) -> bool:
    """Return whether a clip of so many seconds played to its end; raises `DeviceError`."""
    until = time.monotonic() + length + _GRACE
    while plays():
        if stopped():
            silence()
            return False
        if time.monotonic() > until:
            silence()
            raise DeviceError(_FAILED)
        time.sleep(_POLL)
    return True
