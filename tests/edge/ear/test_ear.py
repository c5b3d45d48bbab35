from __future__ import annotations

import shutil
import subprocess
from datetime import UTC, datetime
from itertools import product
from pathlib import Path
from typing import ClassVar

import numpy as np
import pytest
import soundfile
import soxr

from handsfree.dialogue.state import State
from handsfree.dialogue.vocabulary import vocabulary
from handsfree.edge.ear.acoustic import AcousticModel
from handsfree.edge.ear.automaton import Builder
from handsfree.edge.ear.builtin import BuiltInEar
from handsfree.edge.ear.endpoint import utterances
from handsfree.edge.ear.lexicon import Lexicon, written_down
from handsfree.edge.ear.recogniser import SAMPLE_RATE
from handsfree.edge.ear.scoring import log_likelihoods
from handsfree.edge.ear.sources import FileSource
from handsfree.edge.ear.vosk_ear import VoskEar, find_model
from handsfree.errors import DeviceError
from handsfree.language.grammar import Choice, Grammar, Repeat, Word, parse_phrase, sentences
from handsfree.library import Library

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
SMALL = Grammar(
    parse_phrase("(mark | cut) [a] <angle> at <length> | stop"),
    {
        "angle": parse_phrase("ninety | forty five"),
        "length": parse_phrase("<digit> [and a half]"),
        "digit": parse_phrase("one | two | nine"),
    },
)


@pytest.fixture(scope="module")
def ear() -> BuiltInEar:
    return BuiltInEar()


def spoken(text: str, folder: Path) -> np.ndarray:
    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed")
    file = folder / "said.wav"
    subprocess.run(["espeak-ng", "-v", "en-us", "-s", "150", "-w", str(file), text], check=True)
    found = list(utterances(FileSource(file)))
    assert len(found) == 1
    return found[0]


def test_every_sound_of_the_pronunciations_is_one_of_the_model() -> None:
    tokens = AcousticModel().tokens
    unknown = {
        sound
        for ways in written_down().values()
        for way in ways
        for sound in way
        if sound not in tokens
    }
    assert unknown == set()


def test_what_can_be_heard_is_what_the_grammar_lists() -> None:
    lexicon = Lexicon(AcousticModel().tokens)
    automaton = Builder(lexicon.number).build(SMALL)
    listed = set(sentences(SMALL.start, SMALL.rules))
    words = ["mark", "cut", "a", "ninety", "at", "one", "nine", "and", "half", "stop", "five"]
    for sentence in listed:
        assert automaton.cost([lexicon.number(word) or 0 for word in sentence]) == 0.0
    for length in (1, 2, 3):
        for sentence in product(words, repeat=length):
            cost = automaton.cost([lexicon.number(word) or 0 for word in sentence])
            assert (cost == 0.0) == (sentence in listed)


def test_rare_ways_of_saying_cost_what_their_weights_tell() -> None:
    lexicon = Lexicon(AcousticModel().tokens)
    rules = {"number": parse_phrase("/1/ (one | nine) | /0.1/ one nine")}
    grammar = Grammar(parse_phrase("mark (/1/ at | /0.5/ for) <number>"), rules)
    automaton = Builder(lexicon.number).build(grammar)

    def cost(sentence: str) -> float:
        return automaton.cost([lexicon.number(word) or 0 for word in sentence.split()])

    assert cost("mark at nine") == 0.0
    assert cost("mark for nine") == pytest.approx(np.log(2), abs=1e-6)
    assert cost("mark for one nine") == pytest.approx(np.log(20), abs=1e-3)
    assert cost("mark nine") == np.inf


