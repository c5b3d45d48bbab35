"""Steps of the wall clock in a record, seen against the clock that only goes forward."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from handsfree.errors import JournalError

MOST = 30.0
"""Seconds by which the clocks may part between two entries: a clock kept by a network is nearer."""
NANOSECONDS = 1e9


@dataclass(frozen=True, slots=True)
class ClockStep:
    """The clock was moved before a line (from 1), by so many seconds."""

    line: int
    seconds: float

    def __str__(self) -> str:
        """Return it as a sentence."""
        way = "back" if self.seconds < 0 else "forward"
        return (
            f"Line {self.line}: the clock was set {way} by {abs(self.seconds):.0f} seconds "
            "before it; times are uncertain from here."
        )


def clock_steps(path: Path) -> Iterator[ClockStep]:
    """Yield where the clock was moved; raises `JournalError` where the record can't be read.

    Within one run of the machine its two clocks must go alike; between runs time only goes on.
    """
    try:
        lines = path.read_bytes().split(b"\n")[:-1]
    except OSError as error:
        raise JournalError(f"The record {path} cannot be read: {error.strerror}.") from error
    before: tuple[str, float, datetime] | None = None
    for number, raw in enumerate(lines, start=1):
        now = _clocks(raw)
        if now is not None and before is not None:
            passed = (now[2] - before[2]).total_seconds()
            ran = now[1] - before[1] if now[0] == before[0] else max(passed, 0.0)
            if abs(passed - ran) > MOST:
                yield ClockStep(number, passed - ran)
        before = now or before


def _clocks(raw: bytes) -> tuple[str, float, datetime] | None:
    """Return the boot, the seconds of the clock that only goes forward, and the wall clock."""
    try:
        line = json.loads(raw)
        at = datetime.fromisoformat(line["entry"]["at"])
        if at.tzinfo is None:
            return None
        return str(line["boot"]), int(line["given"]) / NANOSECONDS, at
    except (ValueError, LookupError, TypeError, RecursionError):
        return None
