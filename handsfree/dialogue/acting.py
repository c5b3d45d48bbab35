"""What each meaning leads to: the rooms of the house, one arm for each thing that can be meant.

`requests` answers for the calculators, `steps` for the procedures, `navigation` for what can be
said at any time. All of them write entries and say sentences on a `Turn`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from handsfree.dialogue import (
    amending,
    batch,
    filing,
    keeping,
    navigation,
    parking,
    requests,
    returning,
    standing,
    steps,
    together,
    values,
    walking,
)
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.meanings import (
    Amend,
    Answer,
    Batch,
    Begin,
    By,
    Change,
    Danger,
    Do,
    DoneWith,
    Facts,
    Faulty,
    File,
    HandBack,
    Known,
    Like,
    Meaning,
    Named,
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
from handsfree.dialogue.puzzling import asked_rule
from handsfree.dialogue.state import HEARD
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.understand import understand
from handsfree.dialogue.wording import Sentence, render, written_out
from handsfree.language.tokens import tokenise
from handsfree.language.trouble import trouble
from handsfree.quantity import Reading
from handsfree.record import entries as record


def ask_between(turn: Turn, first: str, second: str) -> None:
    """Ask which of two sentences was said."""
    question = turn.library.says["which_of_two"].format(first=first, second=second)
    turn.offer(question, (first, second))


def act(turn: Turn, meaning: Meaning, *, named: bool = False) -> None:  # noqa: C901, PLR0912, PLR0915 - one arm for each meaning
    """Do what a meaning asks for, in the state in which the turn stands.

    `named` tells that who speaks has said their name.
    """
    step = step_in_hand(turn.state, turn.library)
    if not isinstance(meaning, Danger):
        standing.expire(turn)
    if _answers_the_step(meaning) and standing.missing(turn) is not None:
        walking.prompt(turn)
        return
    if turn.job.stopped and _moves(meaning):
        turn.say("still_stopped")
        return
    if returning.rechecking(turn) and _answers_the_step(meaning):
        returning.rechecked(turn, meaning)
        return
    if _chooses_neither(turn, meaning):
        _puzzled(turn)
        return
    explaining = isinstance(meaning, Do) and meaning.name in ("why", "repeat", "number_again")
    if not explaining:
        sum_told = isinstance(meaning, Request) or (
            isinstance(meaning, Answer) and turn.job.question is not None
        )
        turn.moment = replace(turn.moment, sum_told=sum_told)
    if step is None or isinstance(meaning, Begin | Batch | Take) or _answers_the_step(meaning):
        aside = turn.moment.aside and isinstance(meaning, Do) and meaning.name == "go_on"
    else:
        aside = isinstance(meaning, Answer | HandBack | Request | Tell | Unreadable)
    turn.moment = replace(turn.moment, aside=aside)
    match meaning:
        case Danger(name):
            _danger(turn, name)
        case HandBack(name):
            handed = turn.library.safety.refuse[name]
            turn.write(record.Refused, what=name, reason=handed.why, words=turn.words)
            turn.say_text(f"{handed.why} {handed.instead}")
        case Do("done" | "loose_done") if not named and together.which_work(turn):
            pass
        case Do():
            navigation.handle(turn, meaning)
        case File():
            filing.file(turn, meaning)
        case Request():
            requests.handle(turn, meaning)
        case Begin(procedure):
            steps.begin(turn, turn.library.procedures[procedure])
        case Batch(procedure):
            batch.batch(turn, procedure)
        case DoneWith(procedure):
            together.done_with(turn, procedure)
        case By(name, text):
            together.speaks(turn, name)
            act(turn, understand(text, turn.state, turn.library), named=True)
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
            walking.follow(turn, step, found)
        case Value() if step is not None:
            values.value(turn, step, meaning)
        case Named(text) if step is not None:
            values.words(turn, step, text)
        case Reason(text) if step is not None:
            closing = steps.accepted if turn.job.place[-1].phase == "accept" else steps.skipped
            closing(turn, step, text)
        case Change():
            requests.correct(turn, meaning)
        case Amend():
            amending.amend(turn, meaning)
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


TWO = 2
"""A choice is one of two; a single sentence is agreed to with a yes."""
MOST_UNCLEAR = 2
"""After so many answers that choose neither, the question is let go."""


def _chooses_neither(turn: Turn, meaning: Meaning) -> bool:
    """Return whether a yes or a done comes to a choice of two: it says nothing of either.

    Least of all does it confirm the value that was being put right when the choice was asked.
    """
    question = turn.job.question
    if question is None or len(question.choices) < TWO or not turn.job.place:
        return False
    confirming = turn.job.place[-1].phase == "confirm"
    agreeing = ("yes", "done", "loose_done", "go_on", "accept") if confirming else ("yes",)
    return isinstance(meaning, Do) and meaning.name in agreeing


def _puzzled(turn: Turn) -> None:
    """Say what is wrong with an answer and ask again, or that nothing was understood."""
    tokens = tokenise(turn.words)
    question = turn.job.question
    if question is not None and question.choices:
        turn.moment = replace(turn.moment, unclear=turn.moment.unclear + 1)
        if turn.moment.unclear >= MOST_UNCLEAR:
            turn.write(record.AskedDropped, what=question.what)
            turn.moment = replace(turn.moment, unclear=0)
            turn.say("parked")
            _value_anew(turn)
        else:
            turn.say_text(question.question)
        return
    rule = asked_rule(turn.state, turn.library)
    why = trouble(tokens, rule) if rule is not None and tokens else None
    if why is None:
        turn.say("not_understood")
        return
    turn.say_text(why)
    if turn.job.question is not None:
        turn.say_text(turn.job.question.question)


def _value_anew(turn: Turn) -> None:
    """Ask for a value again that waited for a yes while it was being put right."""
    step = step_in_hand(turn.state, turn.library)
    if step is not None and turn.job.place[-1].phase == "confirm":
        steps.no(turn, step)


def _danger(turn: Turn, name: str) -> None:
    """Stop at once; nothing is asked, timers run on."""
    turn.hush()
    turn.write(record.Stopped, danger=name, words=turn.words)
    safety = turn.library.safety
    turn.say_text(safety.stop.say, urgent=True)
    if name in safety.emergency:
        turn.say_text(safety.emergency[name].say, urgent=True)


def _answers_the_step(meaning: Meaning) -> bool:
    """Return whether a meaning would act on the step in hand."""
    if isinstance(meaning, Do):
        return meaning.name in navigation.STEP_COMMANDS
    return isinstance(meaning, Stated | DoneWith | Faulty | Value | Known | Named | Reason)


def _moves(meaning: Meaning) -> bool:
    """Return whether a meaning would take the work on; after a stop that waits for a word."""
    moving = isinstance(meaning, Begin | Take | Batch | StageDone)
    undoing = isinstance(meaning, Do) and meaning.name in ("undo", "redo")
    return moving or undoing or _answers_the_step(meaning)


def _over(turn: Turn, flag: str) -> None:
    """End a state of the work on somebody's word; what needs it is asked again when it goes on."""
    if flag in turn.job.flags:
        standing.end(turn, flag, turn.words)
    else:
        turn.say("noted", text=turn.words)


