"""Second copies of the jobs: out to another folder, and back in; nothing newer is overwritten."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from handsfree.edge import disk
from handsfree.edge.journal import ENDING, verify
from handsfree.errors import JournalError

Outcome = Literal["copied", "added to", "there already", "newer there", "differs", "open"]
FAULTLESS: tuple[Outcome, ...] = ("copied", "added to", "there already", "newer there")


@dataclass(frozen=True, slots=True)
class Copied:
    """What came of one record: its file, the outcome, and how many faults it has."""

    file: str
    outcome: Outcome
    faults: int

    def __str__(self) -> str:
        """Return it as a line."""
        told = {
            "differs": "another record stands there under this name; nothing was changed",
            "open": "is open in another window; close it there first",
        }.get(self.outcome, self.outcome)
        return f"{self.file}: {told}" + (f"; {self.faults} faults in it" if self.faults else "")


def copy_jobs(source: Path, target: Path) -> Iterator[Copied]:
    """Copy every record of a folder into another one, flushed; yield what came of each.

    A record that stands there already is only ever added to. Raises `JournalError` where a folder
    or a file cannot be read or written.
    """
    if not source.is_dir():
        raise JournalError(f"There is no folder {source}.")
    try:
        target.mkdir(parents=True, exist_ok=True)
        for path in sorted(source.glob(f"*{ENDING}")):
            yield _copy(path, target / path.name)
    except OSError as error:
        raise JournalError(
            f"The copy into {target} stopped: {error.strerror}. What is copied so far is whole."
        ) from error


def copy_record(path: Path, folder: Path) -> None:
    """Copy one record into a folder that is there, flushed and read back.

    Raises `JournalError` where that can't be done, or what stands there is no copy of it.
    """
    if not folder.is_dir():
        raise JournalError(f"{folder} is not there. Put the card in, or choose another folder.")
    if folder.resolve() == path.parent.resolve():
        raise JournalError(f"{folder} is the folder of the jobs itself. Choose another one.")
    try:
        copied = _copy(path, folder / path.name)
    except (OSError, JournalError) as error:
        why = error.strerror if isinstance(error, OSError) else str(error).rstrip(".")
        raise JournalError(f"The copy into {folder} stopped: {why}.") from error
    if copied.outcome not in FAULTLESS or copied.faults:
        raise JournalError(f"{copied}.")


def _copy(path: Path, there: Path) -> Copied:
    """Copy one record; a last line that is being written is left for the next time."""
    text = path.read_bytes()
    text = text[: text.rfind(b"\n") + 1]
    faults = len(verify(path))
    if not there.exists():
        _put(text, there)
        return Copied(path.name, "copied", faults)
    held = there.read_bytes()
    if held == text:
        return Copied(path.name, "there already", faults)
    if held.startswith(text):
        return Copied(path.name, "newer there", faults)
    if not text.startswith(held[: held.rfind(b"\n") + 1]):
        return Copied(path.name, "differs", faults)
    with there.open("r+b") as file:
        try:
            disk.lock(file.fileno())
        except BlockingIOError:
            return Copied(path.name, "open", faults)
        _put(text, there)
    return Copied(path.name, "added to", faults)


def _put(text: bytes, there: Path) -> None:
    """Put a whole file in its place at once: a power cut leaves the old one or the new one."""
    new = there.with_suffix(".new")
    try:
        _write_and_read(text, new)
        new.replace(there)
    except OSError:
        new.unlink(missing_ok=True)
        raise
    disk.flush_folder(there.parent)


def _write_and_read(text: bytes, new: Path) -> None:
    """Write a file, flushed, and read it back from the disk; raises `OSError` where it differs."""
    new.touch(mode=0o600)  # names and words of people are in it
    with new.open("w+b") as file:
        file.write(text)
        file.flush()
        disk.flush(file.fileno())
        disk.forget(file.fileno())
        file.seek(0)
        if file.read() != text:
            raise OSError(errno.EIO, "what was written is not what is read back")
