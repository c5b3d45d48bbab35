from __future__ import annotations

import contextlib
import os
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from handsfree.edge import disk
from handsfree.edge.clocks import clock_steps
from handsfree.edge.journal import Journal
from handsfree.errors import JournalError
from handsfree.record.entries import Noted

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


class Clocks:
    """A wall clock and one that only goes forward, moved by hand."""

    def __init__(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.wall, self.forward, self.path = AT, 0.0, path
        monkeypatch.setattr(time, "monotonic_ns", lambda: int(self.forward * 1e9))
        monkeypatch.setattr(disk, "boot", lambda: self.boot)
        self.boot = "first"

    def passes(self, seconds: float, step: float = 0.0) -> None:
        self.wall += timedelta(seconds=seconds + step)
        self.forward += seconds

    def write(self) -> None:
        with Journal(self.path) as journal:
            journal.append([Noted(at=self.wall, text="x")])

    def told(self) -> list[tuple[int, float]]:
        return [(step.line, step.seconds) for step in clock_steps(self.path)]


@pytest.fixture
def clocks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Clocks:
    return Clocks(tmp_path / "job.jsonl", monkeypatch)


@pytest.mark.parametrize("step", [-3600.0, -40.0, 40.0, 86400.0])
def test_rule_5_3_5_a_clock_that_was_set_is_told_with_its_line(clocks: Clocks, step: float) -> None:
    clocks.write()
    clocks.passes(60)
    clocks.write()
    clocks.passes(60, step)
    clocks.write()
    assert clocks.told() == [(3, pytest.approx(step))]


def test_rule_5_3_5_a_night_without_power_is_no_step(clocks: Clocks) -> None:
    clocks.write()
    clocks.boot = "second"
    clocks.forward = 5.0
    clocks.wall += timedelta(hours=14)
    clocks.write()
    assert clocks.told() == []


def test_rule_5_3_5_a_clock_that_is_behind_after_a_start_is_told(clocks: Clocks) -> None:
    clocks.write()
    clocks.boot = "second"
    clocks.wall -= timedelta(hours=2)
    clocks.write()
    assert clocks.told() == [(2, pytest.approx(-7200))]


def test_entries_that_were_held_are_no_step(
    clocks: Clocks, monkeypatch: pytest.MonkeyPatch
) -> None:
    """They are written long after they were given."""

    def full(*_: object) -> int:
        raise OSError(28, "No space left on device")

    real = os.write
    with Journal(clocks.path) as journal:
        for number in range(3):
            monkeypatch.setattr(os, "write", real if number == 2 else full)
            with contextlib.suppress(JournalError):
                journal.append([Noted(at=clocks.wall, text=str(number))])
            assert journal.held == (0 if number == 2 else number + 1)
            clocks.passes(600)
    assert clocks.told() == []
    assert len(clocks.path.read_bytes().splitlines()) == 3


def test_lines_that_no_release_wrote_are_left_aside(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    path.write_bytes(
        b'{"entry": 1}\nnot json\n[]\n{"entry": {"at": "now"}, "given": "x", "boot": 1}\n'
    )
    assert list(clock_steps(path)) == []
