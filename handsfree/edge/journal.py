"""The journal of a job on disk: what is confirmed aloud has been flushed here first.

One entry a line, JSON, UTF-8. Each line carries its number, a monotonic clock with the boot it
belongs to, and the hash of the line before, so that a missing or changed line shows. A torn last
line (the battery died while it was written) is dropped and told; everything before it is good.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from pydantic import ValidationError

from handsfree.errors import JournalError
from handsfree.record.entries import SCHEMA, Entry, entry_from, entry_to

try:
    import fcntl
except ImportError:  # Windows has no advisory locks: a second process is not noticed there
    fcntl = None  # type: ignore[assignment]

FIRST = "0" * 64
"""What stands for the line before the first."""
ENDING = ".jsonl"


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong with a record: the line it stands on (from 1), and what."""

    line: int
    problem: str

    def __str__(self) -> str:
        """Return it as a sentence."""
        return f"Line {self.line}: {self.problem}"


@dataclass(frozen=True, slots=True)
class Contents:
    """A record as read: its sound entries, its faults, and where its sound part ends."""

    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]
    torn: bytes
    last_hash: str
    length: int


def _hash(previous: str, body: str) -> str:
    return hashlib.sha256(f"{previous}\n{body}".encode()).hexdigest()


def _body(number: int, entry: Entry, previous: str) -> dict[str, Any]:
    return {
        "seq": number,
        "mono": time.monotonic_ns(),
        "boot": _boot(),
        "previous": previous,
        "entry": entry_to(entry),
    }


def _boot() -> str:
    """Return what tells one run of the machine from the next, so that a clock reset shows."""
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return str(os.getppid())


def _canonical(body: dict[str, Any]) -> str:
    return json.dumps(body, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def read(path: Path) -> Contents:
    """Return what a record holds, with every fault; raises `JournalError` if it can't be read."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise JournalError(f"The record {path} cannot be read: {error.strerror}.") from error
    entries: list[Entry] = []
    faults: list[Fault] = []
    previous, length = FIRST, 0
    complete, _, torn = data.rpartition(b"\n")
    lines = complete.split(b"\n") if complete else []
    for number, raw in enumerate(lines, start=1):
        entry, found, problem = _read_line(raw, number, previous)
        if problem:
            faults.append(Fault(number, problem))
        if entry is not None:
            entries.append(entry)
        previous = found or previous
        length += len(raw) + 1
    return Contents(tuple(entries), tuple(faults), torn, previous, length)


def _read_line(raw: bytes, number: int, previous: str) -> tuple[Entry | None, str, str]:
    """Return the entry of a line, its hash, and what is wrong with it (or nothing)."""
    try:
        line = json.loads(raw)
        told = line.pop("hash")
        body = _canonical(line)
        right = _hash(line["previous"], body)
        chained, sequence, data = line["previous"] == previous, line["seq"], line["entry"]
    except (ValueError, KeyError, AttributeError, TypeError):
        return None, "", "this is not a line of a record."
    problem = ""
    if told != right:
        problem = "it was changed after it was written."
    elif not chained:
        problem = "the line before it is missing or was changed."
    elif sequence != number:
        problem = f"it is numbered {sequence}."
    try:
        entry = entry_from(data)
    except ValidationError:
        kind = data.get("kind", "nothing") if isinstance(data, dict) else "nothing"
        return None, told, f"this release does not know its kind ({kind!s:.40}); use a newer one."
    schema = getattr(entry, "schema_version", SCHEMA)
    if schema > SCHEMA:
        problem = f"it was begun by a newer release (schema {schema}); use that one."
    return entry, told, problem


class Journal:
    """The open record of a job. `entries` is what it held when it was opened."""

    def __init__(self, path: Path) -> None:
        """Open or create the record; raises `JournalError` where that can't be done."""
        self.path = path
        self.warnings: list[str] = []
        self._waiting: list[Entry] = []
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            fresh = not path.exists()
            self._file = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            raise JournalError(
                f"The record {path} cannot be written: {error.strerror}. "
                "Free the folder or set HANDSFREE_JOBS to another one."
            ) from error
        self._lock()
        if fresh:
            _flush_folder(path.parent)
        contents = read(path)
        if contents.faults:
            os.close(self._file)
            raise JournalError(
                f"The record {path.name} is damaged. {contents.faults[0]} "
                "It can be read, but nothing is added to it; begin a new job."
            )
        self.entries = contents.entries
        self._number, self._previous = len(contents.entries), contents.last_hash
        self._length = contents.length
        if contents.torn:
            self._put_aside(contents.torn)

    def _lock(self) -> None:
        if fcntl is None:
            return
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            os.close(self._file)
            raise JournalError(
                f"The job {self.path.stem} is open in another window. Close it there first."
            ) from error

    def _put_aside(self, torn: bytes) -> None:
        """Keep a torn last line beside the record, and cut the record back to what is whole."""
        aside = self.path.with_suffix(".torn")
        try:
            with aside.open("ab") as file:
                file.write(torn + b"\n")
            os.ftruncate(self._file, self._length)
            os.fsync(self._file)
        except OSError:
            self.warnings.append("The last line was cut off and could not be put aside.")
            return
        self.warnings.append(
            "The last line was cut off when the power went. Everything before it is there."
        )

    @property
    def held(self) -> int:
        """Return how many entries wait in memory because they could not be written."""
        return len(self._waiting)

    def append(self, entries: Iterable[Entry]) -> None:
        """Write entries and flush them to the disk before returning.

        Raises `JournalError` where that fails: they are then held in order, and written before
        the next ones.
        """
        self._waiting.extend(entries)
        if not self._waiting:
            return
        text, number, previous = "", self._number, self._previous
        for entry in self._waiting:
            number += 1
            body = _body(number, entry, previous)
            previous = _hash(previous, _canonical(body))
            text += _canonical({**body, "hash": previous}) + "\n"
        try:
            self._write(text.encode())
        except OSError as error:
            self._take_back()
            raise JournalError(self._told(error)) from error
        self._number, self._previous = number, previous
        self._waiting.clear()

    def _write(self, data: bytes) -> None:
        if not self.path.exists():
            raise FileNotFoundError(errno.ENOENT, "the folder is gone")
        os.lseek(self._file, self._length, os.SEEK_SET)
        left = memoryview(data)
        while left:
            left = left[os.write(self._file, left) :]
        os.fsync(self._file)
        self._length += len(data)

    def _take_back(self) -> None:
        """Cut off what was written in part, so that the next try begins on a whole line."""
        try:
            os.ftruncate(self._file, self._length)
        except OSError:
            self.warnings.append("The record could not be cut back to its last whole line.")

    def _told(self, error: OSError) -> str:
        why = {
            errno.ENOSPC: "The disk is full",
            errno.EDQUOT: "The disk quota is used up",
            errno.EFBIG: "The record may not grow",
            errno.EROFS: "The disk can only be read",
            errno.ENOENT: "The folder of the record is gone",
        }.get(error.errno or 0, f"The record cannot be written ({error.strerror})")
        return f"{why}: nothing is saved now. I hold {self.held} entries and try again."

    def close(self) -> None:
        """Write what is held if that works now, and let the record go."""
        try:
            self.append(())
        finally:
            os.close(self._file)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def _flush_folder(folder: Path) -> None:
    """Make the new file's name itself last through a power cut."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def verify(path: Path) -> Sequence[Fault]:
    """Return every fault of a record's chain, a torn last line included."""
    contents = read(path)
    faults = list(contents.faults)
    if contents.torn:
        faults.append(Fault(len(contents.entries) + 1, "the last line is cut off."))
    return faults
