"""What every speaker does: take sentences, say them in order, fall silent at once."""

from __future__ import annotations

from typing import Protocol


class Speaker(Protocol):
    """A voice. Sentences have numbers, so that the engine knows which one has been said."""

    def say(self, text: str, number: int) -> None:
        """Say a sentence after those that wait; raises `DeviceError` where nothing can be said."""

    def speak_as(self, rate: int, volume: int) -> None:
        """Speak so many steps faster and louder than usual, from the next sentence on."""

    def hush(self) -> None:
        """Fall silent within 0.2 s, and forget what waits."""

    def busy(self) -> bool:
        """Return whether something is being said or waits."""

    def finished(self) -> list[tuple[int, bool]]:
        """Return the sentences finished since the last call: number, and whether whole."""

    def close(self) -> None:
        """Fall silent, and let go of processes and devices."""
