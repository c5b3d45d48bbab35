"""Where sound comes from: blocks of float32, mono, 16 kHz, about 32 ms each.

A source is an iterable of blocks. It ends where its file or stream ends; a microphone ends when it
is closed. `DeviceError` says in one or two sentences what to do.
"""

from __future__ import annotations

import queue
import time
from collections.abc import Iterator
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, Self

import numpy as np

from handsfree.edge.ear.recogniser import SAMPLE_RATE
from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from types import TracebackType

    from handsfree.edge.ear.recogniser import Samples

__all__ = ["FileSource", "Microphone", "PcmSource"]

BLOCK = 512
_WAITING = 200
"""Blocks that a busy listener may fall behind (about six seconds)."""
_SILENT_FOR = 3.0
"""Seconds without a block after which the microphone counts as gone."""
_NO_MICROPHONE = (
    "Plug one in or choose another in the system's sound settings, or use: handsfree chat."
)


class FileSource:
    """A WAV or FLAC file, as if it were being said now.

    Any sample rate and any number of channels; with `real_time` the blocks come at the pace of
    speech, otherwise as fast as they are taken.
    """

    def __init__(self, path: Path, *, real_time: bool = False) -> None:
        self.path, self.real_time = path, real_time

    def __iter__(self) -> Iterator[Samples]:
        """Yield the blocks; raises `DeviceError` for a file that is missing, broken or empty."""
        samples = self._read()
        began = time.monotonic()
        for start in range(0, len(samples), BLOCK):
            if self.real_time:
                due = began + (start + BLOCK) / SAMPLE_RATE
                time.sleep(max(0.0, due - time.monotonic()))
            yield samples[start : start + BLOCK]

    def _read(self) -> Samples:
        import soundfile  # noqa: PLC0415 - needs a shared library that may be missing

        if not self.path.is_file():
            raise DeviceError(f"There is no file {self.path}. Check the name.")
        try:
            samples, rate = soundfile.read(self.path, dtype="float32", always_2d=True)
        except (soundfile.LibsndfileError, OSError, RuntimeError) as error:
            raise DeviceError(
                f"{self.path} cannot be read as sound. Give a WAV or FLAC file."
            ) from error
        if not samples.size:
            raise DeviceError(f"{self.path} holds no sound. Record it again.")
        mono = samples.mean(axis=1, dtype=np.float32)
        if rate != SAMPLE_RATE:
            import soxr  # noqa: PLC0415 - only for other rates

            mono = soxr.resample(mono, rate, SAMPLE_RATE)
        return np.asarray(mono, dtype=np.float32)


class PcmSource:
    """A stream of 16-bit little-endian PCM, mono, 16 kHz, such as standard input."""

    def __init__(self, stream: IO[bytes]) -> None:
        self._stream = stream

    def __iter__(self) -> Iterator[Samples]:
        """Yield blocks until the stream ends; half a sample at its end is dropped."""
        left = b""
        while True:
            try:
                read = self._stream.read(2 * BLOCK)
            except (OSError, ValueError) as error:
                raise DeviceError("Standard input broke off. Start the program again.") from error
            data = left + read
            whole = len(data) // 2 * 2
            left = data[whole:]
            if whole:
                samples = np.frombuffer(data[:whole], dtype="<i2").astype(np.float32)
                yield samples / np.float32(32768.0)
            if not read:
                return


class Microphone:
    """The default (or named) microphone, as a context manager that yields blocks.

    The driver's callback only copies the block and its status into a bounded queue. `lost` counts
    blocks dropped because the listener fell behind or the driver overflowed.
    """

    def __init__(self, device: str | int | None = None) -> None:
        self._device = device
        self._queue: queue.Queue[tuple[Samples, bool]] = queue.Queue(maxsize=_WAITING)
        self._stream: Any = None
        self.lost = 0

    def __enter__(self) -> Self:
        """Open the microphone; raises `DeviceError` where there is none."""
        try:
            import sounddevice  # noqa: PLC0415 - raises OSError without PortAudio
        except (ImportError, OSError) as error:
            raise DeviceError(
                "The sound library PortAudio is missing. Install it (on Debian: "
                "apt install libportaudio2), or use: handsfree chat."
            ) from error
        try:
            self._stream = sounddevice.InputStream(
                samplerate=SAMPLE_RATE,
                blocksize=BLOCK,
                channels=1,
                dtype="float32",
                device=self._device,
                callback=self._arrived,
            )
            self._stream.start()
        except (sounddevice.PortAudioError, ValueError, OSError) as error:
            self.close()
            raise DeviceError(f"No microphone answers. {_NO_MICROPHONE}") from error
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the microphone."""
        self.close()

    def __iter__(self) -> Iterator[Samples]:
        """Yield blocks as they come; raises `DeviceError` when the microphone goes away."""
        while self._stream is not None:
            try:
                block, overflowed = self._queue.get(timeout=_SILENT_FOR)
            except queue.Empty:
                if self._stream is None:
                    return
                raise DeviceError(f"The microphone has gone quiet. {_NO_MICROPHONE}") from None
            if overflowed:
                self.lost += 1
            yield block

    def close(self) -> None:
        """Stop listening; safe to call twice."""
        stream, self._stream = self._stream, None
        if stream is not None:
            stream.close()

    def _arrived(self, block: Samples, frames: int, when: object, status: Any) -> None:
        del frames, when
        try:
            self._queue.put_nowait((block[:, 0].copy(), bool(status)))
        except queue.Full:
            self.lost += 1
