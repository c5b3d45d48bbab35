"""What all boards show: the glance of the present state, the drawing, and the conversation.

Written by the loop's thread, read by the server's. Nothing waits for a board: a window that does
not read gets, when it reads again, what holds then.
"""

from __future__ import annotations

import json
import secrets
import threading
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any, Literal

from handsfree.dialogue.glance import drawing, glance
from handsfree.dialogue.state import Job, State
from handsfree.library import Library
from handsfree.record.entries import Asked, Calculated, Entry, ProcedureStarted

Who = Literal["heard", "typed", "said", "warned"]
KEPT = 200
"""Lines of the conversation that a board shows; the record keeps all."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the conversation, numbered from 1 within a run of the program."""

    number: int
    who: Who
    text: str


@dataclass(frozen=True, slots=True)
class Shown:
    """What stands on the board: `version` counts its changes, `plain` is its JSON data."""

    version: int
    plain: dict[str, Any]
    drawing: str
    drawings: int


class Hub:
    """The one place that the loop tells and that the windows ask. Safe between threads."""

    def __init__(self, library: Library, clock: Callable[[], datetime]) -> None:
        self.run = secrets.token_hex(4)
        self._library = library
        self._clock = clock
        self._lock = threading.Lock()
        self._lines: deque[Line] = deque(maxlen=KEPT)
        self._number = 0
        self._shown = Shown(0, {}, "", 0)
        self._state: State | None = None
        self._wakers: set[Callable[[], None]] = set()

    def remember(self, entries: Iterable[Entry]) -> None:
        """Take what was said before from the record of the job, as far as it keeps it.

        That is what was heard, the procedures begun, the questions and the numbers.
        """
        before = ""
        for entry in list(entries)[-KEPT:]:
            words = getattr(entry, "words", "")
            if words and words != before:
                self._add("heard", words)
            before = words or before
            if isinstance(entry, Asked):
                self._add("said", entry.question)
            elif isinstance(entry, Calculated):
                self._add("said", self._retold(entry))
            elif (
                isinstance(entry, ProcedureStarted) and entry.procedure in self._library.procedures
            ):
                self._add("said", self._library.procedures[entry.procedure].title)

    def _retold(self, entry: Calculated) -> str:
        shown = glance(State(Job(calculated=entry)), entry.at, self._library)
        return f"{shown.number} {shown.unit}".strip()

    def show(self, state: State) -> None:
        """Show where we are now; nothing is done where nothing has changed."""
        before = self._state
        if state is before:
            return
        plain = _plain(asdict(glance(state, self._clock(), self._library)))
        svg, drawings = self._shown.drawing, self._shown.drawings
        if before is None or state.job.sums is not before.job.sums:
            svg = drawing(state.job, self._library)
            drawings += svg != self._shown.drawing
        self._state = state
        if plain == self._shown.plain and svg == self._shown.drawing:
            return
        with self._lock:
            self._shown = Shown(self._shown.version + 1, plain, svg, drawings)
        self.wake()

    def tell(self, who: Who, text: str) -> None:
        """Add a line to the conversation."""
        with self._lock:
            self._add(who, text)
        self.wake()

    def _add(self, who: Who, text: str) -> None:
        self._number += 1
        self._lines.append(Line(self._number, who, text))

    def after(self, number: int) -> tuple[Shown, list[Line]]:
        """Return what is shown, and the lines after this number."""
        with self._lock:
            return self._shown, [line for line in self._lines if line.number > number]

    def now(self) -> float:
        """Return the time, in seconds since 1970: the boards count their timers by it."""
        return self._clock().timestamp()

    def watch(self, waker: Callable[[], None]) -> None:
        """Call this, from any thread, whenever something has changed."""
        with self._lock:
            self._wakers.add(waker)

    def unwatch(self, waker: Callable[[], None]) -> None:
        """Call this no more."""
        with self._lock:
            self._wakers.discard(waker)

    def wake(self) -> None:
        """Tell every window to look again."""
        with self._lock:
            wakers = list(self._wakers)
        for waker in wakers:
            waker()


def _plain(value: Any) -> Any:
    """Return data that JSON can hold: a time as seconds since 1970."""
    if isinstance(value, dict):
        return {name: _plain(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value.timestamp() if isinstance(value, datetime) else value


def message(name: str, content: Any) -> bytes:
    """Return a server-sent event; JSON has no line ends of its own, so that nothing can be put in.

    The form is that of the HTML Living Standard, section 9.2.
    """
    return f"event: {name}\ndata: {json.dumps(content, ensure_ascii=False)}\n\n".encode()
