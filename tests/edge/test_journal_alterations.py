from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from handsfree.edge.journal import Journal, read, verify
from handsfree.errors import JournalError
from handsfree.quantity import Kind, Reading
from handsfree.record.entries import (
    FactSet,
    Noted,
)

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
TIME = "2026-01-05T08:00:00Z"
SHARED = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def note(text: str) -> Noted:
    return Noted(at=AT, text=text)


def texts(path: Path) -> list[str]:
    return [entry.text for entry in read(path).entries if isinstance(entry, Noted)]


def sealed(number: int, previous: str, entry: object) -> tuple[bytes, str]:
    """Return a line made by the rule that the journal's docstring publishes, and its hash."""
    body = {"boot": "b", "entry": entry, "mono": number, "previous": previous, "seq": number}
    digest = hashlib.sha256(f"{previous}\n{plain(body)}".encode()).hexdigest()
    return f"{plain({**body, 'hash': digest})}\n".encode(), digest


def plain(data: object) -> str:
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def forged(*entries: object) -> bytes:
    previous, lines = "0" * 64, b""
    for number, entry in enumerate(entries, start=1):
        line, previous = sealed(number, previous, entry)
        lines += line
    return lines


@pytest.fixture(scope="module")
def four(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("four") / "job.jsonl"
    with Journal(path) as journal:
        for text in ("one", "two", "three", "four"):
            journal.append([note(text)])
    return path.read_bytes()


@given(data=st.data())
@settings(SHARED, max_examples=300)
def test_rule_5_2_no_changed_byte_goes_unseen(
    four: bytes, data: st.DataObject, tmp_path: Path
) -> None:
    place = data.draw(st.integers(0, len(four) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda value: value != four[place]))
    path = tmp_path / "job.jsonl"
    path.write_bytes(four[:place] + bytes([byte]) + four[place + 1 :])
    line = four[:place].count(b"\n") + 1
    faults = verify(path)
    assert faults
    assert faults[0].line in (line, line + 1)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'{"boot"', b'{ "boot"'),
        (b'"text":"two"', b'"text":"two","text":"two"'),
        (b'"text":"two"', b'"text":"one","text":"two"'),
        (b'"text":"two"', b'"text":"t\\u0077o"'),
        (b"\n", b"\r\n"),
        (b'"hash":"', b'"hash":"0'),
    ],
)
def test_another_spelling_of_the_same_data_is_a_change(
    four: bytes, old: bytes, new: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "job.jsonl"
    lines = four.splitlines(keepends=True)
    lines[1] = lines[1].replace(old, new, 1)
    path.write_bytes(b"".join(lines))
    assert str(verify(path)[0]) == "Line 2: it was changed after it was written."
    assert texts(path) == ["one", "two", "three", "four"]


@pytest.mark.parametrize("change", ["edit", "drop", "swap", "double"])
def test_rule_5_2_a_record_that_was_altered_says_where(
    four: bytes, tmp_path: Path, change: str
) -> None:
    path = tmp_path / "job.jsonl"
    lines = four.splitlines(keepends=True)
    if change == "edit":
        lines[1] = lines[1].replace(b"two", b"TWO")
    elif change == "drop":
        del lines[1]
    elif change == "swap":
        lines[1], lines[2] = lines[2], lines[1]
    else:
        lines.insert(1, lines[0])
    path.write_bytes(b"".join(lines))
    assert verify(path)[0].line == 2
    with pytest.raises(JournalError, match=r"Line 2.*begin a new job with --new"):
        Journal(path)
    assert path.read_bytes() == b"".join(lines)
    assert len(read(path).entries) == len(lines)


def test_rule_5_2_a_line_sealed_anew_breaks_the_chain_after_it(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    one, two, three = ({"kind": "noted", "at": TIME, "text": text} for text in ("1", "2", "3"))
    lines = forged(one, two, three).splitlines(keepends=True)
    lines[1] = sealed(2, json.loads(lines[1])["previous"], one)[0]
    path.write_bytes(b"".join(lines))
    assert [str(fault) for fault in verify(path)] == [
        "Line 3: a line before it is missing or was changed."
    ]


def test_a_wrong_number_in_a_whole_chain_is_told(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    path.write_bytes(sealed(7, "0" * 64, {"kind": "noted", "at": TIME, "text": "x"})[0])
    assert [str(fault) for fault in verify(path)] == ["Line 1: it is numbered 7."]


@given(data=st.binary(max_size=300) | st.lists(st.binary(max_size=40)).map(b"\n".join))
@SHARED
def test_no_bytes_at_all_make_reading_fail(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    path.write_bytes(data)
    assert bool(verify(path)) == bool(data)


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ({"kind": "job opened", "at": TIME, "job": "x", "schema_version": 99}, "schema 99"),
        ({"kind": "job shared", "at": TIME}, r"newer release can read it \(kind job shared\)"),
        ({"kind": "noted", "at": TIME, "text": "x", "colour": "red"}, "newer release"),
        ({"kind": "noted", "at": "2026-01-05T08:00:00", "text": "x"}, "newer release"),
        ({"at": TIME}, r"\(kind none\)"),
        ([1], r"\(kind none\)"),
        *(
            (
                {"kind": "fact set", "at": TIME, "name": "n", "value": value},
                r"newer release can read it \(kind fact set\)",
            )
            for value in (
                {"value": "1/0", "unit": "inch", "kind": "length"},
                {"value": "1", "unit": "cubit", "kind": "length"},
                {"value": "1", "unit": "psi", "kind": "length"},
                {"value": [], "unit": "inch", "kind": "length"},
            )
        ),
    ],
)
def test_what_a_newer_release_wrote_is_told_in_one_sentence(
    entry: object, told: str, tmp_path: Path
) -> None:
    path = tmp_path / "job.jsonl"
    path.write_bytes(forged({"kind": "noted", "at": TIME, "text": "ours"}, entry))
    with pytest.raises(JournalError, match=told):
        Journal(path)
    assert texts(path) == ["ours"]
    assert [fault.line for fault in verify(path)] == [2]


def test_a_line_made_by_hand_to_the_published_rule_is_sound(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    path.write_bytes(forged({"kind": "noted", "at": TIME, "text": "by hand"}))
    with Journal(path) as journal:
        journal.append(
            [FactSet(at=AT, name="r", value=Reading(Fraction(15, 16), "inch", Kind.LENGTH))]
        )
    assert verify(path) == []


@pytest.mark.parametrize("data", [b"\0\xff not json\n[1]\n3\n", b"[" * 100_000 + b"\n", b"\n\n"])
def test_a_file_that_is_no_record_is_told(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "job.jsonl"
    path.write_bytes(data)
    with pytest.raises(JournalError, match="Line 1: this is not a line of a record"):
        Journal(path)
    assert path.read_bytes() == data
