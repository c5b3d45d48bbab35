"""The engine: a state and an event give a new state and what must be done. Pure and total.

The way a request takes: `evidence` decides whether an utterance is acted on, `understand` says
what it means, and `acting` hands it to one of three rooms: `requests` (calculators), `steps`
(procedures), `navigation` (what can be said at any time). All of them write entries and say
sentences on a `Turn`; the entries are the only way in which the job changes.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import assert_never

from handsfree.dialogue import (
    battery,
    requests,
    results,
    standing,
)
from handsfree.dialogue.acting import act, ask_between
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.attention import Attention, attention, taken
from handsfree.dialogue.doubting import doubt_clock, ran_on
from handsfree.dialogue.effects import Effect, Listen, View
from handsfree.dialogue.events import (
    Battery,
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
from handsfree.dialogue.evidence import (
    Act,
    Again,
    Choose,
    Group,
    Ignore,
    believable,
    confidence,
    grouped,
    weigh,
)
from handsfree.dialogue.meanings import Do, Like, Meaning, Nothing
from handsfree.dialogue.passing import away, passed
from handsfree.dialogue.puzzling import about_the_number
from handsfree.dialogue.returning import RECHECK, come_back
from handsfree.dialogue.state import State
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.understand import after_wake, understand
from handsfree.dialogue.vocabulary import vocabulary
from handsfree.language.tokens import tokenise
from handsfree.library import Library
from handsfree.record import entries as record


def advance(  # noqa: C901, PLR0912 - one arm for each event
    state: State, event: Event, library: Library
) -> tuple[State, tuple[Effect, ...]]:
    """Return the state after an event, and the effects in the order in which to carry them out.

    Total: any event has an answer, if only silence; nothing is raised for what people say.
    """
    match event:
        case Typed(text, at):
            state = _heard_with(state, None)
            return _take(state, text, understand(text, state, library), at, library)
        case Heard():
            return _weigh(_heard_with(state, confidence(event)), event, library)
        case Missed(at):
            turn = Turn(state, library, at)
            if attention(state, at, library) is Attention.ATTENTIVE:
                turn.cue("not_understood")
            return _finished(turn)
        case Called(at):
            turn = Turn(state, library, at)
            turn.hush()
            turn.moment = replace(turn.moment, called=at)
            if state.job.paused:
                turn.write(record.Resumed)
            return _finished(turn)
        case RoomChanged(loud, at):
            turn = Turn(state, library, at)
            turn.say("room_loud" if loud else "room_calm")
            return _finished(turn)
        case Clipped(at):
            turn = Turn(state, library, at)
            turn.say("clipped")
            return _finished(turn)
        case Spoken(number, at, _):
            if number < state.moment.sentences:
                return state, ()
            return replace(state, moment=replace(state.moment, prompt_ended=at)), ()
        case Tick(at):
            return _tick(state, at, library)
        case DeviceLost(device, at):
            turn = Turn(state, library, at)
            turn.say(f"{device}_lost")
            return _finished(turn)
        case DeviceBack(device, at):
            turn = Turn(state, library, at)
            turn.say(f"{device}_back")
            return _finished(turn)
        case Battery(percent, at):
            turn = Turn(state, library, at)
            battery.low(turn, percent)
            return (turn.state, ()) if turn.silent() else _finished(turn)
        case RecordLost(_):
            return replace(state, moment=replace(state.moment, held=True)), ()
        case RecordBack(at):
            turn = Turn(replace(state, moment=replace(state.moment, held=False)), library, at)
            turn.say("record_back")
            return _finished(turn)
    assert_never(event)


def _heard_with(state: State, how_well: float | None) -> State:
    return replace(state, moment=replace(state.moment, confidence=how_well))


def opening(state: State, at: datetime, library: Library) -> tuple[State, tuple[Effect, ...]]:
    """Return what is said when a job is opened again: the place, and what must be asked anew.

    A challenge is never carried over a restart: the step that waits for one asks it again.
    """
    turn = Turn(state, library, at)
    gone = away(state, at)
    doubt_clock(turn)
    standing.expire(turn)
    ran_on(turn, gone)
    if turn.job.entries > 1:  # a job that has just begun does not go on
        turn.write(record.Resumed, restart=True)
    step = step_in_hand(turn.state, library)
    if step is None:
        turn.say("on_restart_free", job=turn.job.name)
    else:
        procedure = library.procedures[turn.job.place[-1].procedure]
        turn.say("on_restart", job=turn.job.name, procedure=procedure.title)
        come_back(turn, gone)
    for flag in turn.job.flags:
        if library.flags[flag].anew:
            turn.say_text(library.flags[flag].anew)
    for place in turn.job.parked:
        procedure = library.procedures[place[0].procedure]
        turn.say("parked_still", procedure=procedure.title, name=procedure.names[0])
    if turn.job.question is not None and turn.job.question.what != RECHECK:
        turn.say("interrupted", question=turn.job.question.question)
    return _finished(turn)


def _weigh(state: State, heard: Heard, library: Library) -> tuple[State, tuple[Effect, ...]]:
    """Act on an utterance, ask between two, or let it pass."""
    match weigh(
        heard,
        ranked(heard, state, library),
        lambda text: _heard_as(text, heard, state, library),
        library.hearing,
    ):
        case Act(text, meaning):
            if isinstance(meaning, Do) and meaning.name in DONE:
                said = state.moment.done_at
                state = replace(state, moment=replace(state.moment, done_at=heard.at))
                if said is not None and heard.at - said < ONE_DONE:
                    return state, ()
            return _take(state, text, meaning, heard.at, library)
        case Again(text):
            turn = Turn(state, library, heard.at, text)
            step = step_in_hand(state, library)
            turn.say_text(library.says["waiting"] if step is None else step.check)
            return _finished(turn)
        case Choose(first, second):
            turn = Turn(state, library, heard.at, first)
            ask_between(turn, first, second)
            return _finished(turn)
        case Ignore():
            best = next(iter(heard.alternatives), None)
            if (
                best is not None
                and best.fit >= library.hearing.fit
                and believable(best, heard, library.hearing)
                and attention(state, heard.at, library) is Attention.ATTENTIVE
                and about_the_number(best.text, state, library)
            ):
                return _take(state, best.text, Nothing(), heard.at, library)
            return state, ()


def ranked(heard: Heard, state: State, library: Library) -> list[Group]:
    """Return what an utterance may mean in this state, likeliest first."""
    return grouped(
        heard,
        lambda text: _heard_as(text, heard, state, library),
        lambda meaning: requests.doubt(meaning, state.job, library),
        library.hearing,
    )


def _heard_as(text: str, heard: Heard, state: State, library: Library) -> Meaning:
    """Return what a sentence would mean if it was heard and not typed.

    An ear that knows the sounds of its sentences hears those of the grammar only, so one that is
    merely like another means nothing; nor does a yes or no that nobody asked for: people say
    those to each other.
    """
    meaning = understand(text, state, library)
    called = after_wake(tokenise(text), library)
    if not called and attention(state, heard.at, library) is Attention.WAITING:
        meaning = taken(meaning, state, library)
    like = isinstance(meaning, Like) and any(one.phonemes for one in heard.alternatives)
    unasked = isinstance(meaning, Do) and meaning.name in UNASKED and not _waits(state)
    return Nothing() if like or unasked else meaning


MOST_KEPT = 500
"""How many letters of a sentence are kept."""
DONE = ("done", "loose_done")
ONE_DONE = timedelta(seconds=2)
"""Two "done" within this time are one. Common practice, no source."""
UNASKED = ("yes", "no", "loose_done")


def _waits(state: State) -> bool:
    """Return whether a step or a question is open."""
    return bool(state.job.place) or state.job.question is not None


def _take(
    state: State, text: str, meaning: Meaning, at: datetime, library: Library
) -> tuple[State, tuple[Effect, ...]]:
    """Act on what was understood; while paused, what means nothing is let pass."""
    if state.job.paused and isinstance(meaning, Nothing):
        return state, ()
    turn = Turn(state, library, at, " ".join(text.split())[:MOST_KEPT])
    turn.away = away(state, at)
    turn.moment = replace(turn.moment, heard_at=at, nudged=False)
    doubt_clock(turn)
    act(turn, meaning)
    return _finished(turn)


def _tick(state: State, at: datetime, library: Library) -> tuple[State, tuple[Effect, ...]]:
    """Say what time brings, and listen for less where a step has waited for a while."""
    turn = Turn(state, library, at)
    passed(turn)
    if not turn.silent():
        return _finished(turn)
    waiting = attention(state, at, library) is Attention.WAITING
    if waiting == state.moment.waiting:
        return state, ()
    state = replace(state, moment=replace(state.moment, waiting=waiting))
    return state, (Listen(vocabulary(state, library)),)


def _finished(turn: Turn) -> tuple[State, tuple[Effect, ...]]:
    step = step_in_hand(turn.state, turn.library)
    drawing = results.drawing(turn)
    view = View(number=turn.moment.number, heard=turn.words, drawing=drawing)
    if step is not None:
        procedure = turn.library.procedures[turn.job.place[-1].procedure]
        position = procedure.steps.index(step) + 1
        view = View(
            place=f"{procedure.title}, step {position} of {len(procedure.steps)}",
            step=step.title or step.say or step.check,
            caution=step.caution,
            number=turn.moment.number,
            heard=turn.words,
            drawing=drawing,
        )
    turn.moment = replace(turn.moment, waiting=False)
    return turn.result(view, Listen(vocabulary(turn.state, turn.library)))
