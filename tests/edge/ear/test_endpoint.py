from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from handsfree.edge.ear.endpoint import Endpointer, Pace, utterances
from handsfree.edge.ear.sources import FileSource

RATE = 16_000


@pytest.fixture(scope="module")
def sentence(tmp_path_factory: pytest.TempPathFactory) -> np.ndarray:
    if shutil.which("flite") is None:
        pytest.skip("flite is not installed")
    file = tmp_path_factory.mktemp("said") / "said.wav"
    text = "where do I mark a ninety at twelve"
    subprocess.run(["flite", "-voice", "slt", "-t", text, "-o", str(file)], check=True)
    return np.concatenate(list(FileSource(Path(file))))


def quiet(seconds: float) -> np.ndarray:
    noise = np.random.default_rng(1).standard_normal(round(seconds * RATE))
    return (1e-4 * noise).astype(np.float32)


@pytest.mark.voices
@pytest.mark.parametrize("block", [160, 512, 1_000, 200_000])
def test_two_sentences_are_two_utterances_whatever_the_blocks(
    sentence: np.ndarray, block: int
) -> None:
    stream = np.concatenate([quiet(1), sentence, quiet(1), sentence, quiet(1)])
    found = list(utterances(stream[i : i + block] for i in range(0, len(stream), block)))
    assert len(found) == 2
    for utterance in found:
        assert len(sentence) * 0.8 < len(utterance) < len(sentence) + 1.2 * RATE


@pytest.mark.voices
def test_a_sentence_survives_bad_sound(sentence: np.ndarray) -> None:
    plain = np.concatenate([quiet(1), sentence, quiet(1)])
    holes = plain.copy()
    holes[::4_000] = np.nan
    holes[2_000::4_000] = np.inf
    for bad in (plain + np.float32(0.2), np.clip(8 * plain, -1, 1), holes):
        assert len(list(utterances([np.empty(0, np.float32), bad]))) == 1


@pytest.mark.voices
def test_the_end_of_the_stream_ends_the_utterance(sentence: np.ndarray) -> None:
    endpointer = Endpointer()
    assert not list(endpointer.feed(sentence[: len(sentence) // 2]))
    assert endpointer.speaking
    assert len(list(endpointer.finish())) == 1
    assert not endpointer.speaking


@pytest.mark.voices
def test_talk_without_end_is_cut_and_nothing_of_it_is_lost(sentence: np.ndarray) -> None:
    spoken = sentence[4_000 : 4_000 + RATE]
    stream = np.tile(spoken, 8)
    found = list(utterances([stream], Pace(longest=2.0)))
    assert len(found) > 2
    assert max(map(len, found)) <= 2.1 * RATE
    assert sum(map(len, found)) >= 0.9 * len(stream)


@pytest.mark.parametrize(
    "stream",
    [
        np.empty(0, np.float32),
        np.zeros(RATE, np.float32),
        np.full(RATE, np.nan, np.float32),
        np.full(RATE, 0.5, np.float32),
        quiet(2),
    ],
    ids=["nothing", "silence", "not a number", "constant", "hiss"],
)
def test_no_speech_is_no_utterance(stream: np.ndarray) -> None:
    assert not list(utterances([stream]))


@pytest.mark.recordings
def test_taps_and_machines_are_no_utterance(recordings: Path) -> None:
    files = sorted((recordings / "noise").glob("*.flac"))[:30]
    found = [name for name in files if list(utterances(FileSource(name)))]
    assert len(found) <= 3
