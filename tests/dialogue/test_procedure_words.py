"""What can be said to procedures means what it should: no phrase is taken by another one's."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

import pytest

from handsfree.dialogue.meanings import (
    Begin,
    Do,
    Faulty,
    Meaning,
    Over,
    StageDone,
    Stated,
    Take,
    Tell,
)
from handsfree.dialogue.state import Job, State
from handsfree.dialogue.understand import understand
from handsfree.language.grammar import parse_phrase, sentences
from handsfree.library import library
from handsfree.procedures.model import Procedure
from handsfree.record.entries import Frame

LIBRARY = library()
EACH = 10
PHASES = {"stated": "state", "seen": "check"}


def ways(phrase: str) -> Iterator[str]:
    for words in islice(sentences(parse_phrase(phrase), LIBRARY.rules), EACH):
        yield " ".join(words)


def to_steps(procedure: Procedure) -> Iterator[tuple[State, str, Meaning]]:
    for step in procedure.steps:
        phase = PHASES.get(step.kind, "act")
        state = State(Job(place=(Frame(procedure=procedure.id, step=step.id, phase=phase),)))
        for fault in step.faults:
            for text in fault.words:
                yield from ((state, way, Faulty(fault.name)) for way in ways(text))
        for text in step.states:
            yield from ((state, way, Stated()) for way in ways(text))
        for text in step.yes:
            yield from ((state, way, Do("yes")) for way in ways(text))


@pytest.mark.parametrize("name", sorted(LIBRARY.procedures))
def test_every_step_understands_its_own_words(name: str) -> None:
    for state, way, meant in to_steps(LIBRARY.procedures[name]):
        assert understand(way, state, LIBRARY) == meant, way


@pytest.mark.parametrize("name", sorted(LIBRARY.procedures))
def test_every_procedure_begins_and_comes_back_at_its_words(name: str) -> None:
    procedure = LIBRARY.procedures[name]
    for phrase in procedure.phrases:
        for way in ways(phrase):
            assert understand(way, State(), LIBRARY) == Begin(name), way
    for known in procedure.names:
        assert understand(f"back to the {known}", State(), LIBRARY) == Take(name)


def test_questions_states_and_stages_are_understood() -> None:
    wanted: list[tuple[str, Meaning]] = []
    for name, question in LIBRARY.questions.items():
        wanted += [(way, Tell(name)) for text in question.phrases for way in ways(text)]
    for name, flag in LIBRARY.flags.items():
        wanted += [(way, Over(name)) for text in flag.off for way in ways(text)]
    for name, stage in LIBRARY.stages.items():
        wanted += [(f"the {known} is done", StageDone(name)) for known in stage.names]
    for text, meant in wanted:
        assert understand(text, State(), LIBRARY) == meant, text


def test_no_challenge_is_passed_on_its_own_words_turned_round() -> None:
    for procedure in LIBRARY.procedures.values():
        for step in procedure.steps:
            if step.kind != "stated":
                continue
            frame = Frame(procedure=procedure.id, step=step.id, phase="state")
            state = State(Job(place=(frame,)))
            for text in step.states:
                for way in ways(text):
                    for turned in (f"not {way}", f"{way} not", f"is {way} never"):
                        assert understand(turned, state, LIBRARY) != Stated(), turned
            for plain in ("done", "yes", "okay", "next", "skip", "correct"):
                assert understand(plain, state, LIBRARY) != Stated()
