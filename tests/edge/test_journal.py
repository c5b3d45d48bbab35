from __future__ import annotations

import hashlib
import json
import os
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from handsfree.edge.journal import Journal, read, verify
from handsfree.errors import JournalError
from handsfree.quantity import Kind, Reading
from handsfree.record.entries import (
    Calculated,
    Entry,
    FactSet,
    Frame,
    Noted,
    StepClosed,
)

AT = datetime(2026, 1, 5, 8, tzinfo=timezone(timedelta(hours=1)))
SHARED = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def note(text: str) -> Noted:
    return Noted(at=AT, text=text)


def texts(path: Path) -> list[str]:
    return [entry.text for entry in read(path).entries if isinstance(entry, Noted)]


readings = st.builds(
    Reading,
    st.fractions(max_denominator=64) | st.floats(allow_nan=False, allow_infinity=False),
    st.just("inch"),
    st.just(Kind.LENGTH),
)
entries = st.one_of(
    st.builds(Noted, at=st.just(AT), text=st.text(max_size=60)),
    st.builds(FactSet, at=st.just(AT), name=st.text(max_size=9), value=readings, words=st.text()),
    st.builds(
        Calculated,
        at=st.just(AT),
        calculator=st.just("x"),
        words=st.text(max_size=9),
        inputs=st.dictionaries(st.text(max_size=5), readings | st.booleans(), max_size=3),
        answers=st.dictionaries(st.text(max_size=5), st.tuples(readings, readings), max_size=3),
    ),
    st.builds(
        StepClosed,
        at=st.just(AT),
        procedure=st.just("cut"),
        step=st.just("3b"),
        how=st.just("done"),
        place=st.lists(st.builds(Frame, procedure=st.text(), step=st.text()), max_size=3).map(
            tuple
        ),
    ),
)


@given(batches=st.lists(st.lists(entries, max_size=4), max_size=6))
@SHARED
def test_what_was_appended_is_read_back(batches: list[list[Entry]], tmp_path: Path) -> None:
    path = tmp_path / f"{uuid4()}.jsonl"
    with Journal(path) as journal:
        for batch in batches:
            journal.append(batch)
    with Journal(path) as journal:
        assert list(journal.entries) == [entry for batch in batches for entry in batch]
    assert verify(path) == []


def test_rule_5_2_each_line_carries_the_hash_of_the_one_before(tmp_path: Path) -> None:
    """The rule is recomputed here with a general-purpose library (hashlib, FIPS 180-4)."""
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note("eins"), note("zwei \N{SNOWMAN} \n\r\x85\u2028")])
    with Journal(path) as journal:
        journal.append([note("three")])
    previous = "0" * 64
    lines = path.read_text(encoding="utf-8").split("\n")
    assert lines.pop() == ""
    clocks = []
    for number, line in enumerate(lines, start=1):
        data = json.loads(line)
        assert set(data) == {"boot", "mono", "entry", "given", "previous", "seq", "hash"}
        assert (data["seq"], data["previous"]) == (number, previous)
        digest = data["hash"]
        seal = f',"hash":"{digest}"'
        unsealed = f"{previous}\n{line.replace(seal, '')}"
        assert hashlib.sha256(unsealed.encode()).hexdigest() == digest
        previous = digest
        assert data["entry"]["at"].endswith("+01:00")
        clocks.append((data["boot"], data["mono"]))
    assert clocks[0] == clocks[1] < clocks[2]
    assert "\N{SNOWMAN}" in lines[1]


def test_rule_5_3_1_each_append_is_flushed_before_it_returns(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    flushed: list[tuple[bool, int]] = []
    real = os.fsync

    def fsync(handle: int) -> None:
        real(handle)
        what = os.fstat(handle)
        flushed.append((os.path.isdir(f"/proc/self/fd/{handle}"), what.st_size))  # noqa: PTH112

    monkeypatch.setattr(os, "fsync", fsync)
    path = tmp_path / "new" / "job.jsonl"
    with Journal(path) as journal:
        if Path("/proc/self/fd").exists():
            assert [folder for folder, _ in flushed] == [True, True]
        for count in range(3):
            flushed.clear()
            journal.append([note(str(count))] * (count + 1))
            assert [size for _, size in flushed] == [path.stat().st_size]
        flushed.clear()
        journal.append([])
        assert flushed == []


def test_half_a_character_pair_does_not_stop_the_record(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note("a\ud800b")])
        journal.append([note("after")])
    assert texts(path) == ["a?b", "after"]


# ---------------------------------------------------------------------------- power cuts


def test_rule_5_3_2_a_last_line_torn_at_any_byte_loses_only_itself(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note("one"), note("two")])
        whole = path.read_bytes()
        journal.append([note("three \N{SNOWMAN}")])
    full = path.read_bytes()
    for end in range(len(whole) + 1, len(full)):
        path.write_bytes(full[:end])
        assert [fault.line for fault in verify(path)] == [3]
        with Journal(path) as journal:
            assert [entry.text for entry in journal.entries] == ["one", "two"]  # type: ignore[union-attr]
            assert "cut off" in journal.warnings[0]
            assert path.read_bytes() == full[:end]
            journal.append([note("again")])
        assert texts(path) == ["one", "two", "again"]
        assert verify(path) == []
    kept = (tmp_path / "job.torn").read_bytes().splitlines()
    assert kept == [full[len(whole) : end] for end in range(len(whole) + 1, len(full))]


def test_a_torn_line_longer_than_the_next_leaves_nothing_behind(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note("one")])
        journal.append([note("x" * 5000)])
    path.write_bytes(path.read_bytes()[:-1])
    (tmp_path / "job.torn").mkdir()  # it cannot even be put aside
    with Journal(path) as journal:
        journal.append([note("two")])
    assert texts(path) == ["one", "two"]
    assert verify(path) == []


def test_rule_5_3_2_zeros_where_the_last_append_was_to_stand_are_a_torn_line(
    tmp_path: Path,
) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note("one")])
        good = path.read_bytes()
        journal.append([note("two"), note("three"), note("four")])
    tail = path.read_bytes()[len(good) :]
    first = tail.index(b"\n")
    for left in (b"\0" * len(tail), b"\0" * (first - 5) + tail[first - 5 :], tail[:30] + b"\0" * 9):
        path.write_bytes(good + left)
        with Journal(path) as journal:
            assert [entry.text for entry in journal.entries] == ["one"]  # type: ignore[union-attr]
            assert "cut off" in journal.warnings[0]
            journal.append([note("five")])
        assert texts(path) == ["one", "five"]
        assert verify(path) == []


def test_zeros_amid_what_was_written_at_different_times_are_damage(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        for text in ("one", "two", "three", "four"):
            journal.append([note(text)])
    data = path.read_bytes()
    path.write_bytes(data.replace(b"two", b"t\0o"))
    with pytest.raises(JournalError, match="Line 2"):
        Journal(path)
    assert path.read_bytes() == data.replace(b"two", b"t\0o")
    assert texts(path) == ["one", "three", "four"]


def test_rule_5_2_times_keep_their_offset(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([note("x"), Noted(at=AT.astimezone(UTC), text="y")])
    lines: list[dict[str, Any]] = [json.loads(line) for line in path.read_text().splitlines()]
    assert [line["entry"]["at"] for line in lines] == [
        "2026-01-05T08:00:00+01:00",
        "2026-01-05T07:00:00Z",
    ]
