"""The journal of a job on disk: what is confirmed aloud has been flushed here first.

One entry a line, JSON, UTF-8, keys sorted, no spaces: the `boot`, the monotonic clock in
nanoseconds when the line was written (`mono`) and when its entry was `given`, the `entry`, the
hash `previous` of the line before, the number `seq`, and the `hash` of this line. That is the
SHA-256 of `previous`, a line feed, and the line without its `hash`. So a changed byte shows, and
so does a missing line, except that whole lines cut off the end leave no trace. The lines of one
append carry one `mono`.

A torn last line (the battery died while it was written) is left out and told; everything before
it is good.
"""

from __future__ import annotations

import contextlib
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

from handsfree.edge import disk
from handsfree.errors import HandsfreeError, JournalError
from handsfree.record.entries import SCHEMA, Entry, JobOpened, entry_from, entry_to
from handsfree.record.text import lines

FIRST = "0" * 64
"""What stands for the hash of the line before the first."""
ENDING = ".jsonl"
_UNREADABLE = (ValueError, LookupError, TypeError, ArithmeticError, RecursionError, HandsfreeError)
"""What data that no release wrote can raise on its way to being an entry."""


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
    """A record as read: its readable entries, the faults of its lines, and where they end.

    `lines` and `length` (bytes) count the whole lines; `torn` is what a power cut left after them.
    """

    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]
    torn: bytes
    last_hash: str
    lines: int
    length: int

    @property
    def all_faults(self) -> list[Fault]:
        """Return the faults of the lines, and the torn last line as one more."""
        torn = [Fault(self.lines + 1, "the last line is cut off.")] if self.torn else []
        return [*self.faults, *torn]


def _hash(previous: str, body: bytes) -> str:
    return hashlib.sha256(previous.encode(errors="replace") + b"\n" + body).hexdigest()


def _canonical(data: dict[str, Any]) -> bytes:
    """Return JSON in the one form that is hashed; half a character pair becomes `?`."""
    text = json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return text.encode(errors="replace")


