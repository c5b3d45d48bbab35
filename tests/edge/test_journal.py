from __future__ import annotations

import errno
import os
import random
import signal
import subprocess
import sys
import textwrap
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from handsfree.edge import jobs
from handsfree.edge.journal import Journal, read, verify
from handsfree.errors import JournalError
from handsfree.record.entries import FactSet, JobOpened, Noted

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


def note(text: str) -> Noted:
    return Noted(at=AT, text=text)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HANDSFREE_JOBS", str(tmp_path))
    return tmp_path


@given(texts=st.lists(st.text(max_size=60), max_size=12))
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_what_was_appended_is_read_back(texts: list[str], tmp_path: Path) -> None:
    path = tmp_path / f"{uuid4()}.jsonl"
    texts = [text.encode("utf-8", "replace").decode() for text in texts]
    with Journal(path) as journal:
        for text in texts:
            journal.append([note(text)])
    with Journal(path) as journal:
        assert [entry.text for entry in journal.entries] == texts  # type: ignore[union-attr]
    assert verify(path) == []


def test_a_last_line_torn_at_any_byte_loses_only_itself(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note("one"), note("two")])
        whole = path.read_bytes()
        journal.append([note("three")])
    full = path.read_bytes()
    for end in range(len(whole) + 1, len(full)):
        path.write_bytes(full[:end])
        with Journal(path) as journal:
            assert [entry.text for entry in journal.entries] == ["one", "two"]  # type: ignore[union-attr]
            assert "cut off" in journal.warnings[0]
            journal.append([note("again")])
        assert [entry.text for entry in read(path).entries] == ["one", "two", "again"]  # type: ignore[union-attr]
        assert verify(path) == []
    assert (tmp_path / "job.torn").exists()


@pytest.mark.parametrize("change", ["edit", "drop", "swap"])
def test_a_record_that_was_altered_says_where(tmp_path: Path, change: str) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note(text) for text in ("one", "two", "three", "four")])
    lines = path.read_bytes().splitlines(keepends=True)
    if change == "edit":
        lines[1] = lines[1].replace(b"two", b"TWO")
    elif change == "drop":
        del lines[1]
    else:
        lines[1], lines[2] = lines[2], lines[1]
    path.write_bytes(b"".join(lines))
    assert verify(path)[0].line == 2
    with pytest.raises(JournalError, match="Line 2"):
        Journal(path)
    assert len(read(path).entries) == len(lines)


def test_a_newer_record_is_told_in_one_sentence(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([JobOpened(at=AT, job="x", schema_version=99)])
    with pytest.raises(JournalError, match="newer release"):
        Journal(path)


def test_a_file_that_is_no_record_is_told(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    path.write_bytes(b"\x00\xff not json\n[1]\n3\n")
    with pytest.raises(JournalError, match="not a line of a record"):
        Journal(path)


def test_a_second_process_is_told(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path), pytest.raises(JournalError, match="open in another window"):
        Journal(path)


def test_a_full_disk_holds_entries_and_writes_them_later(
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
        monkeypatch.setattr(os, "write", write)
        with pytest.raises(JournalError, match=r"disk is full.*hold 3 entries"):
            journal.append([note("two"), note("three"), note("four")])
        assert [entry.text for entry in read(path).entries] == ["one"]  # type: ignore[union-attr]
        monkeypatch.setattr(os, "write", real)
        journal.append([note("five")])
    texts = [entry.text for entry in read(path).entries]  # type: ignore[union-attr]
    assert texts == ["one", "two", "three", "four", "five"]
    assert verify(path) == []


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can mount a small disk")
def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(disk)], check=False
    )
    if mounted.returncode:
        pytest.skip("this machine does not allow a small disk to be mounted")
    try:
        with Journal(disk / "job.jsonl") as journal:
            journal.append([note("first")])
            ballast = disk / "ballast"
            with ballast.open("wb", buffering=0) as file, suppress(OSError):
                while file.write(b"x" * 1024):
                    pass
            notes = [note(f"{number} " + "y" * 300) for number in range(100)]
            with pytest.raises(JournalError, match="disk is full"):
                journal.append(notes)
            held = journal.held
            assert held > 0
            ballast.unlink()
            journal.append([note("last")])
            assert journal.held == 0
            assert verify(disk / "job.jsonl") == []
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_folder_that_cannot_be_written_says_what_to_do(folder: Path) -> None:
    blocker = folder / "file"
    blocker.write_text("in the way")
    with pytest.raises(JournalError, match="HANDSFREE_JOBS"):
        Journal(blocker / "job.jsonl")


@pytest.mark.parametrize(
    "name", ["roof unit", "a/b\\c:d", "🙂", "x" * 300, "", "..", "CON", "Größe", "a/../../etc"]
)
def test_any_name_is_a_job_of_its_own(folder: Path, name: str) -> None:
    with jobs.open_or_create(name, AT):
        pass
    path = jobs.path_of(name)
    assert path.parent == folder
    assert path.exists()
    assert jobs.listed()[0].name == name
    others = [jobs.path_of(other) for other in (name + "x", name.upper() + "!")]
    assert path not in others


def test_jobs_are_listed_last_first(folder: Path) -> None:
    assert jobs.latest() is None
    with jobs.open_or_create("old", AT):
        pass
    with jobs.open_or_create("new", AT.replace(hour=9)):
        pass
    (folder / "stray.jsonl").write_text("no record\n")
    assert [job.name for job in jobs.listed()] == ["new", "old"]
    with pytest.raises(JournalError, match="no job 'other'"):
        jobs.contents("other")


WRITER = textwrap.dedent("""
    import sys
    from datetime import UTC, datetime
    from pathlib import Path
    from handsfree.edge.journal import Journal
    from handsfree.record.entries import FactSet
    at = datetime(2026, 1, 5, 8, tzinfo=UTC)
    journal = Journal(Path(sys.argv[1]))
    number = len(journal.entries)
    print("ready", flush=True)
    while True:
        journal.append([FactSet(at=at, name="n", value=str(number), words="w" * (number % 90))])
        sys.stdout.write(f"{number}\\n")
        sys.stdout.flush()
        number += 1
""")


def test_two_hundred_kills_lose_nothing_acknowledged(tmp_path: Path) -> None:
    """The writer is killed at a random moment, 200 times; what it acknowledged must be there."""
    path = tmp_path / "job.jsonl"
    chance = random.Random(7)  # noqa: S311 - a test's dice
    acknowledged = -1
    waiting = _writer(path)
    for _ in range(200):
        process = waiting
        assert process.stdout is not None
        lines = chance.randrange(1, 8)
        for _ in range(lines):
            line = process.stdout.readline().strip()
            if line.isdigit():
                acknowledged = max(acknowledged, int(line))
        process.send_signal(signal.SIGKILL)
        rest = process.stdout.read().split("\n")
        process.wait()
        process.stdout.close()
        acknowledged = max([acknowledged, *(int(line) for line in rest[:-1] if line.isdigit())])
        contents = read(path)
        assert len(contents.entries) > acknowledged
        assert contents.faults == ()
        assert all(
            isinstance(entry, FactSet) and entry.value == str(number)
            for number, entry in enumerate(contents.entries)
        )
        waiting = _writer(path)
    waiting.kill()
    waiting.wait()
    assert waiting.stdout is not None
    waiting.stdout.close()
    assert acknowledged > 200


def _writer(path: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True
    )
