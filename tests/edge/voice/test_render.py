from __future__ import annotations

import os
import signal
import subprocess
import tempfile
import threading
import time
import wave
from collections.abc import Callable
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from handsfree.dialogue.manner import RATE, VOLUME
from handsfree.edge.voice import clips, render
from handsfree.edge.voice.render import Renderer
from handsfree.errors import DeviceError

pytestmark = pytest.mark.voices
LONG = "Mark for the L index, twelve inches, and then bend to ninety degrees. " * 25


def samples(path: Path) -> np.ndarray:
    with wave.open(str(path), "rb") as clip:
        assert (clip.getnchannels(), clip.getsampwidth()) == (1, 2)
        return np.frombuffer(clip.readframes(clip.getnframes()), dtype="<i2")


def loudness(path: Path) -> float:
    return float(np.sqrt(np.mean(samples(path).astype(float) ** 2)))


def test_a_sentence_becomes_sound_and_a_longer_one_longer_sound(renderer: Renderer) -> None:
    short = renderer.render("Done.")
    long = renderer.render("Start of bend: eleven and one sixteenth inches.")
    assert np.abs(samples(short)).max() > 1000
    assert clips.seconds(long) > 2 * clips.seconds(short)
    assert short != long


def test_each_sentence_is_whole_and_at_its_own_rate(renderer: Renderer) -> None:
    """Lengths against the synthesiser's own command, whatever was said just before.

    Sentence and rate change every time, which is when settings and sentences can get lost.
    """
    texts = ["Done.", "Mark for the L index, twelve inches.", "Start of bend: eleven inches. " * 4]
    for turn in range(45):
        text, rate = texts[turn % 3], (130, 160, 220)[turn * 7 % 11 % 3]
        renderer.rate = rate
        clip = renderer.render(text)
        assert clips.seconds(clip) == pytest.approx(by_command(text, rate), abs=0.15)
        clip.unlink()


@cache
def by_command(text: str, rate: int) -> float:
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        command = ["espeak-ng", "-v", "en-us", "-s", str(rate), "-w", file.name, text]
        subprocess.run(command, check=True)
        return clips.seconds(Path(file.name))


def test_each_step_louder_is_three_decibels_and_the_last_is_full_volume(
    renderer: Renderer,
) -> None:
    """A step of 3 dB is the usual one of volume controls (common practice, no source)."""
    levels = []
    for step in range(VOLUME.lowest, VOLUME.highest + 1):
        renderer.speak_as(0, step)
        levels.append(20 * np.log10(loudness(renderer.render("Valve closed."))))
    assert np.diff(levels) == pytest.approx(3, abs=0.7)
    assert renderer.volume == 1


def test_each_step_slower_is_longer(renderer: Renderer) -> None:
    lengths = []
    for step in range(RATE.highest, RATE.lowest - 1, -1):
        renderer.speak_as(step, 0)
        lengths.append(clips.seconds(renderer.render("Mark for the L index, twelve inches.")))
    assert all(later > earlier * 1.04 for earlier, later in pairwise(lengths))
    assert lengths[-1] > lengths[0] * 1.6


@pytest.mark.parametrize(
    "text", ["", "  ", "\n", "\0", "\x1b[31m", "...", "🙂", "\ud800", "½ \u2014"]
)
def test_what_holds_nothing_to_say_leaves_the_voice_alive(renderer: Renderer, text: str) -> None:
    before = renderer.process
    assert clips.seconds(renderer.render(text)) > 0
    assert clips.seconds(renderer.render("Still here.")) > clips.SILENCE
    assert renderer.process == before


def test_any_text_gives_a_clip(renderer: Renderer) -> None:
    before = renderer.process

    @given(text=st.text(max_size=60))
    @settings(
        max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
    )
    def gives_a_clip(text: str) -> None:
        assert clips.seconds(renderer.render(text)) > 0

    gives_a_clip()
    assert renderer.process == before


def test_a_process_killed_between_sentences_is_replaced(renderer: Renderer) -> None:
    whole = samples(renderer.render("Still here."))
    before = renderer.process
    assert before is not None
    os.kill(before, signal.SIGKILL)
    assert len(samples(renderer.render("Still here."))) == pytest.approx(len(whole), abs=50)
    assert renderer.process != before


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGSTOP])
def test_a_process_that_dies_or_hangs_in_a_sentence_repeats_it(
    renderer: Renderer, how: signal.Signals
) -> None:
    whole = clips.seconds(renderer.render(LONG))
    before = renderer.process
    assert before is not None
    got: list[Path] = []
    thread = threading.Thread(target=lambda: got.append(renderer.render(LONG)))
    os.kill(before, signal.SIGSTOP)  # so that it cannot be done before it is struck
    thread.start()
    time.sleep(0.05)
    os.kill(before, how)
    thread.join()
    assert clips.seconds(got[0]) == pytest.approx(whole, abs=0.05)
    assert renderer.process != before


