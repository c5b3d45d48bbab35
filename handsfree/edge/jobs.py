"""The folder of jobs: each one a record, found by the name it was given."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from handsfree import __version__
from handsfree.edge.journal import ENDING, Fault, Journal, read, verify
from handsfree.errors import JournalError
from handsfree.record.entries import Entry, JobOpened

LONGEST_NAME = 48
SETTING = "HANDSFREE_JOBS"


@dataclass(frozen=True, slots=True)
class Listed:
    """A job of the folder: its name, when it was last written to, how much it holds."""

    name: str
    last: datetime
    entries: int
    path: Path


def folder() -> Path:
    """Return the folder of jobs: `HANDSFREE_JOBS`, or the platform's place for user data."""
    chosen = os.environ.get(SETTING)
    if chosen:
        return Path(chosen).expanduser()
    import platformdirs  # noqa: PLC0415 - only where the setting is not made

    return Path(platformdirs.user_data_dir("handsfree", appauthor=False)) / "jobs"


def path_of(name: str) -> Path:
    """Return the file of a job: any name at all becomes a safe file name of its own."""
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:LONGEST_NAME]
    if plain != name:
        plain = f"{plain or 'job'}-{hashlib.sha256(name.encode()).hexdigest()[:8]}"
    return folder() / f"{plain}{ENDING}"


def open_or_create(name: str, at: datetime) -> Journal:
    """Return the journal of a job, begun now if it is new; raises `JournalError`."""
    journal = Journal(path_of(name))
    if not journal.entries:
        opened = JobOpened(at=at, job=name, software=__version__)
        journal.append([opened])
        journal.entries = (opened,)
    return journal


def listed() -> list[Listed]:
    """Return every job, the one last written to first. A file that is no record is left out."""
    found: list[Listed] = []
    try:
        paths = sorted(folder().glob(f"*{ENDING}"))
    except OSError as error:
        raise JournalError(f"The folder {folder()} cannot be read: {error.strerror}.") from error
    for path in paths:
        try:
            entries = read(path).entries
        except JournalError:
            continue
        if entries and isinstance(entries[0], JobOpened):
            found.append(Listed(entries[0].job, entries[-1].at, len(entries), path))
    return sorted(found, key=lambda job: job.last, reverse=True)


def latest() -> Listed | None:
    """Return the job last written to, or None."""
    jobs = listed()
    return jobs[0] if jobs else None


def contents(name: str) -> tuple[Sequence[Entry], Sequence[Fault]]:
    """Return the entries of a job and the faults of its record; raises `JournalError`."""
    path = path_of(name)
    if not path.exists():
        raise JournalError(f"There is no job '{name}'. List them with: handsfree jobs")
    return read(path).entries, verify(path)