def read(path: Path) -> Contents:
    """Return what a record holds, with every fault; raises `JournalError` if it can't be read."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise JournalError(f"The record {path} cannot be read: {error.strerror}.") from error
    lines, torn = _split(data)
    entries: list[Entry] = []
    faults: list[Fault] = []
    previous = FIRST
    for number, raw in enumerate(lines, start=1):
        entry, previous, problem = _read_line(raw, number, previous)
        if problem:
            faults.append(Fault(number, problem))
        if entry is not None:
            entries.append(entry)
    length = len(data) - len(torn)
    return Contents(tuple(entries), tuple(faults), torn, previous, len(lines), length)


def verify(path: Path) -> Sequence[Fault]:
    """Return every fault of a record, a torn last line included; raises `JournalError`."""
    return read(path).all_faults


def _split(data: bytes) -> tuple[list[bytes], bytes]:
    """Return the whole lines, and what a power cut left of the last append.

    That is a line without its end, or zeros where the file system had not put the text yet: then
    it goes from the zeros to the end, if all whole lines after them belong to one append.
    """
    lines = data.split(b"\n")
    end = len(lines) - 1
    if b"\0" in data:
        hole = next(number for number, line in enumerate(lines) if b"\0" in line)
        clocks = {_clock(line) for line in lines[hole + 1 : end]}
        if len(clocks) <= 1 and None not in clocks:
            end = hole
    return lines[:end], b"\n".join(lines[end:])


def _clock(raw: bytes) -> tuple[str, str] | None:
    try:
        line = json.loads(raw)
        return str(line["boot"]), str(line["mono"])
    except _UNREADABLE:
        return None


def _read_line(raw: bytes, number: int, previous: str) -> tuple[Entry | None, str, str]:
    """Return the entry of a line, the hash it goes by, and what is wrong with it (or nothing)."""
    try:
        line = json.loads(raw)
        told, before, sequence, data = (line[key] for key in ("hash", "previous", "seq", "entry"))
    except _UNREADABLE:
        return None, "", "this is not a line of a record."
    problem = ""
    body = _canonical({key: value for key, value in line.items() if key != "hash"})
    if told != _hash(str(before), body) or raw != _canonical(line):
        problem = "it was changed after it was written."
    elif before != previous:
        problem = "a line before it is missing or was changed."
    elif sequence != number:
        problem = f"it is numbered {sequence!s:.20}."
    try:
        entry = entry_from(data)
    except _UNREADABLE:
        kind = data.get("kind", "none") if isinstance(data, dict) else "none"
        newer = f"only a newer release can read it (kind {kind!s:.40}); use that one."
        return None, str(told), problem or newer
    if isinstance(entry, JobOpened) and entry.schema_version > SCHEMA:
        problem = (
            problem
            or f"it was begun by a newer release (schema {entry.schema_version}); use that one."
        )
    return entry, str(told), problem


class Journal:
    """The open record of a job.

    `entries` is what it held when it was opened, `warnings` what the person should be told then.
    """

    def __init__(self, path: Path) -> None:
        """Open or create the record; raises `JournalError` where that can't be done."""
        self.path = path
        self.warnings: list[str] = []
        self._waiting: list[dict[str, Any]] = []
        self._trouble = ""
        try:
            new_folder, new = not path.parent.exists(), not path.exists()
            path.parent.mkdir(parents=True, exist_ok=True)
            self._file = self._take(os.O_CREAT)
            if new:
                disk.flush_folder(path.parent)
            if new_folder:
                disk.flush_folder(path.parent.parent)
        except OSError as error:
            raise JournalError(
                f"The record {path} cannot be written: {error.strerror}. "
                "Free the folder or set HANDSFREE_JOBS to another one."
            ) from error
        try:
            contents = _continuable(path)
        except JournalError:
            os.close(self._file)
            raise
        self.entries = contents.entries
        self._number, self._previous = contents.lines, contents.last_hash
        self._length, self._torn = contents.length, contents.torn
        if self._torn:
            self.warnings.append(
                "The last line was cut off when the power went. Everything before it is there."
            )

    def _take(self, flags: int = 0) -> int:
        """Return the file at our path, open and locked; raises `OSError` or `JournalError`."""
        handle = os.open(self.path, os.O_RDWR | disk.BINARY | flags, 0o600)
        try:
            disk.lock(handle)
        except BlockingIOError as error:
            os.close(handle)
            raise JournalError(
                f"The job {self.path.stem} is open in another window. Close it there first."
            ) from error
        except OSError:
            self.warnings.append("This folder cannot tell whether another window has the job open.")
        return handle

    @property
    def held(self) -> int:
        """Return how many entries wait in memory because they could not be written."""
        return len(self._waiting)

    def append(self, entries: Iterable[Entry]) -> None:
        """Write entries and flush them to the disk before returning.

        Raises `JournalError` where that fails: they are then held in order, and written before
        the next ones; `append(())` tries again.
        """
        given = time.monotonic_ns()
        self._waiting += [{"entry": entry_to(entry), "given": given} for entry in entries]
        if not self._waiting:
            return
        text, number, previous = bytearray(), self._number, self._previous
        clock = {"boot": disk.boot(), "mono": time.monotonic_ns()}
        for waiting in self._waiting:
            number += 1
            line = {**clock, **waiting, "previous": previous, "seq": number}
            previous = _hash(previous, _canonical(line))
            text += _canonical({**line, "hash": previous}) + b"\n"
        try:
            self._write(bytes(text))
        except (OSError, JournalError) as error:
            self._trouble = _why(error)
            raise JournalError(
                f"{self._trouble}: I hold {self._held()}, not saved, and try again."
            ) from error
        length = self._length + len(text)
        # one statement without a call, so that Ctrl-C cannot come between its parts
        self._length, self._number, self._previous, self._waiting = length, number, previous, []

    def _write(self, text: bytes) -> None:
        """Write at the end of the whole lines, and flush; after an error they still end there."""
        self._reach()
        self._settle()
        try:
            os.lseek(self._file, self._length, os.SEEK_SET)
            _write_all(self._file, text)
        except OSError:
            with contextlib.suppress(OSError):  # else the next try cuts it off
                os.ftruncate(self._file, self._length)
            raise

    def _settle(self) -> None:
        """Cut off what is not a whole line; what a power cut left is kept beside the record."""
        if self._torn:
            with (
                contextlib.suppress(OSError),
                self.path.with_suffix(".torn").open("ab", buffering=0) as aside,
            ):
                _write_all(aside.fileno(), self._torn + b"\n")
                self._torn = b""
        if os.fstat(self._file).st_size > self._length:
            os.ftruncate(self._file, self._length)

    def _reach(self) -> None:
        """Make sure that what is open is the file at our path; raises `OSError` if it can't be.

        A card may have been pulled, or the file removed. What was written is still to be had from
        the open file then, and goes back to its place as soon as its folder is there.
        """
        ours = os.fstat(self._file)
        try:
            there = self.path.stat()
        except FileNotFoundError:
            lines = self._whole_lines()
            handle = self._take(os.O_CREAT | os.O_EXCL)
            try:
                _write_all(handle, lines)
                disk.flush_folder(self.path.parent)
            except OSError:
                os.close(handle)
                self.path.unlink()
                raise
        else:
            if (ours.st_dev, ours.st_ino) == (there.st_dev, there.st_ino):
                return
            handle = self._take()
            try:
                if _continuable(self.path).last_hash != self._previous:
                    raise FileExistsError(errno.EEXIST, "another file stands there")
            except (OSError, JournalError):
                os.close(handle)
                raise
        os.close(self._file)
        self._file = handle

    def _whole_lines(self) -> bytes:
        """Return what this record holds so far; raises `OSError` where its disk is gone."""
        os.lseek(self._file, 0, os.SEEK_SET)
        lines = bytearray()
        while len(lines) < self._length:
            block = os.read(self._file, self._length - len(lines))
            if not block:
                raise OSError(errno.EIO, "what was written can't be read back")
            lines += block
        return bytes(lines)

    def _held(self) -> str:
        return f"{self.held} {'entry' if self.held == 1 else 'entries'}"

    def close(self) -> None:
        """Let the record go; raises `JournalError` where what is held cannot be written now."""
        if self._file < 0:
            return
        try:
            self.append(())
        except JournalError as error:
            told = "\n".join(lines(entry_from(one["entry"]) for one in self._waiting))
            raise JournalError(
                f"{self._trouble}: {self._held()} could not be saved. Write down what it held:\n"
                f"{told}"
            ) from error
        finally:
            os.close(self._file)
            self._file = -1

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def _continuable(path: Path) -> Contents:
    """Return what a record holds; raises `JournalError` where nothing may be added to it."""
    contents = read(path)
    if contents.faults:
        raise JournalError(
            f"Nothing can be added to the record {path.name}. {contents.faults[0]} "
            "It can be read with 'handsfree record'; begin a new job with --new."
        )
    return contents


def _write_all(handle: int, text: bytes) -> None:
    """Write where the file stands, and flush; raises `OSError`."""
    left = memoryview(text)
    while left:
        left = left[os.write(handle, left) :]
    disk.flush(handle)


def _why(error: OSError | JournalError) -> str:
    """Return what keeps the record from being written, to be followed by what comes of it."""
    if isinstance(error, JournalError):
        return str(error).rstrip(".")
    return {
        errno.ENOSPC: "The disk is full",
        errno.EDQUOT: "The disk quota is used up",
        errno.EFBIG: "The record may not grow",
        errno.EROFS: "The disk can only be read",
        errno.ENOENT: "The folder of the record is gone",
        errno.EEXIST: "Another file stands in the record's place",
    }.get(error.errno or 0, f"The record cannot be written ({error.strerror})")
