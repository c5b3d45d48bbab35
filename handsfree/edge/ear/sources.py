"""Where recorded sound comes from: blocks of float32, mono, 16 kHz, about 32 ms each.

A source is an iterable of blocks. It ends where its file or stream ends. `DeviceError` says in one
or two sentences what to do.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, NamedTuple

import numpy as np

from handsfree.edge.ear.recogniser import SAMPLE_RATE
from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from handsfree.edge.ear.recogniser import Samples

__all__ = ["BLOCK", "Block", "FileSource", "PcmSource", "at_our_rate"]

BLOCK = 512
_LOWEST_RATE, _HIGHEST_RATE = 4_000, 384_000
"""Samples a second of files that are believed: below there is no speech, above no sound card."""
_WHOLE = 65_536
"""Samples that are read of a file at a time."""
_RIFF_HEADER = 12
_CHUNK_HEADER = 8
_UNKNOWN = (0, 0xFFFFFFFF)
"""Lengths that a program writes which does not know yet how long its sound will be."""
_ENOUGH = 0.999
"""Share of the promised sound that must be there: the last samples are often lost in a copy."""
_HEADERS = (b"RIFF", b"fLaC", b"FORM", b"OggS")
_CUT_OFF = "is cut off: {there:.1f} of {promised:.1f} seconds are there. Record or copy it again"


class Block(NamedTuple):
    """A piece of sound as a microphone gives it.

    `own` are the clips that we were playing while it was taken, None where we were silent; `gap`
    tells that sound was lost just before it.
    """

    samples: Samples
    own: tuple[Path, ...] | None = None
    gap: bool = False


def at_our_rate(rate: float) -> Any:
    """Return a stream that takes blocks at a rate and gives them at ours, as `soxr` does."""
    import soxr  # noqa: PLC0415 - only for other rates

    return soxr.ResampleStream(rate, SAMPLE_RATE, 1, dtype="float32")


class FileSource:
    """A WAV or FLAC file, as if it were being said now.

    Any sample rate and any number of channels, read as it goes, so that its length costs no
    memory. With `real_time` the blocks come at the pace of speech, otherwise as fast as they are
    taken. `fault` is what is wrong with a file that can be heard all the same.
    """

    def __init__(self, path: Path, *, real_time: bool = False) -> None:
        self.path, self.real_time = path, real_time

    @property
    def fault(self) -> str | None:
        """What the person should know of this file; raises `DeviceError` as iterating does."""
        with self._opened() as file:
            promised = self._promised(file)
            if file.format != "WAV":
                return None  # a file of another form that is cut off is found out in reading it
            there = file.frames / file.samplerate
        if promised is None or there >= _ENOUGH * promised:
            return None
        return (
            f"{self.path} {_CUT_OFF.format(there=there, promised=promised)}; I hear what is there."
        )

    def __iter__(self) -> Iterator[Samples]:
        """Yield the blocks; raises `DeviceError` for a file that is missing, broken or empty."""
        began, given = time.monotonic(), 0
        left = np.empty(0, dtype=np.float32)
        for piece in self._pieces():
            left = np.concatenate((left, piece))
            whole = len(left) // BLOCK * BLOCK
            for start in range(0, whole, BLOCK):
                given += BLOCK
                self._wait(began, given)
                yield left[start : start + BLOCK]
            left = left[whole:]
        if len(left):
            self._wait(began, given + len(left))
            yield left

    def _wait(self, began: float, given: int) -> None:
        if self.real_time:
            time.sleep(max(0.0, began + given / SAMPLE_RATE - time.monotonic()))

    def _opened(self) -> Any:
        import soundfile  # noqa: PLC0415 - needs a shared library that may be missing

        if self.path.is_dir():
            raise DeviceError(f"{self.path} is a folder. Give one WAV or FLAC file.")
        if not self.path.is_file():
            raise DeviceError(f"There is no file {self.path}. Check the name.")
        try:
            file = soundfile.SoundFile(self.path)
        except (soundfile.LibsndfileError, OSError, RuntimeError) as error:
            raise DeviceError(
                f"{self.path} cannot be read as sound. Give a WAV or FLAC file."
            ) from error
        rate = file.samplerate
        if not _LOWEST_RATE <= rate <= _HIGHEST_RATE:
            file.close()
            raise DeviceError(
                f"{self.path} says it holds {rate} samples a second, which no microphone gives. "
                "Record it again."
            )
        return file

    def _pieces(self) -> Iterator[Samples]:
        """Yield the sound in large pieces, one channel, at our rate."""
        import soundfile  # noqa: PLC0415 - as above

        found = 0
        with self._opened() as file:
            resampler = None if file.samplerate == SAMPLE_RATE else at_our_rate(file.samplerate)
            while True:
                try:
                    read = file.read(_WHOLE, dtype="float32", always_2d=True)
                except (soundfile.LibsndfileError, OSError, RuntimeError) as error:
                    said = _CUT_OFF.format(
                        there=found / file.samplerate, promised=file.frames / file.samplerate
                    )
                    raise DeviceError(f"{self.path} {said}.") from error
                found += len(read)
                if not found:
                    raise DeviceError(f"{self.path} holds no sound. Record it again.")
                mono = np.nan_to_num(read).mean(axis=1, dtype=np.float32)
                last = len(read) < _WHOLE
                if resampler is not None:
                    mono = resampler.resample_chunk(mono, last=last)
                yield np.asarray(mono, dtype=np.float32)
                if last:
                    return

    def _promised(self, file: Any) -> float | None:
        """Return the seconds that a WAV header promises, None where it does not know."""
        with self.path.open("rb") as raw:
            raw.seek(_RIFF_HEADER)
            width = 0
            while len(head := raw.read(_CHUNK_HEADER)) == _CHUNK_HEADER:
                name, size = head[:4], int.from_bytes(head[4:], "little")
                if name == b"data":
                    return None if size in _UNKNOWN or not width else size / width / file.samplerate
                content = raw.read(min(size, _RIFF_HEADER + 2)) if name == b"fmt " else b""
                if content:
                    width = int.from_bytes(content[12:14], "little")
                raw.seek(size + size % 2 - len(content), 1)
        return None


class PcmSource:
    """A stream of 16-bit little-endian PCM, mono, 16 kHz, such as standard input."""

    def __init__(self, stream: IO[bytes]) -> None:
        self._stream = stream

    def __iter__(self) -> Iterator[Samples]:
        """Yield blocks until the stream ends; half a sample at its end is dropped.

        Raises `DeviceError` where it breaks off, or begins as a sound file does.
        """
        left = b""
        begun = False
        while True:
            try:
                read = self._stream.read(2 * BLOCK)
            except (OSError, ValueError) as error:
                raise DeviceError("Standard input broke off. Start the program again.") from error
            data = left + read
            if not begun and len(data) >= len(_HEADERS[0]):
                begun = True
                if data.startswith(_HEADERS):
                    raise DeviceError(
                        "That is a sound file, and I take bare 16-bit PCM there. "
                        "Name the file instead: handsfree listen FILE.wav"
                    )
            whole = len(data) // 2 * 2
            left = data[whole:]
            if whole:
                samples = np.frombuffer(data[:whole], dtype="<i2").astype(np.float32)
                yield samples / np.float32(32768.0)
            if not read:
                return
