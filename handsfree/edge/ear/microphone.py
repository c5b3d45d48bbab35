"""The microphone: blocks of sound as they come, and a word when it goes away."""

from __future__ import annotations

import os
import queue
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, Self

import numpy as np

from handsfree.edge import portaudio
from handsfree.edge.ear.recogniser import SAMPLE_RATE
from handsfree.edge.ear.sources import BLOCK, Block, at_our_rate
from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from types import TracebackType

    from handsfree.edge.ear.recogniser import Samples

__all__ = ["Microphone"]

_WAITING = 200
"""Blocks that a busy listener may fall behind (about six seconds)."""
_GONE_AFTER = 3.0
"""Seconds without a block after which the microphone counts as gone."""
_MUTED_AFTER = 5.0
"""Seconds of nothing but zeros after which it counts as muted: a room is never so quiet."""
_DEVICES = Path("/dev/snd")
"""Where Linux keeps the sound devices; those that record end in c."""
_INSTEAD = "Plug one in or choose another in the system's sound settings, or use: handsfree chat."
_REFUSED = (
    "This user may not use the microphone. Allow it in the system's settings (on Linux: put the "
    "user into the group audio, and sign in again), or use: handsfree chat."
)
_MUTED = (
    "The microphone gives no sound at all: it is muted, or not allowed to this program. "
    "Switch it on, or type."
)


class _Arrived(NamedTuple):
    samples: Samples
    own: tuple[Path, ...] | None
    gap: bool


class Microphone:
    """The default (or named) microphone, as a context manager that yields blocks at 16 kHz.

    The driver's callback only copies a block into a bounded queue. `saying` gives the
    clips that we play at that moment, None where we are silent. Where the device has no 16 kHz, its
    own rate is taken and changed.
    """

    def __init__(
        self,
        saying: Callable[[], tuple[Path, ...] | None] | None = None,
        device: str | int | None = None,
    ) -> None:
        self._saying = saying or (lambda: None)
        self._device = device
        self._queue: queue.Queue[_Arrived | None] = queue.Queue(maxsize=_WAITING)
        self._stream: Any = None
        self._resampler: Any = None
        self._lost = False
        self._stack = ExitStack()

    def __enter__(self) -> Self:
        """Open the microphone; raises `DeviceError` where there is none."""
        try:
            portaudio.look_again()
            sound = portaudio.library()
        except (ImportError, OSError) as error:
            raise DeviceError(
                "The sound library PortAudio is missing. Install it (on Debian: "
                "apt install libportaudio2), or use: handsfree chat."
            ) from error
        except Exception as error:  # what PortAudio raises has no base that says what it is
            raise DeviceError(f"No microphone answers. {_INSTEAD}") from error
        try:
            self._stack.enter_context(portaudio.in_use())
            self._open(sound)
        except (sound.PortAudioError, ValueError, OSError) as error:
            self.close()
            raise DeviceError(
                _REFUSED if _refused() else f"No microphone answers. {_INSTEAD}"
            ) from error
        return self

    def _open(self, sound: Any) -> None:
        """Open the stream at our rate, or at the device's own; raises as the library does."""
        try:
            self._start(sound, SAMPLE_RATE)
        except (sound.PortAudioError, ValueError):
            own = float(sound.query_devices(self._device, "input")["default_samplerate"])
            self._start(sound, own)
            self._resampler = at_our_rate(own)

    def _start(self, sound: Any, rate: float) -> None:
        self._stream = sound.InputStream(
            samplerate=rate,
            blocksize=round(BLOCK * rate / SAMPLE_RATE),
            channels=1,
            dtype="float32",
            device=self._device,
            callback=self._arrived,
            finished_callback=self._ended,
        )
        self._stream.start()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the microphone."""
        self.close()

    def __iter__(self) -> Iterator[Block]:
        """Yield blocks as they come; raises `DeviceError` when the microphone goes away."""
        zeros = 0
        while self._stream is not None:
            try:
                arrived = self._queue.get(timeout=_GONE_AFTER)
            except queue.Empty:
                arrived = None
            if arrived is None:
                if self._stream is None:
                    return
                raise DeviceError(f"The microphone has gone quiet. {_INSTEAD}")
            samples = arrived.samples
            if self._resampler is not None:
                samples = self._resampler.resample_chunk(samples)
            zeros = 0 if np.any(samples) else zeros + len(samples)
            if zeros > _MUTED_AFTER * SAMPLE_RATE:
                raise DeviceError(_MUTED)
            yield Block(samples, arrived.own, arrived.gap)

    def close(self) -> None:
        """Stop listening; safe to call twice."""
        stream, self._stream = self._stream, None
        if stream is not None:
            stream.close()
        self._stack.close()

    def _arrived(self, samples: Samples, frames: int, when: object, status: Any) -> None:
        """Take a block from the driver; after lost ones the next that finds room tells of it."""
        del frames, when
        gap = self._lost or bool(status)
        try:
            self._queue.put_nowait(_Arrived(samples[:, 0].copy(), self._saying(), gap))
            self._lost = False
        except queue.Full:
            self._lost = True

    def _ended(self) -> None:
        """Take it that the stream has ended: the listener learns it at once, if there is room."""
        if not self._queue.full():
            self._queue.put_nowait(None)


def _refused() -> bool:
    """Return whether this machine has something to record with, and none of it for this user."""
    found = list(_DEVICES.glob("pcm*c"))
    return bool(found) and not any(os.access(file, os.R_OK) for file in found)
