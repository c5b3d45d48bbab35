from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from handsfree.app import Conversation, NoRecord
from handsfree.dialogue.events import Alternative, Heard, Typed
from handsfree.edge.journal import Journal, read
from handsfree.edge.terminal import Terminal
from handsfree.errors import DeviceError, JournalError
from handsfree.library import Library
from handsfree.record.entries import Entry, FactSet, JobOpened
from handsfree.reference import properties

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


class Listener:
    """A speaker that looks into the record at the moment at which it is made to speak."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.seen: list[tuple[str, int]] = []
        self.speaking = False
        self.hushed = 0

    def say(self, text: str, number: int) -> None:
        assert number >= 0
        self.seen.append((text, len(read(self.path).entries)))

    def hush(self) -> None:
        self.hushed += 1

    def busy(self) -> bool:
        return self.speaking

    def finished(self) -> list[tuple[int, bool]]:
        return []

    def close(self) -> None:
        pass


def conversation(path: Path, known: Library) -> tuple[Conversation, Listener, io.StringIO]:
    journal = Journal(path)
    journal.append([JobOpened(at=AT, job="test")])
    out, speaker = io.StringIO(), Listener(path)
    return Conversation(known, journal, Terminal(out), speaker, lambda: AT), speaker, out


def test_what_is_said_has_been_written(tmp_path: Path, known: Library) -> None:
    talk, speaker, _ = conversation(tmp_path / "job.jsonl", known)
    talk.handle(Typed("the tube is three eighths", AT))
    entries = read(tmp_path / "job.jsonl").entries
    assert isinstance(entries[-1], FactSet)
    assert speaker.seen == [("Three eighths of an inch OD.", len(entries))]


def test_the_microphone_is_not_believed_while_we_speak_but_stop_is(
    tmp_path: Path, known: Library
) -> None:
    talk, speaker, _ = conversation(tmp_path / "job.jsonl", known)
    speaker.speaking = True
    assert talk.handle(Heard((Alternative("start a flare"),), AT)) == ()
    assert talk.handle(Heard((Alternative("stop"),), AT))
    assert speaker.hushed >= 1


def test_a_full_disk_is_said_once_and_never_pretended(
    known: Library, capsys: pytest.CaptureFixture[str]
) -> None:
    class Full:
        entries: tuple[Entry, ...] = ()

        def append(self, entries: object) -> None:
            assert entries is not None
            raise JournalError("The disk is full: nothing is saved now.")

    talk = Conversation(known, Full(), Terminal(io.StringIO()), None, lambda: AT)
    talk.handle(Typed("the tube is three eighths", AT))
    talk.handle(Typed("the tube is half inch", AT))
    assert capsys.readouterr().err.count("disk is full") == 1


def test_a_loudspeaker_that_fails_leaves_the_text(tmp_path: Path, known: Library) -> None:
    class Broken(Listener):
        def say(self, text: str, number: int) -> None:
            assert text
            assert number
            raise DeviceError("The loudspeaker stopped working.")

    out = io.StringIO()
    talk = Conversation(known, NoRecord(), Terminal(out), Broken(tmp_path), lambda: AT)
    talk.handle(Typed("what's nineteen mil in inches", AT))
    assert "19 mm is 0.748 in." in out.getvalue()
    assert talk.speaker is None


def test_a_disk_that_fills_under_record_and_voice_does_not_end_the_talk(
    tmp_path: Path, known: Library, capsys: pytest.CaptureFixture[str]
) -> None:
    class Broken(Listener):
        def say(self, text: str, number: int) -> None:
            assert number >= 0
            raise DeviceError(f"Cannot write voice files: {text}")

    class Full(NoRecord):
        def append(self, entries: object) -> None:
            raise JournalError(f"The disk is full: {entries}")

    out = io.StringIO()
    talk = Conversation(known, Full(), Terminal(out), Broken(tmp_path), lambda: AT)
    talk.handle(Typed("the tube is three eighths", AT))
    talk.handle(Typed("what's nineteen mil in inches", AT))
    assert "19 mm is 0.748 in." in out.getvalue()
    told = capsys.readouterr().err
    assert told.index("The disk is full") < told.index("Cannot write voice files")
    assert talk.speaker is None


def test_a_job_goes_on_in_a_new_process(tmp_path: Path, known: Library) -> None:
    talk, _, _ = conversation(tmp_path / "job.jsonl", known)
    for line in ("start a cut", "glasses on", "done"):
        talk.handle(Typed(line, AT))
    place = talk.state.job.place
    assert isinstance(talk.journal, Journal)
    talk.journal.close()
    out = io.StringIO()
    later = AT + timedelta(days=1)
    again = Conversation(known, Journal(tmp_path / "job.jsonl"), Terminal(out), None, lambda: later)
    assert again.state.job.place == place
    again.open()
    assert "You were on: Protection and work area." in out.getvalue()


def test_notes_never_drive_the_terminal(tmp_path: Path, known: Library) -> None:
    talk, _, out = conversation(tmp_path / "job.jsonl", known)
    talk.handle(Typed("note \x1b[31mred [bold]text[/bold]", AT))
    assert "\x1b" not in out.getvalue()


def test_who_must_wait_for_properties_is_told_before_the_answer(
    tmp_path: Path, known: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    properties._model.cache_clear()  # noqa: SLF001 - as at the start of the program
    monkeypatch.setattr(properties._Loading, "done", False)  # noqa: SLF001 - the same
    talk, speaker, out = conversation(tmp_path / "job.jsonl", known)
    talk.handle(Typed("what should 550 psi at 78 f read at 68 f", AT))
    talk.handle(Typed("what should 500 psi at 78 f read at 68 f", AT))
    said = [text for text, _ in speaker.seen]
    assert said[0] == "One moment."
    assert said.count("One moment.") == 1
    assert "538.5 psi" in out.getvalue()
    properties.while_loading(None)
