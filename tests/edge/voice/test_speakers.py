from __future__ import annotations

import json
import subprocess
import threading
import time
import wave
from collections.abc import Callable
from pathlib import Path

import pytest

from handsfree.edge.voice import clips, speakers
from handsfree.edge.voice.files import FileSpeaker
from handsfree.edge.voice.render import Renderer
from handsfree.edge.voice.speakers import LoudSpeaker
from handsfree.errors import DeviceError
from handsfree.library import Library

pytestmark = pytest.mark.voices
Run = Callable[[str, str], subprocess.CompletedProcess[str]]


class Loudspeaker:
    """Takes each clip, and holds on to it until it is let go, as a loudspeaker takes its time."""

    def __init__(self) -> None:
        self.played: list[float] = []
        self.clips: list[Path] = []
        self.plays = threading.Event()
        self.go_on = threading.Event()
        self.broken = False

    def play(self, path: Path, stopped: Callable[[], bool]) -> bool:
        if self.broken:
            self.broken = False
            raise DeviceError("The loudspeaker stopped working.")
        self.clips.append(path)
        self.played.append(clips.seconds(path))
        self.plays.set()
        while not self.go_on.wait(0.005):
            if stopped():
                return False
        return True


def settle(speaker: LoudSpeaker) -> list[tuple[int, bool]]:
    until = time.monotonic() + 20
    while speaker.busy() and time.monotonic() < until:
        time.sleep(0.005)
    assert not speaker.busy()
    return speaker.finished()


def test_sentences_are_said_in_order_one_clip_each(renderer: Renderer) -> None:
    player = Loudspeaker()
    player.go_on.set()
    speaker = LoudSpeaker(renderer, lambda: player)
    speaker.say("Short.", 7)
    speaker.say("This one is a good deal longer than the other.", 8)
    assert settle(speaker) == [(7, True), (8, True)]
    assert speaker.finished() == []
    assert player.played[1] > 2 * player.played[0]
    speaker.close()
    assert not any(clip.exists() for clip in player.clips)


def test_what_plays_can_be_looked_at_and_old_clips_do_not_pile_up(renderer: Renderer) -> None:
    player = Loudspeaker()
    speaker = LoudSpeaker(renderer, lambda: player)
    assert speaker.saying() is None
    speaker.say("One.", 1)
    assert player.plays.wait(10)
    assert speaker.saying() == (player.clips[0],)
    player.go_on.set()
    for number in range(2, 7):
        speaker.say("More.", number)
    settle(speaker)
    assert speaker.saying() is None
    assert [clip.exists() for clip in player.clips] == [False] * 4 + [True] * 2
    speaker.close()


def test_a_sound_that_is_no_word_is_played_and_is_no_sentence(
    renderer: Renderer, known: Library
) -> None:
    player = Loudspeaker()
    player.go_on.set()
    speaker = LoudSpeaker(renderer, lambda: player)
    speaker.cue(known.sound.earcons["heard"])
    speaker.say("Done.", 1)
    assert settle(speaker) == [(1, True)]
    assert player.played[0] == pytest.approx(0.05, abs=0.001)
    speaker.close()


def test_hush_stops_the_sentence_and_forgets_those_that_wait(renderer: Renderer) -> None:
    player = Loudspeaker()
    speaker = LoudSpeaker(renderer, lambda: player)
    speaker.say("One.", 1)
    speaker.say("Two.", 2)
    assert player.plays.wait(10)
    assert speaker.busy()
    speaker.hush()
    assert settle(speaker) == [(1, False), (2, False)]
    assert len(player.played) == 1
    player.go_on.set()
    speaker.say("Three.", 3)
    assert settle(speaker) == [(3, True)]
    speaker.close()


def until(true: Callable[[], bool]) -> bool:
    end = time.monotonic() + 20
    while not true() and time.monotonic() < end:
        time.sleep(0.005)
    return true()


