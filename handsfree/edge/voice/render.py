"""Sentences to clips, by the rendering process, which is watched and started again."""

from __future__ import annotations

import contextlib
import json
import queue
import re
import subprocess
import sys
import threading
import wave
from pathlib import Path
from typing import IO, TYPE_CHECKING

from handsfree.dialogue.manner import VOLUME
from handsfree.edge.voice import clips
from handsfree.errors import DeviceError
from handsfree.language.pacing import spelled

if TYPE_CHECKING:
    from handsfree.library import Earcon

NORMAL_RATE = 160
"""Words a minute (Human Factors 30(6), 1988: 150 to 180 words beat 250)."""
RATE_STEP = 1.15
"""How much faster a step is: three of them reach 105 and 243 words a minute."""
VOLUME_STEP = 3.0
"""Decibels of a step; the loudest is the engine's full volume, the usual one is a step below."""
START_PATIENCE = 10.0
"""Seconds that a new process may take to be ready; it takes 0.1 s from memory."""
PATIENCE = 0.7
PATIENCE_FOR_A_LETTER = 0.002
"""Seconds after which a sentence counts as a hang; measured are 0.01 s and 0.0001 s a letter."""
SECONDS_FOR_A_LETTER = 0.15
"""Room that a sentence may need as sound; measured are 0.08 at the normal rate."""
TRIES = 3
_LONGER = 3.0
"""Each further try may take so much longer, since the machine may only be busy."""
_LONGEST_TEXT = 2_000
"""Letters of a sentence that are said: over two minutes of speech."""
_SAYABLE = re.compile("[A-Za-z0-9]")
"""What every engine has sound for: a clip of it that is empty was lost, and is made again."""
_WORKER = Path(__file__).with_name("worker.py")
_NO_VOICE = "No voice: the speech engine does not answer. Install espeak-ng."


class _Process:
    """One rendering process, and the thread that collects its answers."""

    def __init__(self) -> None:
        # -P: the modules beside it are not to be taken for others of their names
        self._process = subprocess.Popen(  # noqa: S603 - our own program, no shell
            [sys.executable, "-P", str(_WORKER)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            encoding="utf-8",
        )
        self._answers: queue.Queue[str | None] = queue.Queue()
        self._thread = threading.Thread(target=self._collect, daemon=True)
        self._thread.start()

    @property
    def id(self) -> int:
        return self._process.pid

    def _collect(self) -> None:
        for line in _pipe(self._process.stdout):
            self._answers.put(line)
        self._answers.put(None)

    def answer(self, patience: float) -> bool:
        """Return whether an answer came in time; a process that ends gives none."""
        try:
            return self._answers.get(timeout=patience) is not None
        except queue.Empty:
            return False

    def ask(self, request: dict[str, object]) -> None:
        """Hand over a sentence; raises `OSError` where the process has ended."""
        pipe = _pipe(self._process.stdin)
        pipe.write(json.dumps(request) + "\n")
        pipe.flush()

    def kill(self) -> None:
        self._process.kill()

    def end(self) -> None:
        self._process.kill()
        self._process.wait()
        self._thread.join()
        for pipe in (self._process.stdin, self._process.stdout):
            with contextlib.suppress(OSError):
                _pipe(pipe).close()


def _pipe(pipe: IO[str] | None) -> IO[str]:
    if pipe is None:
        raise ValueError("this process was started without a pipe")
    return pipe


class Renderer:
    """Renders sentences; one warm process, replaced when it dies or hangs.

    `rate` is in words a minute, `volume` from 0 to 1; both may be changed between sentences.
    """

    def __init__(self) -> None:
        """Start the process; raises `DeviceError` where no speech engine can be started."""
        self.speak_as(0, 0)
        self._count = 0
        self._lock = threading.Lock()
        self._process: _Process | None = None
        self._closed = False
        try:
            self._folder = clips.folder()
        except OSError as error:
            raise DeviceError(f"No voice: {error.strerror} for temporary files.") from error
        try:
            self.render("ready").unlink()
        except DeviceError:
            self.close()
            raise

    def speak_as(self, rate: int, volume: int) -> None:
        """Speak so many steps faster and louder than usual, from the next sentence on."""
        self.rate = round(NORMAL_RATE * RATE_STEP**rate)
        self.volume = 10 ** (VOLUME_STEP * (volume - VOLUME.highest) / 20)

    @property
    def process(self) -> int | None:
        """Return the number of the process at work, or None."""
        return self._process.id if self._process is not None else None

    def render(self, text: str) -> Path:
        """Return a new clip of a sentence; raises `DeviceError` where three tries fail.

        What cannot be said becomes a short silence. The caller removes the clip.
        """
        text = "".join(char if char.isprintable() else " " for char in text[:_LONGEST_TEXT])
        text = spelled(text).strip()
        with self._lock:
            self._count += 1
            path = Path(self._folder.name) / f"{self._count:06d}.wav"
            try:
                self._render(text, path)
                return path if clips.seconds(path) > 0 else clips.silence(path)
            except OSError as error:
                path.unlink(missing_ok=True)
                raise self._no_room(path, error) from error
            except (EOFError, wave.Error) as error:
                raise DeviceError(_NO_VOICE) from error

    def sound(self, earcon: Earcon) -> Path:
        """Return a new clip of a sound that is no word; raises `DeviceError`."""
        from handsfree.edge.voice import earcons  # noqa: PLC0415 - loads numpy

        with self._lock:
            self._count += 1
            path = Path(self._folder.name) / f"{self._count:06d}.wav"
            try:
                return earcons.write(path, earcon, self.volume)
            except OSError as error:
                raise self._no_room(path, error) from error

    @staticmethod
    def _no_room(path: Path, error: OSError) -> DeviceError:
        folder = path.parent.parent
        return DeviceError(
            f"No voice: {folder} takes no sound ({error.strerror}). Make room there."
        )

    def _render(self, text: str, path: Path) -> None:
        if not text:
            clips.silence(path)
            return
        patience = PATIENCE + PATIENCE_FOR_A_LETTER * len(text)
        for _ in range(TRIES):
            said = self._try(text, path, patience)
            if said and (clips.seconds(path) > 0 or not _SAYABLE.search(text)):
                return
            self._end()
            # raises where it is the folder that fails, and not the engine
            clips.silence(path, SECONDS_FOR_A_LETTER * len(text)).unlink()
            patience *= _LONGER
        raise DeviceError(_NO_VOICE)

    def _try(self, text: str, path: Path, patience: float) -> bool:
        process = self._running()
        if process is None:
            return False
        request = {"text": text, "path": str(path), "rate": self.rate, "volume": self.volume}
        try:
            process.ask(request)
        except OSError:
            return False
        return process.answer(patience)

    def _running(self) -> _Process | None:
        """Return the process, a new one if need be, or None where it does not get ready."""
        if self._closed:
            return None
        if self._process is None:
            try:
                self._process = _Process()
            except OSError:
                return None
            if not self._process.answer(START_PATIENCE):
                return None
        return self._process

    def _end(self) -> None:
        if self._process is not None:
            self._process.end()
        self._process = None

    def close(self) -> None:
        """Stop the process and remove its files; a sentence that is being rendered fails."""
        self._closed = True
        process = self._process
        if process is not None:
            process.kill()
        with self._lock:
            self._end()
            with contextlib.suppress(OSError):
                self._folder.cleanup()
