"""Playing a clip so that it can be stopped: through PortAudio, or the system's own player."""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
import wave
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from handsfree.errors import DeviceError

_POLL = 0.02
_NONE = "No loudspeaker here. Plug one in or use --save-voice DIR."


class Player(Protocol):
    """Plays a WAV file."""

    def play(self, path: Path, stopped: Callable[[], bool]) -> bool:
        """Play until the end (true) or until `stopped` (false); raises `DeviceError`."""


class PortAudioPlayer:
    """Plays through the sound device that PortAudio finds."""

    def __init__(self) -> None:
        """Find the device; raises `DeviceError` where there is none."""
        try:
            import sounddevice  # noqa: PLC0415 - raises OSError without PortAudio

            sounddevice.query_devices(kind="output")
        except (OSError, ValueError) as error:
            raise DeviceError(_NONE) from error
        except Exception as error:  # PortAudioError is no subclass of anything useful
            raise DeviceError(_NONE) from error
        self._device = sounddevice

    def play(self, path: Path, stopped: Callable[[], bool]) -> bool:
        """Play a clip; see `Player`."""
        import soundfile  # noqa: PLC0415 - only when something is played

        samples, rate = soundfile.read(path, dtype="float32")
        try:
            self._device.play(samples, rate)
            until = time.monotonic() + len(samples) / rate
            while time.monotonic() < until:
                if stopped():
                    self._device.stop()
                    return False
                time.sleep(_POLL)
            self._device.wait()
        except Exception as error:
            raise DeviceError("The loudspeaker stopped working. I print what I say.") from error
        return True


class CommandPlayer:
    """Plays with the system's own command: aplay on Linux, afplay on macOS."""

    def __init__(self, *options: str) -> None:
        """Find the command; raises `DeviceError` where there is none or no device answers it."""
        name = "afplay" if sys.platform == "darwin" else "aplay"
        found = shutil.which(name)
        if found is None:
            raise DeviceError(_NONE)
        self._command = [found, *(("-q",) if name == "aplay" else ()), *options]

    def play(self, path: Path, stopped: Callable[[], bool]) -> bool:
        """Play a clip; see `Player`."""
        process = subprocess.Popen(  # noqa: S603 - a fixed command and our own file
            [*self._command, str(path)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        while process.poll() is None:
            if stopped():
                process.terminate()
                process.wait()
                return False
            time.sleep(_POLL)
        if process.returncode:
            raise DeviceError(_NONE)
        return True


def seconds(path: Path) -> float:
    """Return how long a WAV file plays."""
    with wave.open(str(path), "rb") as clip:
        return clip.getnframes() / clip.getframerate()
