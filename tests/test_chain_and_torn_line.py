"""Rules 5.2 and 5.3.2 as the user meets them: a record that was altered, and one that was torn."""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from handsfree.cli import main
from handsfree.edge import jobs

JOB = "Roof unit"
TALK = ("I'm Sam", "the tube is three eighths", "start a cut", "note Wall is soft")
Lines = list[bytes]


@pytest.fixture
def chat(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Path]:
    """Return what types lines into the job, and gives its record."""
    monkeypatch.setenv("HANDSFREE_JOBS", str(tmp_path / "jobs"))

    def typed(*lines: str) -> Path:
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        assert main(["chat", "--job", JOB]) == 0
        return jobs.path_of(JOB)

    return typed


def first_broken(lines: Lines) -> int:
    """Return the first line (from 1) that breaks the published rule, with hashlib (FIPS 180-4)."""
    previous = "0" * 64
    for number, raw in enumerate(lines, start=1):
        line = json.loads(raw)
        digest = line.pop("hash")
        body = json.dumps(line, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
        own = hashlib.sha256(f"{previous}\n{body}".encode()).hexdigest()
        if (line["previous"], line["seq"], own) != (previous, number, digest):
            return number
        previous = digest
    return 0


def edited(lines: Lines) -> Lines:
    return [line.replace(b"Wall is soft", b"Wall is firm") for line in lines]


def back_dated(lines: Lines) -> Lines:
    before = json.loads(lines[3])["entry"]["at"]
    after = f"1999{before[4:]}"
    return [*lines[:3], lines[3].replace(before.encode(), after.encode()), *lines[4:]]


def dropped(lines: Lines) -> Lines:
    return [*lines[:2], *lines[3:]]


def swapped(lines: Lines) -> Lines:
    return [lines[0], lines[2], lines[1], *lines[3:]]


def repeated(lines: Lines) -> Lines:
    return [*lines[:2], lines[1], *lines[2:]]


def beheaded(lines: Lines) -> Lines:
    return lines[1:]


@pytest.mark.parametrize("alter", [edited, back_dated, dropped, swapped, repeated, beheaded])
def test_rule_5_2_the_chain_of_hashes_shows_what_was_altered_and_where(
    chat: Callable[..., Path],
    alter: Callable[[Lines], Lines],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = chat(*TALK)
    lines = path.read_bytes().splitlines(keepends=True)
    assert first_broken(lines) == 0
    assert main(["record", JOB, "--verify"]) == 0
    broken = alter(lines)
    path.write_bytes(b"".join(broken))
    capsys.readouterr()
    page = tmp_path / "c.html"
    assert main(["record", JOB, "--verify", "--certificate", str(page)]) == 4
    told = capsys.readouterr().err
    assert told.startswith(f"Line {first_broken(broken)}: ")
    assert "ALTERED" in page.read_text(encoding="utf-8")
    assert main(["chat", "--job", JOB]) == 4
    assert path.read_bytes() == b"".join(broken), "what was altered is evidence: it is left alone"


@pytest.mark.parametrize("share", [0.02, 0.5, 0.98])
def test_rule_5_3_2_a_torn_last_line_is_dropped_and_all_before_it_is_good(
    chat: Callable[..., Path], share: float, capsys: pytest.CaptureFixture[str]
) -> None:
    path = chat(*TALK)
    chat("where am I")
    before = capsys.readouterr().out.splitlines()[-2:]
    good = path.read_bytes()
    chat("the tube is half inch")
    line = path.read_bytes().splitlines(keepends=True)[-1]
    assert b'"fact set"' in line
    whole = path.read_bytes()[: -len(line)]
    path.write_bytes(whole + line[: int(len(line) * share)])
    capsys.readouterr()
    number = whole.count(b"\n") + 1
    assert main(["record", JOB, "--verify"]) == 4
    assert f"Line {number}: the last line is cut off." in capsys.readouterr().err
    chat("where am I", "note Power is back")
    told = capsys.readouterr()
    assert "The last line was cut off when the power went." in told.err
    assert "Everything before it is there." in told.err
    assert "\n".join(before) in told.out, "the place is that before the line which was torn"
    assert path.read_bytes().startswith(good)
    assert main(["record", JOB, "--verify"]) == 0
    assert main(["record", JOB]) == 0
    kept = capsys.readouterr().out
    assert "fact size: 3/8 in" in kept
    assert "fact size: 1/2 in" not in kept
    assert "note: Power is back" in kept
