"""`record` and `jobs` as their users call them."""

from __future__ import annotations

import hashlib
import io
import json
import wave
from datetime import UTC, datetime
from pathlib import Path

import pytest

from handsfree.app import Conversation
from handsfree.cli import main
from handsfree.dialogue.events import Alternative, Heard
from handsfree.edge import jobs
from handsfree.edge.terminal import Terminal
from handsfree.library import Library
from handsfree.quantity import Kind, Reading
from handsfree.record import entries as record

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
CUT = (
    "cut_length",
    {
        "leg": tuple(Reading(n, "inch", Kind.LENGTH) for n in (10.0, 18.0)),
        "angle": (Reading(90.0, "degree", Kind.ANGLE),),
        "dimension_to": "centre",
        "radius": Reading(0.9375, "inch", Kind.LENGTH),
    },
)
"""Two legs and one square bend: 28 in less (2 - pi/2) of the radius, 27.5976 in."""


@pytest.fixture
def roof(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HANDSFREE_JOBS", str(tmp_path / "jobs"))
    with jobs.open_or_create("roof / 🙂", AT) as journal:
        journal.append(
            [
                record.FieldWritten(at=AT, name="site", text="12 Mill Lane"),
                record.Noted(at=AT, text="<b>\x1b[2J"),
            ]
        )
    return jobs.path_of("roof / 🙂")


def test_a_whole_record_is_said_to_be_whole(roof: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert roof.exists()
    assert main(["record", "roof / 🙂", "--verify"]) == 0
    assert capsys.readouterr().out.startswith("3 entries: the chain is whole")


def test_rule_5_2_an_edited_line_is_told_by_its_number(
    roof: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = roof.read_text(encoding="utf-8").replace("12 Mill Lane", "13 Mill Lane")
    roof.write_text(text, encoding="utf-8")
    assert main(["record", "roof / 🙂", "--verify"]) == 4
    assert "Line 2: it was changed after it was written." in capsys.readouterr().err


def test_rule_5_2_a_sum_that_was_forged_with_a_true_chain_is_told(
    roof: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Who can write hashes can write a chain; the sum still gives the number away."""
    name, inputs = CUT
    forged = record.Calculated(
        at=AT,
        calculator=name,
        words="",
        inputs=inputs,
        answers={"cut": Reading(29.0, "inch", Kind.LENGTH)},
    )
    with jobs.open_or_create("roof / 🙂", AT) as journal:
        journal.append([forged])
    assert roof.exists()
    assert main(["record", "roof / 🙂", "--verify"]) == 4
    told = capsys.readouterr().err
    assert "Entry 4: cut length, cut is recorded as 29 in, and its inputs give 27.5976 in." in told


def test_rule_5_2_a_future_schema_is_told_in_a_sentence(
    roof: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    line = json.loads(roof.read_bytes().splitlines()[0])
    line["entry"]["schema_version"] = 99
    del line["hash"]
    body = json.dumps(line, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()
    digest = hashlib.sha256(f"{'0' * 64}\n".encode() + body).hexdigest()
    sealed = json.dumps(
        {**line, "hash": digest}, ensure_ascii=False, sort_keys=True, separators=(",", ":")
    )
    roof.write_text(f"{sealed}\n", encoding="utf-8")
    assert main(["record", "roof / 🙂", "--verify"]) == 4
    assert "begun by a newer release (schema 99); use that one" in capsys.readouterr().err
    assert main(["chat", "--job", "roof / 🙂"]) == 4
    assert "Nothing can be added" in capsys.readouterr().err


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_everything_is_handed_on_at_once(
    roof: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], size: str
) -> None:
    page, data, tables = tmp_path / "c.html", tmp_path / "c.json", tmp_path / "tables"
    arguments = ["--certificate", str(page), "--paper", size, "--json", str(data)]
    assert roof.exists()
    assert main(["record", "roof / 🙂", *arguments, "--csv", str(tables), "--summary"]) == 0
    assert "12 Mill Lane" in page.read_text(encoding="utf-8")
    assert "<b>\N{REPLACEMENT CHARACTER}[2J" not in page.read_text(encoding="utf-8")
    assert json.loads(data.read_text(encoding="utf-8"))["entries"][1]["text"] == "12 Mill Lane"
    assert (tables / "field-written.csv").exists()
    assert "12 Mill Lane" in capsys.readouterr().out


def test_a_certificate_that_cannot_be_written_is_told(
    roof: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert roof.exists()
    assert main(["record", "roof / 🙂", "--certificate", "/nowhere/at/all.html"]) == 4
    assert "cannot be written: No such file or directory" in capsys.readouterr().err


def test_an_altered_record_still_gives_a_certificate_that_says_so(
    roof: Path, tmp_path: Path
) -> None:
    text = roof.read_text(encoding="utf-8").replace("12 Mill Lane", "13 Mill Lane")
    roof.write_text(text, encoding="utf-8")
    page = tmp_path / "c.html"
    assert main(["record", "roof / 🙂", "--certificate", str(page)]) == 4
    assert "ALTERED" in page.read_text(encoding="utf-8")
    assert "Line 2: it was changed" in page.read_text(encoding="utf-8")


def test_jobs_go_to_a_stick_and_come_back(
    roof: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stick = tmp_path / "stick"
    before = roof.read_bytes()
    assert main(["jobs", "--export", str(stick)]) == 0
    roof.unlink()
    assert main(["jobs", "--import", str(stick)]) == 0
    assert roof.read_bytes() == before
    assert f"{roof.name}: copied" in capsys.readouterr().out
    assert main(["jobs", "--import", str(tmp_path / "pulled")]) == 4
    assert "There is no folder" in capsys.readouterr().err


def test_the_empty_form_needs_no_job(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["record", "any", "--form"]) == 0
    assert "4.3 Lock number" in capsys.readouterr().out


def test_rule_5_3_8_no_sound_is_kept(roof: Path, tmp_path: Path, known: Library) -> None:
    rate, recording = 16_000, tmp_path / "talk.wav"
    with wave.open(str(recording), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(bytes(2 * rate))
    assert known.book
    main(["listen", str(recording)])
    heard = Heard((Alternative("note that the wall is soft"),), AT)
    with jobs.open_or_create("roof / 🙂", AT) as journal:
        Conversation(known, journal, Terminal(io.StringIO())).handle(heard)
    assert list(roof.parent.iterdir()) == [roof]
    assert b"the wall is soft" in roof.read_bytes()
