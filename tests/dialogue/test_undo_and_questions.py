"""Properties of any conversation: undo then redo, and questions that interleave."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from fractions import Fraction

from hypothesis import assume, event, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
)

from handsfree.dialogue.effects import Write
from handsfree.dialogue.engine import advance
from handsfree.dialogue.events import Alternative, Event, Heard, Spoken, Tick, Typed
from handsfree.dialogue.folding import MOST_OPEN, fold
from handsfree.dialogue.state import Job, State
from handsfree.library import library
from handsfree.quantity import Kind, Reading
from handsfree.record.entries import (
    FactSet,
    FlagSet,
    Frame,
    ProcedureStarted,
    entry_from,
    entry_to,
)

LIBRARY = library()
AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
WORK = st.sampled_from(
    [
        "done", "done", "yes", "yes",
        "no", "next", "it failed", "glasses on", "end is down", "start a cut",
        "unroll the coil", "one point eight mil", "three eighths", "undo", "redo", "back", "skip",
        "because", "park it", "back to the cut", "pause", "resume", "stop", "carry on", "I'm Sam",
        "I'm Ann", "Sam, done", "done to deburr", "no, five eighths", "it's half inch", "accept it",
        "neither", "first", "leave it", "hands free", "shorter", "faster", "start ten minutes",
        "nut on, threads out", "start a flare", "high pressure", "not flammable", "no hot work",
    ]
)  # fmt: skip
QUESTIONS = st.sampled_from(
    [
        "what's nineteen mil in inches", "which nut first", "where do I mark a ninety at twelve",
        "how tight on a three eighths nut", "five hundred microns in pascal", "where am I", "why",
        "what's left", "can I test with oxygen", "how long left", "what tool", "repeat", "help",
    ]
)  # fmt: skip


class Conversation(RuleBasedStateMachine):
    """A job being talked about, its record kept beside it as it would be on disk."""

    def __init__(self) -> None:
        super().__init__()
        self.state = State()
        self.job = Job()
        self.at = AT

    @initialize(name=st.sampled_from(["cut", "unroll", "flare_bar", "make_up", "deburr"]))
    def stand_in_work(self, name: str) -> None:
        """Begin in the middle of a job, with all that its work needs."""
        size = Reading(Fraction(1, 2), "inch", Kind.LENGTH)
        frame = Frame(procedure=name, step=LIBRARY.procedures[name].steps[0].id)
        for entry in (
            FactSet(at=AT, name="size", value=size),
            FactSet(at=AT, name="flare_table", value="high-pressure"),
            *(
                FlagSet(at=AT, flag=one, evidence="x")
                for one in LIBRARY.procedures[name].needs_first
            ),
            ProcedureStarted(at=AT, procedure=name, place=(frame,)),
        ):
            self.job = fold(self.job, entry)
        self.state = State(self.job)

    def take(self, event: Event) -> None:
        self.state, effects = advance(self.state, event, LIBRARY)
        for effect in effects:
            if isinstance(effect, Write):
                self.job = fold(self.job, entry_from(entry_to(effect.entry)))
        sentences = self.state.moment.sentences
        self.state, _ = advance(self.state, Spoken(sentences, self.at), LIBRARY)

    @rule(text=WORK, seconds=st.sampled_from([1, 3, 5, 12, 400]), typed=st.booleans())
    def work(self, text: str, seconds: int, *, typed: bool) -> None:
        self.at += timedelta(seconds=seconds)
        self.take(Typed(text, self.at) if typed else Heard((Alternative(text),), self.at))

    @rule(seconds=st.sampled_from([1, 9, 25, 95, 700]))
    def time_passes(self, seconds: int) -> None:
        before = self.state.job
        self.at += timedelta(seconds=seconds)
        self.take(Tick(self.at))
        after = self.state.job
        assert (after.place, after.pending, after.values, after.trail) == (
            before.place, before.pending, before.values, before.trail,
        )  # fmt: skip

    @rule(text=QUESTIONS)
    def question(self, text: str) -> None:
        """A question in the middle moves neither the step nor its value."""
        before = self.state.job
        assume(not before.place or before.place[-1].phase not in ("reason", "accept"))
        self.at += timedelta(seconds=3)
        self.take(Typed(text, self.at))
        after = self.state.job
        assert (after.place, after.pending, after.values) == (
            before.place, before.pending, before.values,
        )  # fmt: skip

    @precondition(lambda self: self.state.job.trail and not self.state.job.paused)
    @rule()
    def undo_then_redo(self) -> None:
        """Closing again what was opened again gives back the place and what was read there."""
        before = self.state.job
        assume(not before.stopped and before.question is None)
        assume(before.place and before.place[-1].phase == "act")
        procedure, name, _ = before.trail[-1]
        step = LIBRARY.procedures[procedure].by_id[name]
        assume(step.kind != "stated" and not step.sets and not step.clears)
        self.at += timedelta(seconds=3)
        undone, _ = advance(self.state, Typed("undo", self.at), LIBRARY)
        event("a step was opened again")
        assert undone.job.place != before.place
        redone, _ = advance(undone, Typed("redo", self.at), LIBRARY)
        phase = {"phase": "act"}
        assert tuple(frame.model_copy(update=phase) for frame in redone.job.place) == tuple(
            frame.model_copy(update=phase) for frame in before.place
        )
        assert redone.job.values == before.values
        assert redone.job.reopened == before.reopened

    @invariant()
    def the_state_is_the_fold_of_the_record(self) -> None:
        assert self.state.job == self.job

    @invariant()
    def few_questions_are_open_and_none_twice(self) -> None:
        names = [question.what for question in self.state.job.questions]
        assert len(names) <= MOST_OPEN
        assert len(set(names)) == len(names)

    @invariant()
    def a_place_is_one_that_exists(self) -> None:
        for place in (self.state.job.place, *self.state.job.parked):
            for frame in place:
                procedure = LIBRARY.procedures[frame.procedure]
                assert frame.step in procedure.by_id or frame.step == "end"


TestConversation = Conversation.TestCase
TestConversation.settings = settings(max_examples=40, stateful_step_count=30, deadline=None)