def test_the_forward_sum_is_the_sum_over_all_alignments() -> None:
    """Against brute force: every string of frames that collapses to the label sequence."""
    chance = np.random.default_rng(3)
    frames = np.log(chance.dirichlet(np.ones(4), size=5)).astype(np.float32)
    blank = 3
    ways = [(), ((0, 1), (2,)), ((1, 1),)]
    for sentence in ([1], [2], [1, 2]):
        labels = [sum(choice, ()) for choice in product(*(ways[word] for word in sentence))]
        total = best = -np.inf
        for path in product(range(4), repeat=len(frames)):
            collapsed = tuple(
                token
                for place, token in enumerate(path)
                if token != blank and (place == 0 or path[place - 1] != token)
            )
            score = float(sum(frames[place, token] for place, token in enumerate(path)))
            total = np.logaddexp.reduce([total, *[score] * labels.count(collapsed)])
            if collapsed in labels:
                best = max(best, score)
        (found,) = log_likelihoods([sentence], ways, frames, blank)
        assert found == pytest.approx((total, best), abs=1e-4)


@pytest.mark.voices
def test_sentences_of_a_small_grammar_are_heard(ear: BuiltInEar, tmp_path: Path) -> None:
    ear.listen_for(SMALL)
    for text in ("mark a ninety at nine", "cut forty five at two and a half", "stop"):
        hearing = ear.hear(spoken(text, tmp_path))
        assert hearing.alternatives[0].text == text
        assert hearing.alternatives[0].fit > -1.5
        scores = [alternative.score for alternative in hearing.alternatives]
        assert scores == sorted(scores, reverse=True)


@pytest.mark.voices
@pytest.mark.parametrize(
    ("rate", "channels", "form", "kind"),
    [
        (44_100, 2, "PCM_16", "wav"),
        (16_000, 1, "PCM_U8", "wav"),
        (8_000, 1, "PCM_16", "wav"),
        (48_000, 6, "DOUBLE", "wav"),
        (96_000, 2, "PCM_24", "flac"),
    ],
)
def test_any_rate_width_and_number_of_channels_is_heard(  # noqa: PLR0913 - the forms of a file
    ear: BuiltInEar, tmp_path: Path, rate: int, channels: int, form: str, kind: str
) -> None:
    mono = soxr.resample(spoken("mark a ninety at nine", tmp_path), SAMPLE_RATE, rate)
    quiet = np.zeros(rate, dtype=mono.dtype)
    file = tmp_path / f"form.{kind}"
    sound = np.concatenate([quiet, mono, quiet])
    soundfile.write(file, np.tile(sound[:, None], channels), rate, subtype=form)
    ear.listen_for(SMALL)
    heard = [ear.hear(one).alternatives[0].text for one in utterances(FileSource(file))]
    assert heard == ["mark a ninety at nine"]


@pytest.mark.voices
def test_the_whole_vocabulary_hears_a_command_and_lets_other_talk_pass(
    ear: BuiltInEar, tmp_path: Path, known: Library
) -> None:
    ear.listen_for(vocabulary(State(), known))
    command = ear.hear(spoken("start a flare", tmp_path))
    assert command.alternatives[0].text == "start a flare"
    assert command.alternatives[0].fit > known.hearing.fit
    talk = ear.hear(spoken("the weather is lovely in the garden today", tmp_path))
    assert all(found.fit < known.hearing.fit for found in talk.alternatives)


def test_nothing_and_noise_and_odd_sound_are_no_sentence(ear: BuiltInEar) -> None:
    ear.listen_for(SMALL)
    noise = np.random.default_rng(1).normal(0, 0.05, 16_000).astype(np.float32)
    for samples in (
        np.empty(0, np.float32),
        np.zeros(8_000, np.float32),
        np.full(8_000, np.nan, np.float32),
        noise,
        np.ones(8_000, np.float32),
    ):
        hearing = ear.hear(samples)
        assert not hearing.alternatives or hearing.alternatives[0].fit < -1.5


