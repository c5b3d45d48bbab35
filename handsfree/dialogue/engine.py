"""The engine: a state and an event give a new state and what must be done. Pure and total.

The way a request takes: `evidence` decides whether an utterance is acted on, `understand` says
what it means, and one of three rooms handles it: `requests` (calculators), `steps` (procedures),
`navigation` (what can be said at any time). All of them write entries and say sentences on a
`Turn`; the entries are the only way in which the job changes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import assert_never

from handsfree.dialogue import (
    navigation,
    parking,
    places,
    requests,
    reworks,
    standing,
    steps,
    values,
    walking,
)
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.effects import Effect, Listen, View
from handsfree.dialogue.events import (
    DeviceBack,
    DeviceLost,
    Event,
    Heard,
    RecordBack,
    RecordLost,
    Spoken,
    Tick,
    Typed,
)
from handsfree.dialogue.evidence import Act, Choose, Ignore, believable, weigh
from handsfree.dialogue.meanings import (
    Answer,
    Begin,
    Change,
    Danger,
    Do,
    Facts,
    Faulty,
    HandBack,
    Known,
    Like,
    Meaning,
    Named,
    Nothing,
    Over,
    Pick,
    Reason,
    Request,
    Several,
    StageDone,
    Stated,
    Take,
    Tell,
    Unreadable,
    Value,
)
from handsfree.dialogue.puzzling import about_the_number, asked_rule
from handsfree.dialogue.state import HEARD, State
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.understand import understand
from handsfree.dialogue.vocabulary import vocabulary
from handsfree.dialogue.wording import render, written_out
from handsfree.language.tokens import tokenise
from handsfree.language.trouble import trouble
from handsfree.library import Library
from handsfree.quantity import Reading
from handsfree.record import entries as record


def advance(state: State, event: Event, library: Library) -> tuple[State, tuple[Effect, ...]]:
    """Return the state after an event, and the effects in the order in which to carry them out.

    Total: any event has an answer, if only silence; nothing is raised for what people say.
    """
    match event:
        case Typed(text, at):
            return _hear(state, text, at, library, typed=True)
        case Heard():
            return _weigh(state, event, library)
        case Spoken(number, at, _):
            if number < state.moment.sentences:
                return state, ()
            return replace(state, moment=replace(state.moment, prompt_ended=at)), ()
        case Tick(at):
            return _tick(state, at, library)
        case DeviceLost(device, at):
            turn = Turn(state, library, at)
            turn.say("device_lost", device=device)
            return _finished(turn)
        case DeviceBack(device, at):
            turn = Turn(state, library, at)
            turn.say("device_back", device=device)
            return _finished(turn)
        case RecordLost(_):
            return replace(state, moment=replace(state.moment, held=True)), ()
        case RecordBack(at):
            turn = Turn(replace(state, moment=replace(state.moment, held=False)), library, at)
            turn.say("record_back")
            return _finished(turn)
    assert_never(event)


def opening(state: State, at: datetime, library: Library) -> tuple[State, tuple[Effect, ...]]:
    """Return what is said when a job is opened again: the place, and what must be asked anew.

    A challenge is never carried over a restart: the step that waits for one asks it again.
    """
    turn = Turn(state, library, at)
    standing.expire(turn)
    turn.write(record.Resumed, restart=True)
    step = step_in_hand(turn.state, library)
    if step is None:
        turn.say("on_restart_free", job=turn.job.name)
    else:
        procedure = library.procedures[turn.job.place[-1].procedure]
        turn.say("on_restart", job=turn.job.name, procedure=procedure.title)
        walking.prompt(turn)
    for place in turn.job.parked:
        procedure = library.procedures[place[0].procedure]
        turn.say("parked_still", procedure=procedure.title, name=procedure.names[0])
    if turn.job.question is not None:
        turn.say("interrupted", question=turn.job.question.question)
    return _finished(turn)


def _weigh(state: State, heard: Heard, library: Library) -> tuple[State, tuple[Effect, ...]]:
    """Act on an utterance, ask between two, or let it pass."""
    match weigh(
        heard,
        lambda text: _heard_as(text, heard, state, library),
        lambda meaning: requests.doubt(meaning, state.job, library),
        library.hearing,
    ):
        case Act(text):
            return _hear(state, text, heard.at, library, typed=False)
        case Choose(first, second):
            turn = Turn(state, library, heard.at, first)
            _ask_between(turn, first, second)
            return _finished(turn)
        case Ignore():
            best = next(iter(believable(heard, library.hearing)), None)
            if (
                best is not None
                and best.fit >= library.hearing.fit
                and about_the_number(best.text, state, library)
            ):
                return _hear(state, best.text, heard.at, library, typed=False)
            return state, ()


def _heard_as(text: str, heard: Heard, state: State, library: Library) -> Meaning:
    """Return what a sentence would mean if it was heard and not typed.

    An ear that knows the sounds of its sentences hears those of the grammar only, so one that is
    merely like another means nothing; nor does a yes or no that nobody asked for: people say
    those to each other.
    """
    meaning = understand(text, state, library)
    like = isinstance(meaning, Like) and any(one.phonemes for one in heard.alternatives)
    unasked = isinstance(meaning, Do) and meaning.name in UNASKED and not _waits(state)
    return Nothing() if like or unasked else meaning


UNASKED = ("yes", "no", "loose_done")


def _waits(state: State) -> bool:
    """Return whether a step or a question is open."""
    return bool(state.job.place) or state.job.question is not None


def _ask_between(turn: Turn, first: str, second: str) -> None:
    question = turn.library.says["which_of_two"].format(first=first, second=second)
    turn.write(
        record.Asked, what=HEARD, question=question, choices=(first, second), words=turn.words
    )
    turn.say_text(question)


def _hear(
    state: State, text: str, at: datetime, library: Library, *, typed: bool
) -> tuple[State, tuple[Effect, ...]]:
    turn = Turn(state, library, at, " ".join(text.split())[:500])
    meaning = understand(text, state, library)
    if isinstance(meaning, Nothing) and not typed and not about_the_number(text, state, library):
        return state, ()
    if state.job.paused and isinstance(meaning, Nothing):
        return state, ()
    _act(turn, meaning)
    return _finished(turn)


def _act(turn: Turn, meaning: Meaning) -> None:  # noqa: C901, PLR0912, PLR0915 - one arm for each meaning
    step = step_in_hand(turn.state, turn.library)
    if not isinstance(meaning, Danger):
        standing.expire(turn)
    if _answers_the_step(meaning) and standing.missing(turn) is not None:
        walking.prompt(turn)
        return
    explaining = isinstance(meaning, Do) and meaning.name in ("why", "repeat", "number_again")
    if not explaining:
        sum_told = isinstance(meaning, Request) or (
            isinstance(meaning, Answer) and turn.job.question is not None
        )
        turn.moment = replace(turn.moment, sum_told=sum_told)
    match meaning:
        case Danger(name):
            _danger(turn, name)
        case HandBack(name):
            handed = turn.library.safety.refuse[name]
            turn.write(record.Refused, what=name, reason=handed.why, words=turn.words)
            turn.say_text(f"{handed.why} {handed.instead}")
        case Do():
            navigation.handle(turn, meaning)
        case Request():
            requests.handle(turn, meaning)
        case Begin(procedure):
            steps.begin(turn, turn.library.procedures[procedure])
        case Take(procedure):
            parking.take(turn, turn.library.procedures[procedure])
        case Tell(name):
            turn.say_text(turn.library.questions[name].say)
        case Over(flag):
            _over(turn, flag)
        case StageDone(stage):
            turn.write(record.StageClosed, stage=stage, words=turn.words)
            turn.say("stage_done", title=turn.library.stages[stage].title)
        case Facts(known):
            _facts(turn, known)
        case Answer() if turn.job.question is not None:
            if turn.job.question.what.startswith("procedure:"):
                steps.begin_answered(turn, meaning)
            else:
                requests.handle_answer(turn, meaning)
        case Known(given) if step is not None:
            steps.fact(turn, step, given)
        case Pick(position):
            _pick(turn, position)
        case Stated() if step is not None:
            steps.stated(turn, step)
        case Faulty(name) if step is not None:
            found = next(fault for fault in step.faults if fault.name == name)
            reworks.fault(turn, step, found)
        case Value() if step is not None:
            values.value(turn, step, meaning)
        case Named(text) if step is not None:
            values.words(turn, step, text)
        case Reason(text) if step is not None:
            steps.skipped(turn, step, text)
        case Change():
            requests.correct(turn, meaning)
        case Unreadable():
            requests.puzzled(turn, meaning)
        case Several(first, second, _):
            question = render(turn.library.says["which_number"], {"first": first, "second": second})
            turn.write(
                record.Asked,
                what=HEARD,
                question=written_out(question),
                choices=(first.speech, second.speech),
                words=turn.words,
            )
            turn.say_sentences(question)
        case Like(sentences):
            _like(turn, sentences)
        case _:
            _puzzled(turn)


def _puzzled(turn: Turn) -> None:
    """Say what is wrong with an answer and ask again, or that nothing was understood."""
    tokens = tokenise(turn.words)
    rule = asked_rule(turn.state, turn.library)
    why = trouble(tokens, rule) if rule is not None and tokens else None
    if why is None:
        turn.say("not_understood")
        return
    turn.say_text(why)
    if turn.job.question is not None:
        turn.say_text(turn.job.question.question)


def _danger(turn: Turn, name: str) -> None:
    """Stop at once; nothing is asked, timers run on."""
    turn.hush()
    turn.write(record.Noted, text=f"stop: {turn.words}")
    safety = turn.library.safety
    turn.say_text(safety.stop.say, urgent=True)
    if name in safety.emergency:
        turn.say_text(safety.emergency[name].say, urgent=True)


def _answers_the_step(meaning: Meaning) -> bool:
    """Return whether a meaning would act on the step in hand."""
    if isinstance(meaning, Do):
        return meaning.name in navigation.STEP_COMMANDS
    return isinstance(meaning, Stated | Faulty | Value | Known | Named | Reason)


def _over(turn: Turn, flag: str) -> None:
    """End a state of the work on somebody's word; what needs it is asked again when it goes on."""
    if flag in turn.job.flags:
        standing.end(turn, flag, turn.words)
    else:
        turn.say("noted", text=turn.words)


