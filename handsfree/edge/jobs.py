"""The folder of jobs: each one a record, found by the name it was given."""

from __future__ import annotations

import hashlib
import json
import os
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from handsfree import __version__
from handsfree.edge.journal import ENDING, Contents, Fault, Journal, read
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


def _reachable() -> Path:
    """Return the folder of jobs; raises `JournalError` where the stick that holds it is gone.

    What was chosen is not made anew from its root: that would be a place on another disk.
    """
    place = folder()
    if os.environ.get(SETTING) and not place.parent.exists():
        raise JournalError(
            f"{place.parent} is not there. Put the stick or the disk in, or set {SETTING} anew."
        )
    return place


def path_of(name: str) -> Path:
    """Return the file of a job: any name at all becomes a safe file name of its own.

    The readable part is for people; the digits keep names apart that share it, and keep clear of
    the names that an operating system reserves.
    """
    whole = unicodedata.normalize("NFC", name)
    plain = re.sub(r"[^a-z0-9]+", "-", whole.lower())[:LONGEST_NAME].strip("-") or "job"
    digits = hashlib.sha256(whole.encode(errors="surrogatepass")).hexdigest()[:8]
    return folder() / f"{plain}-{digits}{ENDING}"


def open_or_create(name: str, at: datetime) -> Journal:
    """Return the journal of a job, begun now if it is new; raises `JournalError`."""
    _reachable()
    journal = Journal(path_of(name))
    if not journal.entries:
        opened = JobOpened(at=at, job=name, software=__version__)
        try:
            journal.append([opened])
        except JournalError as error:
            journal.warnings.append(str(error))
        journal.entries = (opened,)
    return journal


def begun(name: str, at: datetime) -> Journal:
    """Return the journal of a new job; a name that is taken gets a number. Raises `JournalError`.

    Two jobs begun in one minute are two jobs, even where the first is still open.
    """
    names = (name if number == 1 else f"{name} ({number})" for number in count(1))
    return open_or_create(next(free for free in names if not path_of(free).exists()), at)


def listed() -> list[Listed]:
    """Return every job, the one last written to first; raises `JournalError`.

    Only the first and last lines are looked at, so that a folder of long jobs lists at once. A
    file that does not begin as a record is left out.
    """
    try:
        found = [_glance(path) for path in _reachable().glob(f"*{ENDING}")]
    except OSError as error:
        raise JournalError(f"The folder {folder()} cannot be read: {error.strerror}.") from error
    return sorted(filter(None, found), key=lambda job: (job.last, job.name), reverse=True)


def _glance(path: Path) -> Listed | None:
    """Return a job as its first and last whole lines tell it, or None where they tell nothing."""
    try:
        changed, lines = path.stat().st_mtime, path.read_bytes().split(b"\n")[:-1]
        opened = json.loads(lines[0])["entry"]
        name = opened["job"] if opened["kind"] == "job opened" else None
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return None
    if not isinstance(name, str):
        return None
    try:
        last = datetime.fromisoformat(json.loads(lines[-1])["entry"]["at"])
    except (ValueError, LookupError, TypeError, RecursionError):
        last = datetime.fromtimestamp(changed, UTC)
    return Listed(name, last if last.tzinfo else last.replace(tzinfo=UTC), len(lines), path)


def latest() -> Listed | None:
    """Return the job last written to, or None; raises `JournalError`."""
    jobs = listed()
    return jobs[0] if jobs else None


def contents(name: str) -> tuple[Sequence[Entry], Sequence[Fault]]:
    """Return the entries of a job and the faults of its record; raises `JournalError`."""
    found, _ = whole(name)
    return found.entries, found.all_faults


def whole(name: str) -> tuple[Contents, Path]:
    """Return all that a job's record holds, and its file; raises `JournalError`."""
    path = path_of(name)
    if not path.exists():
        raise JournalError(f"There is no job '{name}'. List them with: handsfree jobs")
    return read(path), path
