"""Hearing ahead changes what is waited for, and nothing of what is heard."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from handsfree.dialogue.events import Heard
from handsfree.dialogue.state import State
from handsfree.dialogue.vocabulary import vocabulary
from handsfree.edge.ear import ahead
from handsfree.edge.ear.ahead import heard
from handsfree.edge.ear.ears import Ears, open_ears
from handsfree.edge.ear.endpoint import utterances
from handsfree.edge.ear.recogniser import Hearing
from handsfree.edge.ear.sources import FileSource
from handsfree.language.grammar import Choice, Grammar, Rule
from handsfree.language.numbers import number_rules
from handsfree.library import Library

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
BLOCK = 1_600
NUMBERS = Grammar(Choice((Rule("number"), Rule("figures"))), number_rules())


def clock() -> datetime:
    return AT


@dataclass
class Counting:
    """An ear that only counts: how long each utterance was that it was given."""

    given: list[int] = field(default_factory=list)

    def listen_for(self, grammar: Grammar) -> None:
        """Take any."""

    def hear(self, samples: np.ndarray) -> Hearing:
        self.given.append(len(samples))
        return Hearing((), None, 0.0, len(samples) / 16_000)


def blocks(sound: np.ndarray) -> Iterator[np.ndarray]:
    for start in range(0, len(sound), BLOCK):
        yield sound[start : start + BLOCK]


@pytest.fixture(scope="module")
def spoken(recordings: Path) -> np.ndarray:
    files = sorted((recordings / "numbers-and-commands").glob("*.flac"))[::16][:5]
    quiet = np.zeros(16_000, np.float32)
    pieces = [quiet]
    for file in files:
        pieces.extend((np.concatenate(list(FileSource(file))), quiet))
    return np.concatenate(pieces)


@pytest.mark.recordings
def test_each_utterance_is_heard_once_whole_and_before_its_end_is_known(spoken: np.ndarray) -> None:
    ear = Counting()
    found = list(heard(blocks(spoken), Ears(ear), lambda: NUMBERS, clock))
    ended = [len(one) for one in utterances(blocks(spoken))]
    assert len(found) == len(ended) > 0
    assert [event.duration for event in found] == [length / 16_000 for length in ended]
    silence, pause = 0.4 * 16_000, 0.13 * 16_000
    for length in ended:
        early = [given for given in ear.given if length - silence <= given < length]
        assert early, "it was heard while its end was waited for"
        assert max(early) >= length - silence + pause - 512


@pytest.mark.recordings
def test_what_is_heard_ahead_is_what_is_heard_at_the_end(spoken: np.ndarray) -> None:
    ears = open_ears()
    early = list(heard(blocks(spoken), ears, lambda: NUMBERS, clock))
    ears.listen_for(NUMBERS)
    late = [ears.hear(samples, AT) for samples in utterances(blocks(spoken))]
    assert [texts(one) for one in early] == [texts(one) for one in late]


def texts(event: Heard) -> list[str]:
    """Return the two likeliest sentences where they can be meant at all (data/hearing.toml)."""
    return [one.text for one in event.alternatives if one.fit > -1.5][:2]


class AtOnce(ThreadPoolExecutor):
    """Does each task before it gives it back, so that what comes first does not depend on load."""

    def submit(self, task: Callable[..., object], /, *given: object, **named: object) -> Future:
        done: Future = Future()
        done.set_result(task(*given, **named))
        return done


@pytest.mark.recordings
def test_sentences_that_change_meanwhile_are_listened_for_anew(
    spoken: np.ndarray, known: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ahead, "ThreadPoolExecutor", AtOnce)
    now = [NUMBERS]

    class Turning(Counting):
        def hear(self, samples: np.ndarray) -> Hearing:
            now[0] = vocabulary(State(), known)  # something else happened meanwhile
            return super().hear(samples)

    ear = Turning()
    found = list(heard(blocks(spoken), Ears(ear), lambda: now[0], clock))
    assert len(ear.given) == len(found) + 1, (
        "the first was heard once more, for what may be said now"
    )


def test_no_speech_is_heard_by_nobody() -> None:
    ear = Counting()
    assert (
        list(heard(blocks(np.zeros(32_000, np.float32)), Ears(ear), lambda: NUMBERS, clock)) == []
    )
    assert ear.given == []


@pytest.mark.recordings
def test_what_each_stage_took_is_told_where_that_is_asked_for(spoken: np.ndarray) -> None:
    ears = open_ears()
    lines: list[str] = []
    ears.trace = lines.append
    events = list(heard(blocks(spoken), ears, lambda: NUMBERS, clock))
    assert len(lines) == len(events)
    assert all(line.startswith("sounds 0.") for line in lines)
    assert all("waited for after the end of speech" in line for line in lines)


def test_the_ears_are_made_ready_for_new_sentences_before_anybody_speaks(known: Library) -> None:
    @dataclass
    class Taught(Counting):
        keys: list[str] = field(default_factory=list)

        def listen_for(self, grammar: Grammar) -> None:
            self.keys.append(grammar.key)

    ear, other = Taught(), vocabulary(State(), known)
    turns = iter([NUMBERS, NUMBERS, *[other] * 1_000])
    silence = np.zeros(32_000, np.float32)
    assert list(heard(blocks(silence), Ears(ear), lambda: next(turns), clock)) == []
    assert ear.keys == [NUMBERS.key, other.key]