def test_a_loudspeaker_that_fails_is_told_and_comes_back_by_itself(
    renderer: Renderer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(speakers, "RETRY", 0.05)
    player, plugged_in = Loudspeaker(), threading.Event()
    player.go_on.set()
    opened: list[bool] = []

    def look() -> Loudspeaker:
        opened.append(plugged_in.is_set())
        if len(opened) > 1 and not plugged_in.is_set():
            raise DeviceError("No loudspeaker here.")
        return player

    player.broken = True
    speaker = LoudSpeaker(renderer, look)
    speaker.say("One.", 1)
    speaker.say("Two.", 2)
    assert settle(speaker) == [(1, False), (2, False)]
    assert speaker.trouble() is not None
    assert until(lambda: len(opened) > 3)
    plugged_in.set()
    assert until(lambda: speaker.trouble() is None)
    speaker.say("Three.", 3)
    assert settle(speaker) == [(3, True)]
    assert len(player.played) == 1
    speaker.close()


def test_a_voice_that_fails_is_told(renderer: Renderer) -> None:
    speaker = LoudSpeaker(renderer, Loudspeaker)
    assert until(lambda: speaker.trouble() is None)
    renderer.close()
    speaker.say("One.", 1)
    assert settle(speaker) == [(1, False)]
    assert "No voice" in str(speaker.trouble())
    speaker.close()


def test_closing_stops_what_plays(renderer: Renderer) -> None:
    player = Loudspeaker()
    speaker = LoudSpeaker(renderer, lambda: player)
    speaker.say("One.", 1)
    assert player.plays.wait(10)
    speaker.close()
    assert speaker.finished() == [(1, False)]


ALOUD = """
import time
from handsfree.edge.voice.speakers import aloud
speaker = aloud()
speaker.say("Done.", 5)
while speaker.busy():
    time.sleep(0.01)
print(speaker.finished(), speaker.trouble())
speaker.close()
"""


def test_aloud_speaks_through_the_device_that_is_there(
    renderer: Renderer, alsa: Callable[[str], str], run: Run
) -> None:
    assert renderer.process
    assert run(ALOUD, alsa("{ type null }")).stdout == "[(5, True)] None\n"
    if not Path("/dev/snd").exists():
        told = run(ALOUD, "/usr/share/alsa/alsa.conf").stdout
        assert told == ("[(5, False)] No loudspeaker here. Plug one in or use --save-voice DIR.\n")


# ---------------------------------------------------------------------------- into files


def index(folder: Path) -> list[dict[str, object]]:
    lines = (folder / "index.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines]


def test_files_are_numbered_and_indexed(renderer: Renderer, tmp_path: Path) -> None:
    folder = tmp_path / "new" / "voice"
    speaker = FileSpeaker(renderer, folder)
    before = time.time()
    for number, text in ((3, "Glasses on?"), (4, "🙂"), (5, "x" * 300), (6, "../../etc")):
        speaker.say(text, number)
    assert speaker.finished() == [(3, True), (4, True), (5, True), (6, True)]
    assert (speaker.finished(), speaker.busy()) == ([], False)
    entries = index(folder)
    assert [(entry["number"], entry["text"]) for entry in entries] == [
        (3, "Glasses on?"),
        (4, "🙂"),
        (5, "x" * 300),
        (6, "../../etc"),
    ]
    assert [entry["file"] for entry in entries[:2]] == [
        "0003-glasses-on.wav",
        "0004-silence.wav",
    ]
    times = [entry["ready"] for entry in entries]
    assert times == sorted(times)  # type: ignore[type-var]
    assert before <= times[0] <= times[-1] <= time.time()  # type: ignore[operator]
    for entry in entries:
        with wave.open(str(folder / str(entry["file"])), "rb") as clip:
            assert clip.getnframes() > 0


def test_a_sentence_that_is_not_indexed_leaves_no_file(renderer: Renderer, tmp_path: Path) -> None:
    speaker = FileSpeaker(renderer, tmp_path)
    before = set(tmp_path.iterdir())
    (tmp_path / "index.jsonl").mkdir()
    speaker.say("Done.", 1)
    assert "Cannot write voice files" in str(speaker.trouble())
    assert set(tmp_path.iterdir()) == before | {tmp_path / "index.jsonl"}
    assert speaker.finished() == [(1, False)]
    (tmp_path / "index.jsonl").rmdir()
    speaker.say("Done.", 1)
    assert speaker.trouble() is None
    assert [entry["number"] for entry in index(tmp_path)] == [1]


@pytest.mark.parametrize("when", ["before", "after"])
def test_a_folder_that_cannot_be_written_is_told(
    renderer: Renderer, tmp_path: Path, when: str
) -> None:
    folder = tmp_path / "voice"
    if when == "before":
        folder.write_text("in the way")
        with pytest.raises(DeviceError, match=f"Cannot write voice files to {folder}"):
            FileSpeaker(renderer, folder)
        return
    speaker = FileSpeaker(renderer, folder)
    folder.rename(tmp_path / "gone")
    speaker.say("Done.", 1)
    assert f"Cannot write voice files to {folder}" in str(speaker.trouble())
    assert speaker.finished() == [(1, False)]
    speaker.close()
