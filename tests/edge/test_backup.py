from __future__ import annotations

import errno
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from handsfree.edge.backup import copy_jobs
from handsfree.edge.journal import Journal, verify
from handsfree.errors import JournalError
from handsfree.record.entries import Noted

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


def write(path: Path, *texts: str) -> None:
    with Journal(path) as journal:
        journal.append([Noted(at=AT, text=text) for text in texts])


def outcomes(source: Path, target: Path) -> dict[str, str]:
    return {copied.file: copied.outcome for copied in copy_jobs(source, target)}


def test_rule_5_3_7_a_second_copy_grows_with_the_record(tmp_path: Path) -> None:
    jobs, stick = tmp_path / "jobs", tmp_path / "stick"
    write(jobs / "a.jsonl", "one")
    assert outcomes(jobs, stick) == {"a.jsonl": "copied"}
    assert outcomes(jobs, stick) == {"a.jsonl": "there already"}
    write(jobs / "a.jsonl", "two")
    assert outcomes(jobs, stick) == {"a.jsonl": "added to"}
    assert (stick / "a.jsonl").read_bytes() == (jobs / "a.jsonl").read_bytes()
    assert [path.name for path in stick.iterdir()] == ["a.jsonl"]


def test_an_older_copy_never_beats_a_newer_record(tmp_path: Path) -> None:
    jobs, stick = tmp_path / "jobs", tmp_path / "stick"
    write(jobs / "a.jsonl", "one")
    outcomes(jobs, stick)
    write(jobs / "a.jsonl", "two")
    before = (jobs / "a.jsonl").read_bytes()
    assert outcomes(stick, jobs) == {"a.jsonl": "newer there"}
    assert (jobs / "a.jsonl").read_bytes() == before


def test_another_record_of_the_same_name_is_left_alone(tmp_path: Path) -> None:
    jobs, stick = tmp_path / "jobs", tmp_path / "stick"
    write(jobs / "a.jsonl", "ours")
    write(stick / "a.jsonl", "theirs")
    before = (jobs / "a.jsonl").read_bytes()
    assert outcomes(stick, jobs) == {"a.jsonl": "differs"}
    assert (jobs / "a.jsonl").read_bytes() == before


def test_a_job_that_is_open_is_not_replaced_and_can_be_copied_out(tmp_path: Path) -> None:
    jobs, stick = tmp_path / "jobs", tmp_path / "stick"
    write(jobs / "a.jsonl", "one")
    outcomes(jobs, stick)
    write(stick / "a.jsonl", "two")
    with Journal(jobs / "a.jsonl"):
        assert outcomes(stick, jobs) == {"a.jsonl": "open"}
        shutil.rmtree(stick)
        assert outcomes(jobs, stick) == {"a.jsonl": "copied"}


def test_a_line_that_is_being_written_is_left_for_the_next_copy(tmp_path: Path) -> None:
    jobs, stick = tmp_path / "jobs", tmp_path / "stick"
    write(jobs / "a.jsonl", "one", "two")
    whole = (jobs / "a.jsonl").read_bytes()
    (jobs / "a.jsonl").write_bytes(whole[:-20])
    outcomes(jobs, stick)
    assert verify(stick / "a.jsonl") == []
    (jobs / "a.jsonl").write_bytes(whole)
    assert outcomes(jobs, stick) == {"a.jsonl": "added to"}


def test_an_altered_record_is_copied_and_its_faults_are_told(tmp_path: Path) -> None:
    jobs = tmp_path / "jobs"
    write(jobs / "a.jsonl", "one", "two")
    text = (jobs / "a.jsonl").read_text(encoding="utf-8")
    (jobs / "a.jsonl").write_text(text.replace('"one"', '"won"'), encoding="utf-8")
    (copied,) = copy_jobs(jobs, tmp_path / "stick")
    assert copied.faults == 1
    assert "1 faults in it" in str(copied)


def test_a_full_stick_keeps_what_it_had(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    jobs, stick = tmp_path / "jobs", tmp_path / "stick"
    write(jobs / "a.jsonl", "one")
    outcomes(jobs, stick)
    before = (stick / "a.jsonl").read_bytes()
    write(jobs / "a.jsonl", "two")

    def full(*_: Any) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("handsfree.edge.disk.flush", full)
    with pytest.raises(JournalError, match="No space left"):
        list(copy_jobs(jobs, stick))
    assert (stick / "a.jsonl").read_bytes() == before
    assert [path.name for path in stick.iterdir()] == ["a.jsonl"]


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="There is no folder"):
        list(copy_jobs(tmp_path / "pulled", tmp_path))
