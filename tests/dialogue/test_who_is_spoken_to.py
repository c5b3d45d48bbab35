"""Challenges, stops and who is spoken to, as the ears give them: with rivals, noise and time.

The rules are those of the job description (4.2, 4.4, 4.9, 4.10); the times are common practice.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from handsfree.dialogue.attention import Attention, attention
from handsfree.dialogue.effects import Effect, Listen, Say
from handsfree.dialogue.engine import advance, opening
from handsfree.dialogue.events import Alternative, Heard, Spoken, Tick, Typed
from handsfree.dialogue.folding import fold
from handsfree.dialogue.state import State
from handsfree.dialogue.vocabulary import vocabulary
from handsfree.language.tokens import tokenise
from handsfree.library import Library
from handsfree.record import entries as record

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


def at_step(procedure: str, step: str, known: Library, phase: str = "act") -> State:
    """Return a state that stands at a step, its prompt just said."""
    frame = record.Frame(procedure=procedure, step=step, phase=phase)
    started = record.ProcedureStarted(at=AT, procedure=procedure, place=(frame,))
    job = State().job
    for flag in known.procedures[procedure].needs_first:
        job = fold(job, record.FlagSet(at=AT, flag=flag, evidence="test"))
    state = State(fold(job, started))
    state, _ = advance(state, Spoken(1, AT), known)
    return state


def said(effects: tuple[Effect, ...]) -> list[str]:
    return [effect.text for effect in effects if isinstance(effect, Say)]


def heard(*sentences: tuple[str, float], after: float = 1.0, noise: float | None = None) -> Heard:
    alternatives = tuple(Alternative(text, score, 0.0, 12) for text, score in sentences)
    return Heard(alternatives, AT + timedelta(seconds=after), 0.0, noise)


def test_two_done_within_two_seconds_are_one(known: Library) -> None:
    state, _ = advance(at_step("cut", "5", known), heard(("done", 0.0)), known)
    assert state.job.place[-1].step == "6"
    state, effects = advance(state, heard(("done", 0.0), after=2.5), known)
    assert (state.job.place[-1].step, effects) == ("6", ())
    state, _ = advance(state, heard(("done", 0.0), after=5.0), known)
    assert state.job.place[-1].step == "7"


def test_a_challenge_is_never_taken_by_a_guess(known: Library) -> None:
    """What leads by less than the largest margin asks for the words again, and offers no choice."""
    state = at_step("deburr", "1", known, "state")
    near = heard(("end is down", -10.0), ("end is not down", -12.5))
    after, effects = advance(state, near, known)
    assert said(effects) == ["Which way is the end?"]
    assert (after.job.place, after.job.question) == (state.job.place, None)
    after, _ = advance(state, heard(("end is not down", -10.0), ("end is down", -11.0)), known)
    assert after.job.place == state.job.place
    after, _ = advance(state, heard(("end is down", -10.0), ("end is not down", -20.0)), known)
    assert after.job.place[-1].step == "2"


def test_two_ears_must_agree_on_a_challenge(known: Library) -> None:
    state = at_step("deburr", "1", known, "state")
    one = Heard((Alternative("end is down", 0.0, 0.0, 12),), AT, second="the weather")
    after, effects = advance(state, one, known)
    assert after.job.place == state.job.place
    assert said(effects) == ["Which way is the end?"]


def test_a_challenge_is_asked_again_after_a_restart(known: Library) -> None:
    state = at_step("deburr", "1", known, "state")
    after, effects = opening(State(state.job), AT + timedelta(seconds=20), known)
    assert "Which way is the end?" in said(effects)
    assert after.job.place[-1].step == "1"


def test_a_danger_is_acted_on_whatever_else_may_have_been_said(known: Library) -> None:
    state = at_step("cut", "5", known)
    for sentences in ((("stop", -10.0), ("done", -10.5)), (("done", -10.0), ("stop", -11.0))):
        after, effects = advance(state, heard(*sentences), known)
        assert said(effects)[0] == "Stopped."
        assert after.job.stopped
        assert after.job.place[-1].step == "5"


@pytest.mark.parametrize("phase", ["act", "check", "value", "confirm", "state", "branch", "reason"])
def test_a_danger_beats_everything_in_any_phase(known: Library, phase: str) -> None:
    for procedure in known.procedures.values():
        step = procedure.steps[0]
        state = at_step(procedure.id, step.id, known, phase)
        for text in ("stop", "gas", "fire", "he's hurt"):
            after, effects = advance(state, Typed(text, AT + timedelta(minutes=9)), known)
            assert said(effects)[0] == "Stopped."
            assert after.job.place == state.job.place


def test_attention_falls_and_the_ear_is_told(known: Library) -> None:
    state = at_step("cut", "5", known)
    assert attention(state, AT + timedelta(seconds=8), known) is Attention.ATTENTIVE
    assert attention(state, AT + timedelta(seconds=9), known) is Attention.WAITING
    question = tokenise("what's nineteen mil in inches")
    state, effects = advance(state, Tick(AT + timedelta(seconds=9)), known)
    (listen,) = effects
    assert isinstance(listen, Listen)
    readings = known.parser.readings
    assert not readings(listen.grammar.start, question)
    for text in ("done", "stop", "help", "where am i", "hands free what's nineteen mil in inches"):
        assert readings(listen.grammar.start, tokenise(text)), text
    _, effects = advance(state, Tick(AT + timedelta(seconds=10)), known)
    assert effects == ()


def test_asleep_hears_only_danger_and_going_on(known: Library) -> None:
    state, _ = advance(at_step("cut", "5", known), Typed("pause", AT), known)
    assert attention(state, AT, known) is Attention.ASLEEP
    readings = known.parser.readings
    grammar = vocabulary(state, known).start
    for text in ("stop", "fire", "resume", "carry on", "hands free"):
        assert readings(grammar, tokenise(text)), text
    for text in ("done", "yes", "start a flare", "what's nineteen mil in inches"):
        assert not readings(grammar, tokenise(text)), text


def test_who_spoke_can_be_named_while_a_step_waits(known: Library) -> None:
    state, _ = advance(at_step("cut", "5", known), Typed("I'm Sam", AT), known)
    grammar = vocabulary(state, known).start
    assert known.parser.readings(grammar, tokenise("sam done"))


def test_what_is_typed_is_always_for_us(known: Library) -> None:
    state = at_step("cut", "5", known)
    text, later = "what's nineteen mil in inches", AT + timedelta(minutes=1)
    _, effects = advance(state, Typed(text, later), known)
    assert said(effects)
    _, effects = advance(state, Heard((Alternative(text),), later), known)
    assert said(effects) == []


@pytest.mark.parametrize(
    ("text", "timers"),
    [("set sixty four", 0), ("timer ten", 0), ("set ten minutes", 1), ("timer for an hour", 1)],
)
def test_a_number_alone_sets_no_timer_while_a_step_waits(
    known: Library, text: str, timers: int
) -> None:
    """People say numbers to each other, and "enter sixty four" sounds like "set sixty four"."""
    waiting = at_step("cut", "5", known)
    after, effects = advance(waiting, heard((text, 0.0), after=60.0), known)
    assert (len(after.job.timers), bool(effects)) == (timers, bool(timers))
    attentive, _ = advance(waiting, heard((text, 0.0), after=1.0), known)
    assert len(attentive.job.timers) == 1
