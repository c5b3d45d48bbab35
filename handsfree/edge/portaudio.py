"""PortAudio: loaded late, and made to look for devices again once one has gone.

PortAudio lists the devices when it is started and never again, so a microphone that is plugged in
later is only seen by a new start; and a new start would pull the ground from under a stream that
is open. `in_use` counts those.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

_LOCK = threading.Lock()
_open_streams = 0


def library() -> Any:
    """Return the sound library; raises `ImportError` or `OSError` where PortAudio is missing."""
    import sounddevice  # noqa: PLC0415 - raises OSError without PortAudio

    return sounddevice


@contextmanager
def in_use() -> Iterator[None]:
    """Keep PortAudio from starting anew while a stream is open."""
    global _open_streams  # noqa: PLW0603 - PortAudio is one for the whole process
    with _LOCK:
        _open_streams += 1
    try:
        yield
    finally:
        with _LOCK:
            _open_streams -= 1


def look_again() -> None:
    """Look for devices anew, unless a stream is open; raises as `library`."""
    sound = library()
    with _LOCK:
        if not _open_streams:
            # the library has no public names for this, and its documentation none for plugging in
            sound._terminate()  # noqa: SLF001
            sound._initialize()  # noqa: SLF001
