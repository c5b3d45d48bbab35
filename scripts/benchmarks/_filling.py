"""A conversation whose disk is full again and again: it goes on, tells, holds, and writes later."""

from __future__ import annotations

import errno
import io
import os
import random
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from handsfree.app import Conversation
from handsfree.dialogue.events import Typed
from handsfree.dialogue.folding import folded
from handsfree.edge.journal import Journal, read
from handsfree.edge.terminal import Terminal
from handsfree.library import Library, library
from handsfree.record.entries import JobOpened, Noted

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


@dataclass
class Full:
    """What it came to: how often, by which means, the most held at once, and what was wrong."""

    times: int = 0
    means: str = ""
    most: int = 0
    written: int = 0
    wrong: list[str] = field(default_factory=list)


class _Disk:
    """A disk that can be filled to the last byte but a few, and freed."""

    means = "tmpfs"

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def fill(self, spare: int) -> None:
        """Leave so many bytes, counted in whole pages by the file system."""
        with (self.folder / "ballast").open("ab", buffering=0) as file:
            try:
                while True:
                    file.write(b"x" * 4096)
            except OSError:
                pass
            size = max(0, file.tell() - spare)
        os.truncate(self.folder / "ballast", size)

    def free(self) -> None:
        """Make room."""
        (self.folder / "ballast").unlink(missing_ok=True)


class _Layer(_Disk):
    """The same where nothing can be mounted: writes beyond so many bytes fail as on a full disk."""

    means = "a layer over write"

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self._real, self._left = os.write, 1 << 60

        def write(handle: int, data: bytes) -> int:
            if self._left <= 0:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            done = self._real(handle, bytes(data)[: self._left])
            self._left -= done
            return done

        os.write = write

    def fill(self, spare: int) -> None:
        """Let so many bytes through."""
        self._left = spare

    def free(self) -> None:
        """Let everything through."""
        self._left = 1 << 60

    def restore(self) -> None:
        """Put the system's own write back."""
        os.write = self._real


@contextmanager
def _disk(folder: Path) -> Iterator[_Disk]:
    place = folder / "small"
    place.mkdir()
    mounted = (
        os.geteuid() == 0
        and shutil.which("mount") is not None
        and not subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(place)],
            check=False,
            capture_output=True,
        ).returncode
    )
    if mounted:
        try:
            yield _Disk(place)
        finally:
            subprocess.run(["umount", "--lazy", str(place)], check=True)
        return
    layer = _Layer(place)
    try:
        yield layer
    finally:
        layer.restore()


def filled(folder: Path, times: int, seed: int = 0) -> Full:
    """Fill the disk under a conversation so often, at random writes; return what it came to."""
    found = Full()
    chance = random.Random(seed)  # noqa: S311 - dice
    known = library()
    with _disk(folder) as disk:
        found.means = disk.means
        for time in range(times):
            _once(disk, time, chance, known, found)
    return found


def _once(disk: _Disk, time: int, chance: random.Random, known: Library, found: Full) -> None:
    path = disk.folder / f"{time}.jsonl"
    out, errors = io.StringIO(), io.StringIO()
    with Journal(path) as journal:
        journal.append([JobOpened(at=AT, job="full")])
    with redirect_stderr(errors), Journal(path) as journal:
        talk = Conversation(known, journal, Terminal(out), clock=lambda: AT)
        count, full_at, free_at = 20, chance.randrange(3, 9), chance.randrange(10, 18)
        for number in range(count):
            if number == full_at:
                disk.fill(chance.randrange(0, 9000))
            if number == free_at:
                disk.free()
            at = AT + timedelta(seconds=number)
            before = len(read(path).entries)
            talk.handle(Typed(f"note number {number} " + "y" * chance.randrange(900), at))
            found.most = max(found.most, journal.held)
            said = out.getvalue().splitlines()[-1]
            on_disk = len(read(path).entries) > before
            if "Held, not saved" not in said and not on_disk:
                found.wrong.append(f"full {time}: '{said}' was said of what is not on the disk")
        if read(path).faults:
            found.wrong.append(f"full {time}: {read(path).faults[0]}")
    notes = [entry for entry in read(path).entries if isinstance(entry, Noted)]
    found.written += len(notes)
    if len(notes) != count:
        found.wrong.append(f"full {time}: {count - len(notes)} notes are lost")
    if folded(read(path).entries).entries != talk.state.job.entries:
        found.wrong.append(f"full {time}: the record is not the job")
    found.times += 1
    path.unlink()
