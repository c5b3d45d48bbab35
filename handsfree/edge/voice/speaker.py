"""What every speaker does: take sentences, say them in order, fall silent at once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from handsfree.library import Earcon


class Speaker(Protocol):
    """A voice. Sentences have numbers, so that the engine knows which one has been said."""

    def say(self, text: str, number: int) -> None:
        """Say a sentence after those that wait; while there is trouble it is let go."""

    def speak_as(self, rate: int, volume: int) -> None:
        """Speak so many steps faster and louder than usual, from the next sentence on."""

    def hush(self) -> None:
        """Fall silent within 0.2 s, and forget what waits."""

    def busy(self) -> bool:
        """Return whether something is being said or waits."""

    def cue(self, earcon: Earcon) -> None:
        """Make a sound that is no word, after what waits."""

    def saying(self) -> tuple[Path, ...] | None:
        """Return the clip that plays and the one before it; None while nothing sounds.

        Any thread may ask. A clip is there until two others have been played after it.
        """

    def trouble(self) -> DeviceError | None:
        """Return why nothing can be said now; None where it can."""

    def finished(self) -> list[tuple[int, bool]]:
        """Return the sentences finished since the last call: number, and whether whole."""

    def close(self) -> None:
        """Fall silent, and let go of processes and devices."""