@pytest.mark.recordings
def test_people_saying_digits_are_heard(ear: BuiltInEar, recordings: Path) -> None:
    """A dozen recordings of AN4 (CMU, 1991); the whole set is measured by the benchmark."""
    lines = (recordings / "manifest.tsv").read_text(encoding="utf-8").splitlines()[1:]
    digits = ["zero", "oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
    rows = [line.split("\t") for line in lines]
    chosen = [row for row in rows if row[2] == "in" and set(row[1].split()) <= set(digits)]
    chosen = [row for row in chosen if len(row[1].split()) >= 4][:12]
    ear.listen_for(Grammar(Repeat(Choice(tuple(map(Word, digits))), 1), {}))
    wrong = total = 0
    for file, words, *_ in chosen:
        samples, _ = soundfile.read(recordings / file, dtype="float32")
        heard = ear.hear(samples).alternatives[0].text.split()
        total += len(words.split())
        wrong += sum(a != b for a, b in zip(heard, words.split(), strict=False))
        wrong += abs(len(heard) - len(words.split()))
    assert wrong / total <= 0.1


@pytest.mark.parametrize("rate", [8_000, 16_000, 44_100])
@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16"])
def test_any_wav_is_taken(tmp_path: Path, rate: int, subtype: str) -> None:
    wave = 0.3 * np.sin(np.arange(rate) * 2 * np.pi * 440 / rate)
    soundfile.write(tmp_path / "a.wav", np.stack([wave, wave], axis=1), rate, subtype=subtype)
    samples = np.concatenate(list(FileSource(tmp_path / "a.wav")))
    assert abs(len(samples) - 16_000) < 200
    assert 0.25 < np.abs(samples).max() < 0.35


def test_a_bad_file_is_told_in_one_sentence(tmp_path: Path) -> None:
    broken = tmp_path / "broken.wav"
    broken.write_bytes(b"RIFF\x00\x00")
    empty = tmp_path / "empty.wav"
    soundfile.write(empty, np.zeros(0), 16_000)
    for file in (tmp_path / "none.wav", broken, empty):
        with pytest.raises(DeviceError) as told:
            list(FileSource(file))
        assert "\n" not in str(told.value)


class Shape:
    """The shape of the second ear's library: what it was given, and a recorded answer."""

    grammars: ClassVar[list[str]] = []

    class Model:
        def __init__(self, model_path: str) -> None:
            self.path = model_path

        def vosk_model_find_word(self, word: str) -> int:
            return -1 if word == "ninety" else 7

    class KaldiRecognizer:
        def __init__(self, model: object, rate: float, grammar: str) -> None:
            assert model
            assert rate == 16_000
            Shape.grammars.append(grammar)

        def SetWords(self, yes: bool) -> None:  # noqa: N802, FBT001 - the library's names
            assert yes

        def AcceptWaveform(self, data: bytes) -> bool:  # noqa: N802
            return bool(data)

        def FinalResult(self) -> str:  # noqa: N802
            return (
                '{"result": [{"conf": 0.98, "end": 0.6, "start": 0.1, "word": "stop"}],'
                ' "text": "stop"}'
            )


def test_the_second_ear_gives_only_words_that_its_model_knows(tmp_path: Path) -> None:
    ear = VoskEar(tmp_path, library=Shape)
    ear.listen_for(SMALL)
    hearing = ear.hear(np.zeros(16_000, np.float32))
    assert hearing.alternatives[0].text == "stop"
    assert "ninety" not in Shape.grammars[-1]
    assert "[unk]" in Shape.grammars[-1]
    ear.listen_for(Grammar(Word("ninety"), {}))
    assert ear.hear(np.zeros(16_000, np.float32)).alternatives == ()
    assert find_model(tmp_path / "none") is None


@pytest.mark.model
def test_the_real_second_ear() -> None:
    folder = find_model(Path(__file__).parents[3] / "models")
    if folder is None:
        pytest.skip("the Vosk model is not here; scripts/fetch_model fetches it where it can")
    ear = VoskEar(folder)
    ear.listen_for(SMALL)
    assert ear.hear(np.zeros(16_000, np.float32)).alternatives == ()