def _facts(turn: Turn, given: Mapping[str, Reading | str]) -> None:
    library = turn.library
    if requests.refuse_outside(turn, given):
        return
    size = given.get("size", turn.job.facts.get("size"))
    profile = {name: value for name, value in given.items() if library.facts[name].bender}
    if profile:
        if not isinstance(size, Reading):
            turn.say("bender_needs_size")
            return
        requests.write_bender(turn, size, profile)
        turn.say("bender_set", size=size)
    for name, value in given.items():
        fact = library.facts[name]
        if profile and not fact.bender:
            continue  # the size of the tube in "the three eighths bender has …"
        if not fact.bender:
            requests.write_fact(turn, name, value, size)
        shown = fact.options[value][0] if isinstance(value, str) and fact.options else value
        turn.say_text(fact.told, {"value": shown})


def _like(turn: Turn, sentences: tuple[str, ...]) -> None:
    if len(sentences) > 1:
        _ask_between(turn, sentences[0], sentences[1])
        return
    question = turn.library.says["did_you_mean"].format(first=sentences[0])
    turn.write(record.Asked, what=HEARD, question=question, choices=sentences, words=turn.words)
    turn.say_text(question)


def _pick(turn: Turn, position: int | None) -> None:
    """Go on with the sentence that was chosen, or with none: the question beneath is open again."""
    question = turn.job.question
    turn.write(record.AskedDropped, what=HEARD)
    if question is None or position is None:
        beneath = turn.job.question
        turn.say_text(turn.library.says["parked"] if beneath is None else beneath.question)
        return
    _act(turn, _chosen(turn, question, position))


