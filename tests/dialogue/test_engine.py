"""The engine's promises: total, safe, written before spoken, a question moves nothing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.dialogue.effects import Cue, Effect, Hush, Listen, Say, Show, Write
from handsfree.dialogue.engine import advance, opening
from handsfree.dialogue.events import (
    Alternative,
    Called,
    Clipped,
    DeviceBack,
    DeviceLost,
    Event,
    Heard,
    Missed,
    RecordBack,
    RecordLost,
    RoomChanged,
    Spoken,
    Tick,
    Typed,
)
from handsfree.dialogue.folding import fold
from handsfree.dialogue.state import State
from handsfree.library import library
from handsfree.record import entries as record

LIBRARY = library()
AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
ORDER = (Write, Show, Cue, Say, Hush, Listen)

SAYINGS = [
    "done", "next", "okay", "yes", "no", "wrong", "done done done", "start a flare", "start a cut",
    "three eighths", "half inch", "high pressure", "glasses on", "the glasses are not on",
    "end is down", "nut on, threads out", "the nut is not on", "no hot work", "not flammable",
    "it spirals", "it's cracked", "it slips", "it failed", "scratch", "capped", "no wrench",
    "forty newton metres", "thirteen", "twelve point five", "one point eight", "skip", "because",
    "undo", "back", "where am I", "what's left", "why", "more", "help", "repeat", "number again",
    "what's nineteen mil in inches", "where do I mark a ninety at twelve three eighths", "centre",
    "fifteen sixteenths", "torque on a half inch flare", "standard band", "pause", "resume",
    "stop", "there's a fire", "leave it", "start ten minutes", "how long left", "make up the joint",
    "I'm Sam", "note the clip is loose", "five hundred microns", "slower", "confined space",
    "what size suction line do I need", "dimensions are to the outside", "first", "neither",
]  # fmt: skip

times = st.integers(0, 4000)
texts = st.one_of(st.sampled_from(SAYINGS), st.sampled_from(SAYINGS), st.text(max_size=40))


def event(kind: int, text: str, at: datetime) -> Event:
    match kind:
        case 0:
            return Typed(text, at)
        case 1 | 2 | 3:
            return Heard((Alternative(text),), at)
        case 4:
            return Heard((Alternative(text, 0.0), Alternative("done", -1.0)), at)
        case 5:
            return Tick(at)
        case 6:
            return Spoken(kind, at)
        case 7:
            return DeviceLost("microphone", at)
        case 8:
            return RecordLost(at)
        case 9:
            return RecordBack(at)
        case _:
            others = (Missed(at), RoomChanged(loud=True, at=at), RoomChanged(loud=False, at=at))
            return (*others, Clipped(at), Called(at), DeviceBack("microphone", at))[kind % 6]


def events_of(walk: list[tuple[int, str, int]]) -> list[Event]:
    at, found = AT, []
    for kind, text, later in walk:
        at += timedelta(seconds=later % 30)
        found.append(event(kind, text, at))
    return found


walks = st.lists(st.tuples(st.integers(0, 15), texts, times), min_size=1, max_size=60)


@given(walk=walks)
@settings(max_examples=2000, deadline=None)
def test_any_walk_is_answered_in_order_and_passes_no_challenge_without_its_words(
    walk: list[tuple[int, str, int]],
) -> None:
    """The job is the fold of its record, and a stated step is closed by its own phrases alone."""
    state, job = State(), State().job
    for happened in events_of(walk):
        before = state
        state, effects = advance(state, happened, LIBRARY)
        places = [ORDER.index(type(effect)) for effect in effects]
        assert places == sorted(places)
        for effect in effects:
            if isinstance(effect, Write):
                job = fold(job, effect.entry)
                if isinstance(effect.entry, record.StepClosed):
                    is_closed_rightly(effect.entry, before)
    assert job == state.job
    _, effects = opening(state, AT + timedelta(days=1), LIBRARY)
    assert any(isinstance(effect, Say) for effect in effects)


def is_closed_rightly(entry: record.StepClosed, before: State) -> None:
    step = LIBRARY.procedures[entry.procedure].by_id[entry.step]
    assert before.job.place[-1].procedure == entry.procedure or entry.how in ("called", "fact")
    if step.kind == "stated":
        assert entry.how == "stated"
        assert entry.words.lower() in {"glasses on", "end is down", "nut on, threads out"}
    if step.value is not None and step.value.must:
        assert entry.how == "value"


QUESTIONS = [
    "what's nineteen mil in inches",
    "torque on a half inch flare",
    "half of eleven and three quarters",
    "five hundred microns in pascal",
    "what size suction line do I need",
    "where am I",
    "why",
    "what's left",
    "repeat",
]


@given(walk=walks, question=st.sampled_from(QUESTIONS))
@settings(max_examples=200, deadline=None)
def test_a_question_moves_neither_the_step_nor_its_value(
    walk: list[tuple[int, str, int]], question: str
) -> None:
    state = State()
    at = AT
    for happened in events_of(walk):
        state, _ = advance(state, happened, LIBRARY)
        at = happened.at
    if state.job.place and state.job.place[-1].phase == "reason":
        return
    after, _ = advance(state, Typed(question, at), LIBRARY)
    assert after.job.place == state.job.place
    assert after.job.values == state.job.values
    assert after.job.pending == state.job.pending


@given(text=st.text(max_size=300))
@settings(max_examples=200, deadline=None)
def test_any_text_is_answered(text: str) -> None:
    _, effects = advance(State(), Typed(text, AT), LIBRARY)
    assert all(isinstance(effect, Effect) for effect in effects)


def test_a_value_that_need_not_be_said_is_asked_for_again_where_it_cannot_be_read() -> None:
    state, effects = advance(State(), Typed("do they fit a three gauge sleeve", AT), LIBRARY)
    assert any(isinstance(effect, Say) for effect in effects)
    assert state.job.question is not None
    assert state.job.question.missing == ("sleeve",)


def test_long_lines_and_control_characters_are_answered() -> None:
    for text in ("x" * 10_000, "\x1b[31mred\x00\x07", "one " * 2_000, "\u202egnirts"):
        _, effects = advance(State(), Typed(text, AT), LIBRARY)
        assert any(isinstance(effect, Say) for effect in effects)


def test_nothing_is_said_as_an_answer_where_it_was_refused_or_asked_back() -> None:
    for text in ("is sixty newton metres okay on three eighths", "torque on a half inch flare"):
        _, effects = advance(State(), Typed(text, AT), LIBRARY)
        written = [effect.entry for effect in effects if isinstance(effect, Write)]
        assert not any(isinstance(entry, record.Calculated) for entry in written)


def test_okay_counts_only_right_after_the_prompt() -> None:
    state, _ = advance(State(), Typed("start a timer for ten minutes", AT), LIBRARY)
    frame = record.Frame(procedure="cut", step="5")
    started = record.ProcedureStarted(at=AT, procedure="cut", place=(frame,))
    ready = record.FlagSet(at=AT, flag="ppe", evidence="glasses on")
    new = record.FlagSet(at=AT, flag="tube_known", evidence="new tube")
    state = State(fold(fold(fold(state.job, ready), new), started), state.moment)
    state, _ = advance(state, Typed("repeat", AT), LIBRARY)
    state, _ = advance(state, Spoken(99, AT), LIBRARY)
    late, _ = advance(state, Typed("okay", AT + timedelta(seconds=9)), LIBRARY)
    assert late.job.place[-1].step == "5"
    soon, _ = advance(state, Typed("okay", AT + timedelta(seconds=7)), LIBRARY)
    assert soon.job.place[-1].step == "6"


def test_a_timer_that_ran_out_is_announced_once_and_closes_nothing() -> None:
    state, _ = advance(State(), Typed("start ten minutes", AT), LIBRARY)
    early, effects = advance(state, Tick(AT + timedelta(minutes=9)), LIBRARY)
    assert effects == ()
    late, effects = advance(early, Tick(AT + timedelta(minutes=10)), LIBRARY)
    assert [effect.text for effect in effects if isinstance(effect, Say)] == ["Timer: time is up."]
    _, effects = advance(late, Tick(AT + timedelta(minutes=11)), LIBRARY)
    assert effects == ()
