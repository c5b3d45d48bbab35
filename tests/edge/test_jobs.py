from __future__ import annotations

import errno
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from handsfree.edge import jobs
from handsfree.edge.journal import Journal
from handsfree.errors import JournalError
from handsfree.record.entries import JobOpened, Noted

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
RESERVED = {
    "con",
    "prn",
    "aux",
    "nul",
    *(f"{port}{n}" for port in ("com", "lpt") for n in range(10)),
}
"""Names that no file may have on Windows (Naming Files, Paths, and Namespaces; from memory)."""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HANDSFREE_JOBS", str(tmp_path))
    return tmp_path


def test_the_folder_is_the_setting_or_the_platforms(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HANDSFREE_JOBS", "~/elsewhere")
    assert jobs.folder() == Path.home() / "elsewhere"
    monkeypatch.delenv("HANDSFREE_JOBS")
    monkeypatch.setenv("XDG_DATA_HOME", "/data")
    assert jobs.folder().parts[-2:] == ("handsfree", "jobs")


@pytest.mark.parametrize(
    "name",
    [
        "roof unit",
        "a/b\\c:d",
        "🙂",
        "x" * 300,
        "",
        "..",
        "CON",
        "con",
        "Größe",
        "a/../../etc",
        "a\0b",
    ],
)
def test_any_name_is_a_job_of_its_own(folder: Path, name: str) -> None:
    with jobs.open_or_create(name, AT) as journal:
        assert isinstance(journal.entries[0], JobOpened)
    path = jobs.path_of(name)
    assert path.parent == folder
    assert path.exists()
    assert [job.name for job in jobs.listed()] == [name]
    with jobs.open_or_create(name, AT) as journal:
        assert len(journal.entries) == 1
    assert len(list(folder.iterdir())) == 1


@given(names=st.sets(st.text() | st.text("ab -", max_size=4) | st.sampled_from(sorted(RESERVED))))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_file_names_are_safe_everywhere_and_differ(names: set[str], folder: Path) -> None:
    import unicodedata  # noqa: PLC0415 - only here

    paths = [jobs.path_of(name) for name in names]
    assert len(set(paths)) == len({unicodedata.normalize("NFC", name) for name in names})
    for path in paths:
        assert path.parent == folder
        assert len(path.name) <= 64
        assert set(path.stem) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
        assert path.stem not in RESERVED
        assert path.suffix == ".jsonl"


def test_one_name_spelt_two_ways_in_unicode_is_one_job(folder: Path) -> None:
    assert jobs.path_of("Gro\u0308\u00dfe") == jobs.path_of("Gr\u00f6\u00dfe")
    assert jobs.path_of("Größe").parent == folder


def test_a_name_with_half_a_character_pair_is_a_job(folder: Path) -> None:
    with jobs.open_or_create("a\udce4", AT):
        pass
    assert jobs.path_of("a\udce4").exists()
    assert jobs.listed()[0].path.parent == folder


def test_jobs_are_listed_last_written_first(folder: Path) -> None:
    assert jobs.latest() is None
    with jobs.open_or_create("old", AT) as journal:
        journal.append([Noted(at=AT + timedelta(hours=2), text="again"), Noted(at=AT, text="x")])
        journal.append([Noted(at=AT + timedelta(hours=2), text="again")])
    with jobs.open_or_create("new", AT + timedelta(hours=1)):
        pass
    (folder / "stray.jsonl").write_text("no record\n")
    (folder / "empty.jsonl").write_text("")
    (folder / "list.jsonl").write_text('[1]\n{"entry": 3}\n')
    found = jobs.listed()
    assert [(job.name, job.entries, job.last) for job in found] == [
        ("old", 4, AT + timedelta(hours=2)),
        ("new", 1, AT + timedelta(hours=1)),
    ]
    assert jobs.latest() == found[0]
    assert found[0].path == jobs.path_of("old")


def test_a_job_whose_end_was_lost_is_still_listed(folder: Path) -> None:
    with jobs.open_or_create("cut", AT) as journal:
        journal.append([Noted(at=AT, text="x")])
    path = jobs.path_of("cut")
    data = path.read_bytes()
    path.write_bytes(data[:-9])
    assert [(job.name, job.entries, job.last) for job in jobs.listed()] == [("cut", 1, AT)]
    path.write_bytes(data[: data.index(b"\n") + 1] + b"\0" * 40 + b"\n")
    assert jobs.listed()[0].name == "cut"
    assert folder.exists()


def test_contents_come_with_their_faults(folder: Path) -> None:
    with jobs.open_or_create("one", AT) as journal:
        journal.append([Noted(at=AT, text="x")])
    assert [len(part) for part in jobs.contents("one")] == [2, 0]
    path = jobs.path_of("one")
    path.write_bytes(path.read_bytes().replace(b'"x"', b'"y"') + b"{")
    entries, faults = jobs.contents("one")
    assert len(entries) == 2
    assert [fault.line for fault in faults] == [2, 3]
    with pytest.raises(JournalError, match="no job 'other'"):
        jobs.contents("other")
    assert len(list(folder.iterdir())) == 1


def test_a_job_begun_on_a_full_disk_is_held_and_told(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fsync(handle: int) -> None:
        if os.fstat(handle).st_size and Path(f"/proc/self/fd/{handle}").is_file():
            raise OSError(errno.ENOSPC, "No space left on device")

    if not Path("/proc/self/fd").exists():
        pytest.skip("this system does not show open files")
    monkeypatch.setattr(os, "fsync", fsync)
    journal = jobs.open_or_create("full", AT)
    assert isinstance(journal, Journal)
    assert "disk is full: I hold 1 entry" in journal.warnings[0]
    monkeypatch.undo()
    monkeypatch.setenv("HANDSFREE_JOBS", str(folder))
    journal.close()
    assert [job.name for job in jobs.listed()] == ["full"]


def test_new_jobs_of_one_name_are_jobs_of_their_own(folder: Path) -> None:
    names = []
    with jobs.begun("2026-01-05 08.00", AT) as first, jobs.begun("2026-01-05 08.00", AT) as second:
        assert first.path != second.path
        first.append([Noted(at=AT, text="mine")])
    with jobs.begun("2026-01-05 08.00", AT):
        names = sorted(job.name for job in jobs.listed())
    assert names == ["2026-01-05 08.00", "2026-01-05 08.00 (2)", "2026-01-05 08.00 (3)"]
    assert len(list(folder.glob("*.jsonl"))) == 3


def test_a_stick_that_is_gone_is_told_and_not_made_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = tmp_path / "stick"
    monkeypatch.setenv("HANDSFREE_JOBS", str(stick / "jobs"))
    for act in (jobs.listed, jobs.latest, lambda: jobs.begun("roof", AT)):
        with pytest.raises(JournalError, match=r"is not there\. Put the stick"):
            act()
    assert not stick.exists()
    stick.mkdir()
    jobs.begun("roof", AT).close()
    assert [job.name for job in jobs.listed()] == ["roof"]
