"""Rule 5.3.7: a second copy by itself at the end of each stage, or a word that there is none."""

from __future__ import annotations

import io
import os
import stat
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from threading import Event

import pytest

from handsfree.app import Conversation
from handsfree.cli import main
from handsfree.dialogue.events import Typed
from handsfree.dialogue.folding import folded
from handsfree.dialogue.summary import ends_stage
from handsfree.edge import disk
from handsfree.edge.journal import Journal, read, verify
from handsfree.edge.second_copy import SecondCopy
from handsfree.edge.terminal import Terminal
from handsfree.errors import JournalError
from handsfree.library import Library
from handsfree.record.entries import Entry, JobOpened, Noted, ProcedureEnded

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "jobs" / "roof.jsonl"
    with Journal(path) as journal:
        journal.append([JobOpened(at=AT, job="roof"), Noted(at=AT, text="one")])
    return path


def add(record: Path, text: str) -> None:
    with Journal(record) as journal:
        journal.append([Noted(at=AT, text=text)])


def copied(record: Path, card: Path) -> list[str]:
    """Ask for one copy, and return what is told when it has ended."""
    second = SecondCopy(record, card)
    second.make()
    second.close()
    return list(second.told())


def talk_with(record: Path, known: Library, card: Path) -> tuple[Conversation, SecondCopy]:
    second = SecondCopy(record, card)
    talk = Conversation(known, Journal(record), Terminal(io.StringIO()), None, lambda: AT)
    talk.second_copy = second
    return talk, second


def test_rule_5_3_7_a_stage_told_to_be_done_is_copied(
    record: Path, tmp_path: Path, known: Library
) -> None:
    card = tmp_path / "card"
    card.mkdir()
    talk, second = talk_with(record, known, card)
    talk.handle(Typed("note not yet", AT))
    second.close()
    assert list(card.iterdir()) == []
    talk, second = talk_with(tmp_path / "other.jsonl", known, card)
    talk.handle(Typed("the drain is done", AT))
    second.close()
    kinds = [entry.kind for entry in read(card / "other.jsonl").entries]
    assert kinds == ["stage closed"]
    assert verify(card / "other.jsonl") == []


def test_rule_5_3_7_the_last_procedure_of_a_stage_is_its_end(known: Library) -> None:
    told = list[tuple[str, bool]]()
    entries = list[Entry]()
    for name, complete in (
        ("cut", True),  # belongs to no stage
        ("know_refrigerant", True),
        ("recover", False),
        ("recover", True),
        ("recover", True),  # a second system: that is an end of the stage, too
    ):
        entries.append(ProcedureEnded(at=AT, procedure=name, complete=complete, place=()))
        told.append((name, ends_stage(entries[-1], folded(entries), known)))
    ended = [ends for _, ends in told]
    assert ended == [False, False, False, True, True], told


def test_rule_5_3_7_a_copy_that_fails_is_told_once_and_loses_nothing(
    record: Path, tmp_path: Path, known: Library, capsys: pytest.CaptureFixture[str]
) -> None:
    card = tmp_path / "card"
    talk, second = talk_with(record, known, card)
    for _ in range(3):
        talk.handle(Typed("the drain is done", AT))
    second.close()
    talk.spoken()
    told = capsys.readouterr().err
    assert told.count("No second copy") == 1
    assert f"{card} is not there" in told
    assert not card.exists()
    assert [entry.kind for entry in read(record).entries][-3:] == ["stage closed"] * 3
    assert verify(record) == []


def test_rule_5_3_7_a_card_that_comes_back_gets_its_copy_and_that_is_said(
    record: Path, tmp_path: Path
) -> None:
    card = tmp_path / "card"
    second = SecondCopy(record, card)
    second.make()
    told: list[str] = []
    while not told:
        told = list(second.told())
    card.mkdir()
    second.close()
    assert told[0].startswith("No second copy")
    assert list(second.told()) == ["The second copy is made."]
    assert (card / record.name).read_bytes() == record.read_bytes()


def test_rule_5_3_7_what_is_read_back_must_be_what_was_written(
    record: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    card = tmp_path / "card"
    card.mkdir()
    assert copied(record, card) == []
    before = (card / record.name).read_bytes()
    add(record, "two")
    flush: Callable[[int], None] = disk.flush

    def worn(handle: int) -> None:
        """Flip one bit of what was written, as a worn card does without a word."""
        flush(handle)
        first = os.pread(handle, 1, 40)
        os.pwrite(handle, bytes((first[0] ^ 1,)), 40)

    monkeypatch.setattr("handsfree.edge.disk.flush", worn)
    (told,) = copied(record, card)
    monkeypatch.undo()
    assert "what was written is not what is read back" in told
    assert (card / record.name).read_bytes() == before
    assert [path.name for path in card.iterdir()] == [record.name]


def test_rule_5_3_7_a_copy_is_for_its_owner_only(record: Path, tmp_path: Path) -> None:
    card = tmp_path / "card"
    card.mkdir()
    copied(record, card)
    assert stat.S_IMODE((card / record.name).stat().st_mode) & 0o077 == 0


def test_rule_5_3_7_no_copy_is_pretended(record: Path, tmp_path: Path) -> None:
    (told,) = copied(record, record.parent)
    assert "is the folder of the jobs itself" in told
    card = tmp_path / "card"
    with Journal(card / record.name) as journal:
        journal.append([Noted(at=AT, text="another job of this name")])
    theirs = (card / record.name).read_bytes()
    (told,) = copied(record, card)
    assert "another record stands there under this name" in told
    assert (card / record.name).read_bytes() == theirs


def test_rule_5_3_7_a_card_that_hangs_keeps_no_answer_waiting(
    record: Path, tmp_path: Path, known: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    free, began = Event(), Event()

    def hangs(path: Path, folder: Path) -> None:
        assert (path, folder) == (record, tmp_path)
        began.set()
        free.wait()

    monkeypatch.setattr("handsfree.edge.second_copy.copy_record", hangs)
    talk, second = talk_with(record, known, tmp_path)
    talk.handle(Typed("the drain is done", AT))
    began.wait()
    assert talk.handle(Typed("stop", AT))
    free.set()
    second.close()


def test_rule_5_3_7_what_is_only_held_is_copied_when_it_is_written(
    record: Path, tmp_path: Path, known: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    card = tmp_path / "card"
    card.mkdir()
    talk, second = talk_with(record, known, card)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as small:
        small.setattr("handsfree.edge.journal._write_all", full)
        talk.handle(Typed("the drain is done", AT))
    assert talk.journal.held
    talk.handle(Typed("note there is room again", AT))
    second.close()
    kinds = [entry.kind for entry in read(card / record.name).entries]
    assert kinds[-2:] == ["stage closed", "noted"]


def test_rule_5_3_7_the_setting_chooses_the_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    jobs, card = tmp_path / "jobs", tmp_path / "card"
    monkeypatch.setenv("HANDSFREE_JOBS", str(jobs))
    monkeypatch.setenv("HANDSFREE_BACKUP", str(card))
    typed = "the drain is done\n"
    for there in (False, True):
        if there:
            card.mkdir()
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        assert main(["chat", "--job", "roof"]) == 0
        assert ("No second copy" in capsys.readouterr().err) != there
    (copy,) = card.iterdir()
    assert copy.read_bytes() == (jobs / copy.name).read_bytes()


def test_rule_5_3_7_a_record_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    card = tmp_path / "card"
    card.mkdir()
    (told,) = copied(tmp_path / "gone.jsonl", card)
    assert "No such file" in told
    with pytest.raises(JournalError):
        read(card / "gone.jsonl")
