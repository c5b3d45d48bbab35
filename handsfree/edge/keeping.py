"""Where the entries of a conversation go: into a job's journal, or nowhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol

from handsfree.record.entries import Entry

__all__ = ["InMemory", "NoRecord", "Record"]


class Record(Protocol):
    """Where entries go: a job's journal, or nowhere."""

    @property
    def entries(self) -> Sequence[Entry]:
        """Return what the record held when it was opened."""

    @property
    def warnings(self) -> Sequence[str]:
        """Return what the person should be told of the record as it was opened."""

    @property
    def held(self) -> int:
        """Return how many entries could not be written so far, and are held."""

    def append(self, entries: Iterable[Entry]) -> None:
        """Keep entries; raises `JournalError` where they could not be written."""


class NoRecord:
    """For a recording that belongs to no job: nothing is kept."""

    entries: Sequence[Entry] = ()
    warnings: Sequence[str] = ()
    held = 0

    def append(self, entries: Iterable[Entry]) -> None:
        """Keep nothing."""


class InMemory(NoRecord):
    """For a job that is only tried out: kept until the program ends."""

    def __init__(self, opened: Entry) -> None:
        self.entries: list[Entry] = [opened]

    def append(self, entries: Iterable[Entry]) -> None:
        """Keep entries in memory."""
        self.entries.extend(entries)