def _facts(turn: Turn, given: Mapping[str, Reading | str]) -> None:
    library = turn.library
    if keeping.refuse_outside(turn, given):
        return
    size = given.get("size", turn.job.facts.get("size"))
    profile = {name: value for name, value in given.items() if library.facts[name].bender}
    if profile:
        if not isinstance(size, Reading):
            turn.say("bender_needs_size")
            return
        keeping.write_bender(turn, size, profile)
        turn.say("bender_set", size=size)
    for name, value in given.items():
        fact = library.facts[name]
        if profile and not fact.bender:
            continue  # the size of the tube in "the three eighths bender has …"
        if not fact.bender:
            keeping.write_fact(turn, name, value, size)
        shown = Sentence(*fact.choice(value)) if isinstance(value, str) else value
        turn.say_text(fact.told, {"value": shown})


def _like(turn: Turn, sentences: tuple[str, ...]) -> None:
    if len(sentences) > 1:
        ask_between(turn, sentences[0], sentences[1])
        return
    question = turn.library.says["did_you_mean"].format(first=sentences[0])
    turn.offer(question, sentences)


def _pick(turn: Turn, position: int | None) -> None:
    """Go on with the sentence that was chosen, or with none: the question beneath is open again."""
    question = turn.job.question
    turn.moment = replace(turn.moment, unclear=0)
    turn.write(record.AskedDropped, what=HEARD)
    if question is None or position is None:
        beneath = turn.job.question
        turn.say_text(turn.library.says["parked"] if beneath is None else beneath.question)
        return
    act(turn, _chosen(turn, question, position))


def _chosen(turn: Turn, question: record.Asked, position: int) -> Meaning:
    """Return what was meant: a sentence that was heard, or one reading of what was said then."""
    again = understand(question.words, turn.state, turn.library)
    if isinstance(again, Several) and again.first.speech == question.choices[0]:
        return again.meanings[position]
    return understand(question.choices[position], turn.state, turn.library)
