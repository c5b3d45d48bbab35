"""The first ten minutes: the greeting, what works here, and the demo job."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from handsfree.edge.replay import Player
from handsfree.library import library
from handsfree.library.demo import demo

WORDS_A_MINUTE = 160
"""The pace of clear synthetic speech: Human Factors 30(6), 1988 (150 to 180)."""


def run(*arguments: str, home: Path, stdin: int | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "handsfree", *arguments],
        stdin=subprocess.DEVNULL if stdin is None else stdin,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        env={**os.environ, "HOME": str(home), "HANDSFREE_JOBS": str(home / "jobs")},
    )


def test_alone_it_greets_in_two_sentences_and_looks_at_ears_and_voice(tmp_path: Path) -> None:
    done = run(home=tmp_path)
    greeting, _, rest = done.stdout.partition("\n")
    assert greeting.count(". ") + greeting.count(".\n") + greeting.endswith(".") == 2
    for part in ("built-in ear: ", "microphone: ", "voice: ", "loudspeaker: "):
        assert part in rest
    assert "handsfree demo" in rest
    assert "handsfree talk" in rest
    assert done.returncode == 0


def test_every_sentence_of_the_demo_is_understood() -> None:
    player = Player(library())
    outcomes = [player.hear(turn.say)[0] for turn in demo().turns]
    assert [told.heard for told in outcomes if told.outcome == "ignored"] == []
    refused = [told.what for told in outcomes if told.outcome == "refused"]
    assert refused == ["oxygen"]


def test_the_demo_takes_three_minutes() -> None:
    player, words = Player(library()), 0
    for turn in demo().turns:
        told, _ = player.hear(turn.say)
        words += sum(len(text.split()) for text in (turn.say, *told.say))
    assert 1.0 < words / WORDS_A_MINUTE < 3.0


def test_the_demo_plays_by_itself_and_keeps_nothing(tmp_path: Path) -> None:
    done = run("demo", home=tmp_path)
    assert done.returncode == 0
    assert "Oxygen or air with oil explodes." in done.stdout
    assert "note: the condensate drain is blocked" in done.stdout
    assert not (tmp_path / "jobs").exists()


def test_on_a_terminal_another_sentence_may_be_typed(tmp_path: Path) -> None:
    ours, theirs = pty.openpty()
    os.write(ours, b"this is Sam\n\nwhat's one bar in psi\n\x04")
    done = run("demo", home=tmp_path, stdin=theirs)
    os.close(ours)
    os.close(theirs)
    assert "Sam, noted." in done.stdout
    assert "14.5" in done.stdout
    assert "worker Sam" in done.stdout


@pytest.mark.voices
def test_the_recordings_are_spoken_and_heard_here(tmp_path: Path) -> None:
    done = run("demo", "--aloud", home=tmp_path)
    assert done.returncode == 0
    typed = done.stdout.count(demo().misheard)
    assert typed < len(demo().turns) / 2
    assert "refused oxygen" in done.stdout
