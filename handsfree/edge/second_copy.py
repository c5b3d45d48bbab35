"""The second copy of a job's record, in a place of the user's choice, made beside the talk.

A card may be slow or gone, so a thread of its own makes the copy, and no answer or "stop" waits
for it. A failure is told once, until a copy has been made again; the record itself is not touched.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Literal

from handsfree.edge.backup import copy_record
from handsfree.errors import JournalError

SETTING = "HANDSFREE_BACKUP"
LONGEST_WAIT = 30.0
"""Seconds after which a copy that does not end is given up when the program ends."""


def chosen_folder() -> Path | None:
    """Return the folder of second copies that `HANDSFREE_BACKUP` names, or None."""
    named = os.environ.get(SETTING)
    return Path(named).expanduser() if named else None


class SecondCopy:
    """Copies one record whenever it is asked to, and keeps what there is to tell of it."""

    def __init__(self, record: Path, folder: Path) -> None:
        self._record, self._folder = record, folder
        self._asked: SimpleQueue[Literal["copy", "end"]] = SimpleQueue()
        self._told: SimpleQueue[str] = SimpleQueue()
        self._failed = False
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def make(self) -> None:
        """Ask for a copy of what the record holds by now; return at once."""
        self._asked.put("copy")

    def told(self) -> Iterator[str]:
        """Yield what is to be said since the last look: a first failure, or that it works again."""
        while True:
            try:
                yield self._told.get_nowait()
            except Empty:
                return

    def _run(self) -> None:
        while self._asked.get() == "copy":
            self._copy()
        if self._failed:  # the card may be back by now
            self._copy()

    def _copy(self) -> None:
        failed_before = self._failed
        try:
            copy_record(self._record, self._folder)
        except JournalError as error:
            self._failed = True
            if not failed_before:
                self._told.put(
                    f"No second copy: {error} The record here is whole. "
                    "I try again after the next stage."
                )
        else:
            self._failed = False
            if failed_before:
                self._told.put("The second copy is made.")

    def close(self) -> None:
        """Let the copies that were asked for end, and a failed one be tried once more."""
        self._asked.put("end")
        self._thread.join(LONGEST_WAIT)
