"""What the stages of an utterance take, for `--trace`."""

from __future__ import annotations

import time
from collections.abc import Iterable

__all__ = ["StopWatch", "told"]


class StopWatch:
    """Takes the time of one stage after the other: `laps` are their names, and seconds each."""

    def __init__(self) -> None:
        self.laps: list[tuple[str, float]] = []
        self._last = time.perf_counter()

    def lap(self, name: str) -> None:
        """End a stage here; the next one begins."""
        now = time.perf_counter()
        self.laps.append((name, now - self._last))
        self._last = now


def told(laps: Iterable[tuple[str, float]]) -> str:
    """Return the stages as one line: "sounds 0.10 s, sentences 0.21 s"."""
    return ", ".join(f"{name} {seconds:.3f} s" for name, seconds in laps)
