from __future__ import annotations

import json
import shutil
import threading
import time
import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from handsfree.edge.voice.play import CommandPlayer
from handsfree.edge.voice.render import Renderer
from handsfree.edge.voice.speakers import FileSpeaker, LoudSpeaker
from handsfree.errors import DeviceError

pytestmark = [
    pytest.mark.voices,
    pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed"),
]


def samples(path: Path) -> np.ndarray:
    with wave.open(str(path), "rb") as clip:
        return np.frombuffer(clip.readframes(clip.getnframes()), dtype="<i2")


def test_a_sentence_becomes_sound_and_a_longer_one_longer_sound() -> None:
    renderer = Renderer()
    try:
        short = samples(renderer.render("Done."))
        long = samples(renderer.render("Start of bend: eleven and one sixteenth inches."))
        assert np.abs(short).max() > 1000
        assert len(long) > 2 * len(short)
    finally:
        renderer.close()


def test_slower_is_longer() -> None:
    text = "Mark for the L index, twelve inches."
    lengths = []
    for rate in (130, 220):
        renderer = Renderer(rate=rate)
        lengths.append(len(samples(renderer.render(text))))
        renderer.close()
    assert lengths[0] > lengths[1] * 1.2


def test_a_process_that_was_killed_is_replaced_and_the_sentence_said() -> None:
    renderer = Renderer()
    try:
        process = renderer._running()  # noqa: SLF001 - the test kills it
        process.kill()
        process.wait()
        assert len(samples(renderer.render("Still here."))) > 0
    finally:
        renderer.close()


def test_files_are_numbered_and_indexed(tmp_path: Path) -> None:
    speaker = FileSpeaker(Renderer(), tmp_path / "voice")
    speaker.say("Glasses on?", 3)
    speaker.say("Nut on the tube?", 4)
    assert speaker.finished() == [(3, True), (4, True)]
    speaker.close()
    index = [
        json.loads(line) for line in (tmp_path / "voice" / "index.jsonl").read_text().splitlines()
    ]
    assert [entry["number"] for entry in index] == [3, 4]
    assert (tmp_path / "voice" / "0003-glasses-on.wav").exists()


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    renderer = Renderer()
    try:
        with pytest.raises(DeviceError, match="Cannot write voice files"):
            FileSpeaker(renderer, tmp_path / "file" / "voice")
    finally:
        renderer.close()


class PacedPlayer:
    """Takes as long as the clip lasts, as a loudspeaker does, without one."""

    def __init__(self) -> None:
        self.started = threading.Event()

    def play(self, path: Path, stopped: Callable[[], bool]) -> bool:
        with wave.open(str(path), "rb") as clip:
            until = time.monotonic() + clip.getnframes() / clip.getframerate()
        self.started.set()
        while time.monotonic() < until:
            if stopped():
                return False
            time.sleep(0.01)
        return True


def test_hush_stops_the_sentence_and_forgets_those_that_wait() -> None:
    player = PacedPlayer()
    speaker = LoudSpeaker(Renderer(), player)
    speaker.say("This is a long sentence that goes on and on for some seconds at least.", 1)
    speaker.say("And this one must not be heard.", 2)
    assert player.started.wait(5)
    speaker.hush()
    finished: list[tuple[int, bool]] = []
    until = time.monotonic() + 5
    while len(finished) < 2 and time.monotonic() < until:
        finished.extend(speaker.finished())
        time.sleep(0.01)
    assert finished == [(1, False), (2, False)]
    assert not speaker.busy()
    speaker.say("Again.", 3)
    speaker.close()


@pytest.mark.skipif(shutil.which("aplay") is None, reason="aplay is not installed")
def test_the_systems_player_plays_to_a_device_that_swallows_sound() -> None:
    renderer = Renderer()
    try:
        clip = renderer.render("Done.")
        assert CommandPlayer("-D", "null").play(clip, lambda: False)
        with pytest.raises(DeviceError, match="No loudspeaker"):
            CommandPlayer("-D", "no-such-device").play(clip, lambda: False)
    finally:
        renderer.close()
