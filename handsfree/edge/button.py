"""One big button: any key of the terminal, or a foot switch that sends one.

A short press is "done". A key that is held is push-to-talk: we fall silent, and anything may be
said. A terminal tells nothing of a key that is let go, but repeats one that is held; so a press is
known to be short when no repeat has come for a moment.
"""

from __future__ import annotations

import os
import select
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from enum import Enum

from handsfree.errors import DeviceError

__all__ = ["Press", "keys", "presses"]

FIRST_REPEAT = 0.7
"""Seconds within which a held key repeats first: systems wait 0.25 to 0.66 s. From memory."""
_END = "\x04"
"""What a terminal sends for the end of typing (Ctrl-D)."""


class Press(Enum):
    """What was done with the button."""

    SHORT = "short"
    HELD = "held"


Next = Callable[[float | None], str | None]
"""Gives the next key within so many seconds, None for no key; an empty text for the end."""


def presses(next_key: Next) -> Iterator[Press]:
    """Yield what is done with the button, until the keys end; a held key is told once."""
    while True:
        key = next_key(None)
        if not key or key == _END:
            return
        repeat = next_key(FIRST_REPEAT)
        if repeat is None:
            yield Press.SHORT
            continue
        yield Press.HELD
        while repeat:  # until no repeat comes any more
            repeat = next_key(FIRST_REPEAT)
        if repeat is not None:
            return


@contextmanager
def keys() -> Iterator[Next]:
    """Give what reads the terminal key by key, and put the terminal back in the end.

    Raises `DeviceError` where there is no terminal.
    """
    if sys.stdin is None or not sys.stdin.isatty():
        raise DeviceError("The button needs a terminal: start without --button, or in one.")
    if sys.platform == "win32":
        yield _windows
        return
    import termios  # noqa: PLC0415 - not on every system
    import tty  # noqa: PLC0415 - as above

    handle = sys.stdin.fileno()
    before = termios.tcgetattr(handle)

    def posix(patience: float | None) -> str | None:
        ready, _, _ = select.select([handle], [], [], patience)
        # a key may send several bytes at once; they are one press
        return os.read(handle, 32).decode(errors="replace") if ready else None

    try:
        tty.setcbreak(handle)
        yield posix
    finally:
        termios.tcsetattr(handle, termios.TCSADRAIN, before)


def _windows(patience: float | None) -> str | None:
    """Return the next key of a Windows console."""
    import msvcrt  # noqa: PLC0415 - only there

    until = None if patience is None else time.monotonic() + patience
    while not msvcrt.kbhit():  # type: ignore[attr-defined, unused-ignore]
        if until is not None and time.monotonic() > until:
            return None
        time.sleep(0.02)
    return str(msvcrt.getwch())  # type: ignore[attr-defined, unused-ignore]
