from __future__ import annotations

import io
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from handsfree.app import Conversation, Loop, now
from handsfree.dialogue.events import (
    Alternative,
    Called,
    Heard,
    Missed,
    RoomChanged,
    Spoken,
    Tick,
    Typed,
)
from handsfree.dialogue.folding import folded
from handsfree.edge import jobs
from handsfree.edge.journal import Journal, read
from handsfree.edge.keeping import NoRecord
from handsfree.edge.terminal import Terminal
from handsfree.edge.voice import clips
from handsfree.edge.voice.speakers import LoudSpeaker
from handsfree.errors import DeviceError, JournalError
from handsfree.library import Earcon, Library
from handsfree.record.entries import FactSet, JobOpened, Noted
from handsfree.reference import properties

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


class Listener:
    """A speaker that looks into the record at the moment at which it is made to speak."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.seen: list[tuple[str, int]] = []
        self.speaking = False
        self.hushed = 0
        self.cues: list[Earcon] = []
        self.done: list[tuple[int, bool]] = []
        self.broken: DeviceError | None = None
        self.manner = (0, 0)
        self.manners: list[tuple[int, int]] = []

    def say(self, text: str, number: int) -> None:
        assert number >= 0
        self.seen.append((text, len(read(self.path).entries)))
        self.manners.append(self.manner)

    def speak_as(self, rate: int, volume: int) -> None:
        self.manner = (rate, volume)

    def hush(self) -> None:
        self.hushed += 1

    def busy(self) -> bool:
        return self.speaking

    def cue(self, earcon: Earcon) -> None:
        self.cues.append(earcon)

    def saying(self) -> tuple[Path, ...] | None:
        return () if self.speaking else None

    def trouble(self) -> DeviceError | None:
        return self.broken

    def finished(self) -> list[tuple[int, bool]]:
        found, self.done = self.done, []
        return found

    def close(self) -> None:
        pass


def conversation(path: Path, known: Library) -> tuple[Conversation, Listener, io.StringIO]:
    journal = Journal(path)
    journal.append([JobOpened(at=AT, job="test")])
    out, speaker = io.StringIO(), Listener(path)
    return Conversation(known, journal, Terminal(out), speaker, lambda: AT), speaker, out


def test_rule_5_3_1_what_is_said_has_been_written(tmp_path: Path, known: Library) -> None:
    talk, speaker, _ = conversation(tmp_path / "job.jsonl", known)
    talk.handle(Typed("the tube is three eighths", AT))
    entries = read(tmp_path / "job.jsonl").entries
    assert isinstance(entries[-1], FactSet)
    assert speaker.seen == [("Three eighths of an inch OD.", len(entries))]


def test_a_stop_falls_silent_first_and_is_then_answered_aloud(
    tmp_path: Path, known: Library
) -> None:
    talk, speaker, _ = conversation(tmp_path / "job.jsonl", known)
    order: list[str] = []
    speaker.hush = lambda: order.append("hush")  # type: ignore[method-assign]
    speaker.say = lambda text, number: order.append(text)  # type: ignore[method-assign, assignment] # noqa: ARG005
    speaker.speaking = True
    assert talk.handle(Heard((Alternative("stop"),), AT))
    assert order == ["hush", "Stopped."]


def test_what_a_stop_cut_off_is_said_again_from_its_sentence(
    tmp_path: Path, known: Library
) -> None:
    talk, speaker, _ = conversation(tmp_path / "job.jsonl", known)
    talk.handle(Typed("what's nineteen mil in inches", AT))
    answer = [text for text, _ in speaker.seen]
    assert len(answer) == 2
    speaker.done = [(1, True)]
    talk.spoken()
    speaker.speaking = True
    talk.handle(Typed("stop", AT))
    speaker.speaking = False
    before = len(speaker.seen)
    talk.handle(Typed("carry on", AT))
    assert [text for text, _ in speaker.seen[before:]].count(answer[1]) == 1
    assert answer[0] not in [text for text, _ in speaker.seen[before:]]


def test_who_takes_the_work_on_is_not_told_the_old_again(tmp_path: Path, known: Library) -> None:
    talk, speaker, _ = conversation(tmp_path / "job.jsonl", known)
    talk.handle(Typed("start a cut", AT))
    old = {text for text, _ in speaker.seen}
    speaker.speaking = True
    before = len(speaker.seen)
    talk.handle(Heard((Alternative("glasses on"),), AT))
    assert speaker.hushed
    assert not old & {text for text, _ in speaker.seen[before:]}


def test_in_a_loud_room_the_voice_is_louder_and_slower_and_that_is_said_once(
    tmp_path: Path, known: Library
) -> None:
    talk, speaker, out = conversation(tmp_path / "job.jsonl", known)
    talk.handle(RoomChanged(loud=True, at=AT))
    assert "Too loud to trust numbers." in out.getvalue()
    assert speaker.manners[-1] == (-1, 1)
    talk.handle(Typed("slower", AT))
    assert speaker.manners[-1] == (-2, 1)
    talk.handle(RoomChanged(loud=False, at=AT))
    assert speaker.manners[-1] == (-1, 0)


def test_what_is_heard_is_ticked_and_what_is_not_understood_sounds_low(
    tmp_path: Path, known: Library
) -> None:
    talk, speaker, _ = conversation(tmp_path / "job.jsonl", known)
    sounds = known.sound.earcons
    talk.handle(Heard((Alternative("what's nineteen mil in inches"),), AT))
    assert speaker.cues == [sounds["heard"]]
    talk.handle(Typed("flibber gibbet", AT))
    assert speaker.cues[1:] == [sounds["not_understood"]]
    talk.handle(Missed(AT))
    assert speaker.cues[2:] == [sounds["not_understood"]]


def test_the_button_is_done_when_pressed_and_a_call_when_held(
    tmp_path: Path, known: Library
) -> None:
    talk, speaker, _ = conversation(tmp_path / "job.jsonl", known)
    for line in ("start a cut", "glasses on"):
        talk.handle(Typed(line, AT))
    place = talk.state.job.place
    pressed = iter([" ", None, ""])
    loop = Loop(talk)
    loop.listen_to_button(lambda _: next(pressed))
    loop.run()
    assert talk.state.job.place != place
    at = now()
    talk.handle(Spoken(talk.state.moment.sentences, at))
    later = at + timedelta(seconds=60)
    talk.handle(Tick(later))
    small, hushed = talk.grammar.key, speaker.hushed
    talk.handle(Called(later))
    assert speaker.hushed > hushed
    assert talk.grammar.key != small
    talk.handle(Typed("pause", later))
    talk.handle(Called(later))
    assert not talk.state.job.paused


def test_a_voice_that_goes_is_told_once_and_speaks_again_when_it_is_back(
    tmp_path: Path, known: Library, capsys: pytest.CaptureFixture[str]
) -> None:
    talk, speaker, out = conversation(tmp_path / "job.jsonl", known)
    speaker.broken = DeviceError("The loudspeaker stopped working.")
    for _ in range(3):
        talk.spoken()
        talk.handle(Typed("what's nineteen mil in inches", AT))
    assert capsys.readouterr().err.count("stopped working") == 1
    assert out.getvalue().count("I print what I say.") == 1
    assert out.getvalue().count("19 mm is 0.748 in.") == 3
    silent = len(speaker.seen)
    assert talk.state.moment.prompt_ended is not None  # an answer is waited for all the same
    speaker.broken = None
    talk.spoken()
    assert [text for text, _ in speaker.seen[silent:]] == ["My voice is back."]


def test_a_full_disk_is_said_once_and_never_pretended(
    known: Library, capsys: pytest.CaptureFixture[str]
) -> None:
    class Full(NoRecord):
        def append(self, entries: object) -> None:
            assert entries is not None
            raise JournalError("The disk is full: nothing is saved now.")

    talk = Conversation(known, Full(), Terminal(io.StringIO()), None, lambda: AT)
    talk.handle(Typed("the tube is three eighths", AT))
    talk.handle(Typed("the tube is half inch", AT))
    assert capsys.readouterr().err.count("disk is full") == 1


def test_a_disk_that_fills_under_record_and_voice_does_not_end_the_talk(
    tmp_path: Path, known: Library, capsys: pytest.CaptureFixture[str]
) -> None:
    class Broken(Listener):
        def say(self, text: str, number: int) -> None:
            assert number >= 0
            self.broken = DeviceError(f"Cannot write voice files: {text}")

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
    assert told.count("Cannot write voice files") == 1


def test_rule_5_3_3_a_job_goes_on_in_a_new_process(tmp_path: Path, known: Library) -> None:
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


def test_how_we_speak_reaches_the_voice_and_lasts(tmp_path: Path, known: Library) -> None:
    talk, speaker, out = conversation(tmp_path / "job.jsonl", known)
    for line in ("slower", "slower", "louder", "faster", "quieter", "quieter"):
        talk.handle(Typed(line, AT))
    assert speaker.manners == [(-1, 0), (-2, 0), (-2, 1), (-1, 1), (-1, 0), (-1, -1)]
    assert isinstance(talk.journal, Journal)
    talk.journal.close()
    again = Listener(tmp_path / "job.jsonl")
    journal = Journal(tmp_path / "job.jsonl")
    Conversation(known, journal, Terminal(out), again, lambda: AT).open()
    assert again.manners
    assert set(again.manners) == {(-1, -1)}


def test_the_loudest_is_said_to_be_the_loudest(tmp_path: Path, known: Library) -> None:
    talk, speaker, _ = conversation(tmp_path / "job.jsonl", known)
    talk.handle(Typed("louder", AT))
    entries = len(read(tmp_path / "job.jsonl").entries)
    talk.handle(Typed("louder", AT))
    assert speaker.seen[-1] == ("I can't speak any louder.", entries)
    assert speaker.manners == [(0, 1), (0, 1)]


def test_rule_5_3_1_what_is_only_held_is_never_said_to_be_written(
    tmp_path: Path, known: Library, capsys: pytest.CaptureFixture[str]
) -> None:
    """A limit on the size of files stands in for a full disk."""
    resource = pytest.importorskip("resource")
    talk, speaker, out = conversation(tmp_path / "job.jsonl", known)
    talk.handle(Typed("note one", AT))
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    size = (tmp_path / "job.jsonl").stat().st_size
    resource.setrlimit(resource.RLIMIT_FSIZE, (size + 100, limits[1]))
    try:
        for line in ("note two", "I'm Sam", "note three", "what's nineteen mil in inches"):
            talk.handle(Typed(line, AT))
        talk.handle(Tick(AT))
        assert [entry.text for entry in read(tmp_path / "job.jsonl").entries[1:]] == ["one"]  # type: ignore[union-attr]
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    told = out.getvalue()
    assert "Noted: one." in told
    assert "Held, not saved: two." in told
    assert "Sam: held, not saved." in told
    assert "Held, not saved: three." in told
    assert "19 mm is 0.748 in." in told
    assert told.count("oted") == 1
    assert capsys.readouterr().err.count("I hold 1 entry, not saved, and try again.") == 1
    assert [text for text, _ in speaker.seen].count(
        "The record may not grow: I hold 1 entry, not saved, and try again."
    ) == 1
    talk.handle(Tick(AT))
    talk.handle(Typed("note four", AT))
    told = out.getvalue()
    assert told.count("What I held is saved now.") == 1
    assert "Noted: four." in told
    entries = read(tmp_path / "job.jsonl").entries
    assert [entry.text for entry in entries if isinstance(entry, Noted)] == [
        "one",
        "two",
        "three",
        "four",
    ]
    assert talk.state.job.worker == folded(entries).worker == "Sam"


def test_a_job_begun_on_a_full_disk_says_so_aloud_and_pretends_nothing(
    tmp_path: Path, known: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    resource = pytest.importorskip("resource")
    monkeypatch.setenv("HANDSFREE_JOBS", str(tmp_path))
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (20, limits[1]))
    try:
        journal = jobs.open_or_create("roof", AT)
        out, speaker = io.StringIO(), Listener(journal.path)
        talk = Conversation(known, journal, Terminal(out), speaker, lambda: AT)
        talk.open()
        talk.handle(Typed("note one", AT))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert speaker.seen[0][0] == (
        "The record may not grow: I hold 1 entry, not saved, and try again."
    )
    assert "Held, not saved: one." in out.getvalue()
    journal.close()
    assert len(read(journal.path).entries) == 2


class Slow:
    """Renders to silence, and takes a while to play it, unless it is stopped."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.whole: list[str] = []
        self.text = ""

    def render(self, text: str) -> Path:
        self.text = text
        return clips.silence(self.folder / "clip.wav")

    def speak_as(self, rate: int, volume: int) -> None:
        assert (rate, volume) == (0, 0)

    def play(self, path: Path, stopped: Callable[[], bool]) -> bool:
        assert path.exists()
        for _ in range(20):
            if stopped():
                return False
            time.sleep(0.005)
        self.whole.append(self.text)
        return True

    def close(self) -> None:
        pass


def test_the_last_sentence_is_said_to_its_end_when_the_typing_ends(
    tmp_path: Path, known: Library
) -> None:
    slow = Slow(tmp_path)
    speaker = LoudSpeaker(slow, lambda: slow)  # type: ignore[arg-type]
    talk = Conversation(known, NoRecord(), Terminal(io.StringIO()), speaker)
    loop = Loop(talk)
    loop.listen_to_typing(["what's nineteen mil in inches\n"])
    loop.run()
    speaker.close()
    assert slow.whole == [
        "Nineteen millimetres is, zero point seven four eight inches.",
        "Nearest thirty-second: three quarters of an inch.",
    ]
    assert talk.state.moment.prompt_ended is not None


def test_typing_that_breaks_off_ends_the_talk(known: Library) -> None:
    """A thread that died without a word would leave the loop waiting for ever."""

    def lines() -> Iterator[str]:
        yield "what's nineteen mil in inches\n"
        raise OSError("the terminal is gone")

    out = io.StringIO()
    loop = Loop(Conversation(known, NoRecord(), Terminal(out)))
    loop.listen_to_typing(lines())
    loop.run()
    assert "19 mm is 0.748 in." in out.getvalue()


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