def _chosen(turn: Turn, question: record.Asked, position: int) -> Meaning:
    """Return what was meant: a sentence that was heard, or one reading of what was said then."""
    again = understand(question.words, turn.state, turn.library)
    if isinstance(again, Several) and again.first.speech == question.choices[0]:
        return again.meanings[position]
    return understand(question.choices[position], turn.state, turn.library)


def _tick(state: State, at: datetime, library: Library) -> tuple[State, tuple[Effect, ...]]:
    """Announce timers that have run out; a hold is closed by the person, never by the clock."""
    over = [
        timer
        for timer in state.job.timers.values()
        if (at - timer.at).total_seconds() >= timer.seconds
    ]
    if not over or state.job.paused:
        return state, ()
    turn = Turn(state, library, at)
    standing.expire(turn)
    for timer in over:
        if _held_by_step(state, library, timer.name):
            if timer.name not in state.moment.announced:
                turn.say("timer_done", name=timer.name)
                announced = (*turn.moment.announced, timer.name)
                turn.moment = replace(turn.moment, announced=announced)
            continue
        turn.write(record.TimerEnded, name=timer.name, announced=True)
        turn.say("timer_done", name=timer.name)
    if turn.silent():
        return state, ()
    return _finished(turn)


def _held_by_step(state: State, library: Library, name: str) -> bool:
    """Return whether a timer is the hold of a procedure in hand, below it, or parked."""
    return any(
        hold.timer_name == name
        for place in (state.job.place, *state.job.parked)
        for hold in places.holds_at(place, library)
    )


def _finished(turn: Turn) -> tuple[State, tuple[Effect, ...]]:
    step = step_in_hand(turn.state, turn.library)
    drawing = requests.drawing(turn)
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
    return turn.result(view, Listen(vocabulary(turn.state, turn.library)))
