from __future__ import annotations

import contextlib
import errno
import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from handsfree.edge.journal import Journal, read, verify
from handsfree.errors import JournalError
from handsfree.record.entries import (
    JobOpened,
    Noted,
)

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


def note(text: str) -> Noted:
    return Noted(at=AT, text=text)


def texts(path: Path) -> list[str]:
    return [entry.text for entry in read(path).entries if isinstance(entry, Noted)]


def test_a_short_write_leaves_whole_lines_and_holds_the_rest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "job.jsonl"
    real = os.write
    room = 700

    def write(handle: int, data: bytes) -> int:
        nonlocal room
        if room <= 0:
            raise OSError(errno.ENOSPC, "No space left on device")
        count = min(room, len(data))
        room -= count
        return real(handle, bytes(data)[:count])

    with Journal(path) as journal:
        journal.append([note("one")])
        before = path.read_bytes()
        monkeypatch.setattr(os, "write", write)
        with pytest.raises(
            JournalError, match=r"disk is full: I hold 3 entries, not saved, and try again"
        ):
            journal.append([note("two"), note("three"), note("four")])
        assert path.read_bytes() == before
        with pytest.raises(JournalError, match="I hold 3 entries"):
            journal.append(())
        monkeypatch.setattr(os, "write", real)
        journal.append([note("five")])
        assert journal.held == 0
    assert texts(path) == ["one", "two", "three", "four", "five"]
    assert verify(path) == []


def test_a_failed_flush_is_not_believed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After a failed fsync a second one can report success for pages that were dropped."""
    path = tmp_path / "job.jsonl"
    real = os.fsync

    def fsync(handle: int) -> None:
        assert handle
        raise OSError(errno.EIO, "Input/output error")

    with Journal(path) as journal:
        journal.append([note("one")])
        size = path.stat().st_size
        monkeypatch.setattr(os, "fsync", fsync)
        with pytest.raises(JournalError, match="I hold 1 entry, not saved, and try again"):
            journal.append([note("two")])
        assert (path.stat().st_size, journal.held) == (size, 1)
        monkeypatch.setattr(os, "fsync", real)
    assert texts(path) == ["one", "two"]


def test_what_cannot_be_saved_at_the_end_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fsync(handle: int) -> None:
        assert handle
        raise OSError(errno.ENOSPC, "No space left on device")

    journal = Journal(tmp_path / "job.jsonl")
    monkeypatch.setattr(os, "fsync", fsync)
    with pytest.raises(JournalError, match="I hold 2"):
        journal.append([note("one"), note("two")])
    with pytest.raises(JournalError, match=r"The disk is full: 2 entries could not be saved\."):
        journal.close()
    journal.close()
    monkeypatch.undo()
    Journal(tmp_path / "job.jsonl").close()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    disk = tmp_path / "disk"
    disk.mkdir()
    if os.geteuid() != 0 or shutil.which("mount") is None:
        pytest.skip("only root can mount a small disk")
    command = ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(disk)]
    if subprocess.run(command, check=False, capture_output=True).returncode:
        pytest.skip("this machine does not allow a small disk to be mounted")
    yield disk
    subprocess.run(["umount", "--lazy", str(disk)], check=True)


def fill(disk: Path) -> Path:
    """Leave not a byte of the disk free, and return the file to remove for room."""
    ballast = disk / "ballast"
    with contextlib.suppress(OSError), ballast.open("wb", buffering=0) as file:
        while True:
            file.write(b"x" * 1024)
    assert shutil.disk_usage(disk).free == 0
    return ballast


def test_a_disk_that_is_really_full(small_disk: Path) -> None:
    path = small_disk / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note("first")])
        ballast = fill(small_disk)
        many = [note(f"{number} " + "y" * 300) for number in range(50)]
        with pytest.raises(JournalError, match="The disk is full: I hold 50 entries"):
            journal.append(many)
        assert texts(path) == ["first"]
        with pytest.raises(JournalError, match="The disk is full: I hold 51 entries"):
            journal.append([note("more")])
        ballast.unlink()
        journal.append([note("last")])
        assert journal.held == 0
    assert texts(path) == ["first", *(entry.text for entry in many), "more", "last"]
    assert verify(path) == []


def test_a_disk_that_can_only_be_read_is_told(small_disk: Path) -> None:
    path = small_disk / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note("kept")])
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(JournalError, match=r"Read-only.*set HANDSFREE_JOBS"):
        Journal(path)
    with pytest.raises(JournalError, match=r"Read-only.*set HANDSFREE_JOBS"):
        Journal(small_disk / "new" / "job.jsonl")
    assert texts(path) == ["kept"]


def test_a_record_that_may_not_grow_holds_entries(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    with Journal(path) as journal:
        journal.append([note("one")])
        resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size + 100, hard))
        try:
            with pytest.raises(JournalError, match="The record may not grow: I hold 2 entries"):
                journal.append([note("two"), note("three")])
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        assert texts(path) == ["one"]
    assert texts(path) == ["one", "two", "three"]


def test_a_folder_that_is_pulled_and_comes_back_gets_what_was_held(tmp_path: Path) -> None:
    card, away = tmp_path / "card", tmp_path / "away"
    path = card / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note("one")])
        card.rename(away)
        with pytest.raises(JournalError, match="folder of the record is gone: I hold 1 entry"):
            journal.append([note("two")])
        assert texts(away / "job.jsonl") == ["one"]
        shutil.copytree(away, card)  # the same record, as another file
        journal.append([note("three")])
        assert texts(path) == ["one", "two", "three"]
        assert texts(away / "job.jsonl") == ["one"]
    assert verify(path) == []


def test_a_record_that_was_removed_is_put_back_whole(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note("one")])
        path.unlink()
        journal.append([note("two")])
        assert texts(path) == ["one", "two"]
        with pytest.raises(JournalError, match="another window"):
            Journal(path)
    assert verify(path) == []


def test_another_file_in_the_records_place_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    other = tmp_path / "other.jsonl"
    with Journal(other) as journal:
        journal.append([note("other")])
    journal = Journal(path)
    journal.append([note("one")])
    shutil.copy(other, tmp_path / "copy")
    (tmp_path / "copy").rename(path)
    with pytest.raises(JournalError, match=r"Another file stands in .* I hold 1 entry"):
        journal.append([note("two")])
    assert texts(path) == ["other"]
    path.unlink()
    journal.close()
    assert texts(path) == ["one", "two"]


def test_a_folder_that_cannot_be_made_says_what_to_do(tmp_path: Path) -> None:
    blocker = tmp_path / "file"
    blocker.write_text("in the way")
    with pytest.raises(JournalError, match="HANDSFREE_JOBS"):
        Journal(blocker / "job.jsonl")


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_says_what_to_do(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(JournalError, match=r"Permission denied.*HANDSFREE_JOBS"):
            Journal(tmp_path / "job.jsonl")
    finally:
        tmp_path.chmod(0o700)


SECOND = """
import sys
from pathlib import Path
from handsfree.edge.journal import Journal, read
from handsfree.errors import JournalError
path = Path(sys.argv[1])
try:
    Journal(path)
except JournalError as error:
    print(error, len(read(path).entries))
"""


def test_a_second_process_is_told_and_may_still_read(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([JobOpened(at=AT, job="x")])
        done = subprocess.run(
            [sys.executable, "-c", SECOND, str(path)], capture_output=True, text=True, check=True
        )
        assert done.stdout == "The job job is open in another window. Close it there first. 1\n"
    Journal(path).close()