def test_no_speech_engine_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PYTHONHOME", str(tmp_path))  # no interpreter starts with this
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    with pytest.raises(DeviceError, match=r"No voice.*Install espeak-ng"):
        Renderer()


def test_a_disk_that_takes_no_sound_is_told_and_the_voice_comes_back(renderer: Renderer) -> None:
    """A limit on the size of files stands in for a full disk: the write fails half way."""
    resource = pytest.importorskip("resource")
    if not hasattr(resource, "prlimit"):
        pytest.skip("this system cannot limit another process")
    assert renderer.process is not None
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    folder = renderer.render("Done.").parent
    resource.prlimit(renderer.process, resource.RLIMIT_FSIZE, (40_000, hard))
    resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, hard))
    try:
        with pytest.raises(DeviceError, match=rf"No voice: {folder.parent} takes no sound"):
            renderer.render("The disk is full: I hold one entry and try again.")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert [clip.name for clip in folder.iterdir()] == ["000002.wav"]
    assert np.abs(samples(renderer.render("The disk is full: I hold one entry."))).max() > 1000


def test_clips_are_kept_in_memory_where_they_can_be(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.setattr(tempfile, "tempdir", None)
    with clips.folder() as folder:
        assert Path(folder).parent == tmp_path
    monkeypatch.delenv("TMPDIR")
    monkeypatch.setattr(clips, "MEMORY", tmp_path / "none")
    with clips.folder() as folder:
        assert Path(folder).parent == Path(tempfile.gettempdir())
    monkeypatch.setattr(clips, "MEMORY", tmp_path)
    with clips.folder() as folder:
        assert Path(folder).parent == tmp_path


def test_nothing_is_left_behind(renderer: Renderer) -> None:
    clip = renderer.render("Done.")
    process = renderer.process
    assert process is not None
    renderer.close()
    assert not clip.parent.exists()
    with pytest.raises(ProcessLookupError):
        os.kill(process, 0)
    with pytest.raises(DeviceError, match="No voice"):
        renderer.render("Again.")


def test_closing_does_not_wait_for_a_process_that_hangs(renderer: Renderer) -> None:
    process = renderer.process
    assert process is not None
    failed: list[DeviceError] = []

    def render() -> None:
        try:
            renderer.render(LONG)
        except DeviceError as error:
            failed.append(error)

    os.kill(process, signal.SIGSTOP)
    thread = threading.Thread(target=render)
    thread.start()
    time.sleep(0.05)
    renderer.close()
    thread.join()
    assert len(failed) == 1


ODD = """
import json, sys, wave
from pathlib import Path
empty = json.loads(sys.argv[0].partition("empty-")[2].partition(".")[0])
print("ready", flush=True)
for line in sys.stdin:
    path = Path(json.loads(line)["path"])
    found = "stale" if path.exists() else "fresh"
    with wave.open(str(path), "wb") as clip:
        clip.setnchannels(1)
        clip.setsampwidth(2)
        clip.setframerate(22_050)
        tally = Path(sys.argv[0] + ".tally")
        turns = tally.read_text().split() if tally.exists() else []
        turn = len(turns)
        tally.write_text(" ".join([*turns, found]))
        clip.writeframes(b"" if turn in empty else bytes(2 * 22_050))
    print("done", flush=True)
"""
"""An engine that answers at once and whose clips are empty at the turns that its name lists.

It tallies its turns, and whether a file stood in the place of the clip already.
"""


@pytest.fixture
def odd(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[list[int]], Path]:
    def made(empty: list[int]) -> Path:
        program = tmp_path / f"empty-{empty}.py"
        program.write_text(ODD)
        monkeypatch.setattr(render, "_WORKER", program)
        return tmp_path / f"empty-{empty}.py.tally"

    return made


def test_a_sentence_that_was_lost_is_made_again(odd: Callable[[list[int]], Path]) -> None:
    tally = odd([1])
    renderer = Renderer()
    assert clips.seconds(renderer.render("Twelve inches.")) == 1
    assert tally.read_text().split() == ["fresh"] * 3
    renderer.close()


def test_what_has_no_sound_of_its_own_is_a_silence_at_once(
    odd: Callable[[list[int]], Path],
) -> None:
    tally = odd([1])
    renderer = Renderer()
    assert clips.seconds(renderer.render("\N{SNOWMAN}")) == pytest.approx(0.05, abs=0.01)
    assert tally.read_text().split() == ["fresh"] * 2
    renderer.close()


def test_an_engine_that_never_makes_a_sound_is_told(odd: Callable[[list[int]], Path]) -> None:
    tally = odd(list(range(9)))
    with pytest.raises(DeviceError, match="No voice"):
        Renderer()
    assert tally.read_text().split() == ["fresh"] * 3
