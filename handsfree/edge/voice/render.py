"""Sentences to WAV files, by the rendering process, which is watched and started again."""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import tempfile
import threading
import time
import wave
from pathlib import Path

from handsfree.errors import DeviceError

PATIENCE = 3.0
"""Seconds after which a sentence that is not rendered counts as a hang; most take 0.02 s."""
TRIES = 2
NORMAL_RATE = 160
"""Words a minute (Human Factors 30(6), 1988: 150 to 180 words beat 250)."""
_LONGEST_TEXT = 2_000
_POLL = 0.005


class Renderer:
    """Renders sentences; one warm process, replaced when it dies or hangs."""

    def __init__(self, rate: int = NORMAL_RATE, volume: float = 1.0) -> None:
        """Start the process; raises `DeviceError` where no speech engine can be started."""
        self.rate, self.volume = rate, volume
        self._folder = tempfile.TemporaryDirectory(prefix="handsfree-voice-")
        self._count = 0
        self._lock = threading.Lock()
        self._process: subprocess.Popen[str] | None = None
        self._answers: list[str] = []
        try:
            self.render("ready")
        except DeviceError:
            self.close()
            raise

    def render(self, text: str) -> Path:
        """Return a WAV file of the sentence; raises `DeviceError` where that fails twice."""
        with self._lock:
            for _ in range(TRIES):
                self._count += 1
                path = Path(self._folder.name) / f"{self._count:06d}.wav"
                if self._try(text[:_LONGEST_TEXT], path):
                    return path
                self._stop()
        raise DeviceError("No voice: the speech engine does not answer. Install espeak-ng.")

    def _try(self, text: str, path: Path) -> bool:
        process = self._running()
        request = {"text": text, "path": str(path), "rate": self.rate, "volume": self.volume}
        seen = len(self._answers)
        try:
            assert process.stdin is not None  # noqa: S101 - opened as a pipe
            process.stdin.write(json.dumps(request) + "\n")
            process.stdin.flush()
        except OSError:
            return False
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            if len(self._answers) > seen:
                return _whole(path)
            if process.poll() is not None:
                return False
            time.sleep(_POLL)
        return False

    def _running(self) -> subprocess.Popen[str]:
        if self._process is None or self._process.poll() is not None:
            self._stop()
            self._process = subprocess.Popen(
                [sys.executable, "-m", "handsfree.edge.voice.worker"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
            )
            self._answers = []
            thread = threading.Thread(
                target=self._collect, args=(self._process, self._answers), daemon=True
            )
            thread.start()
        return self._process

    @staticmethod
    def _collect(process: subprocess.Popen[str], answers: list[str]) -> None:
        assert process.stdout is not None  # noqa: S101 - opened as a pipe
        with contextlib.suppress(ValueError):
            answers.extend(process.stdout)

    def _stop(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe is not None:
                    with contextlib.suppress(OSError):
                        pipe.close()
        self._process = None

    def close(self) -> None:
        """Stop the process and remove its files."""
        self._stop()
        with contextlib.suppress(OSError):
            self._folder.cleanup()


def _whole(path: Path) -> bool:
    """Return whether the file holds sound: the engine can report success for nothing."""
    try:
        with wave.open(str(path), "rb") as clip:
            return clip.getnframes() > 0
    except (OSError, EOFError, wave.Error):
        return False
