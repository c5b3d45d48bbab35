"""Questions to the calculators: what is missing is asked, what is complete is answered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from handsfree.calculators.card import Card, Option, Parameter, Slot
from handsfree.dialogue.correcting import corrected, said
from handsfree.dialogue.keeping import keep_answered, write_fact
from handsfree.dialogue.knowing import known
from handsfree.dialogue.meanings import (
    Answer,
    Change,
    Like,
    Meaning,
    Nothing,
    Request,
    Several,
    Unreadable,
)
from handsfree.dialogue.results import refuse, tell
from handsfree.dialogue.slots import slot_rule
from handsfree.dialogue.state import FACT, Job, rests_on
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import (
    Filling,
    Given,
    Sentence,
    plain,
    render,
    written_out,
)
from handsfree.errors import Refusal, WrongKind
from handsfree.language.units import Ambiguous
from handsfree.library import Library
from handsfree.quantity import Reading
from handsfree.record import entries as record

MOST_ASKED = 2
"""One question asks for at most two things."""
LAST_TRY = 2
"""An implausible value is asked for once more, and then refused."""


def handle(turn: Turn, request: Request) -> None:
    """Answer a request, or ask for what it lacks."""
    card = turn.library.cards[request.card]
    _go_on(turn, card, dict(request.slots), request.unsettled, tries=1)


def doubt(meaning: Meaning, job: Job, library: Library) -> float:
    """Return how unlikely a meaning is before anything was heard, nats: 0 for what is answered."""
    limits = library.hearing
    if isinstance(meaning, Several | Like | Unreadable):
        return limits.doubt_asks
    if isinstance(meaning, Nothing):
        return limits.doubt_nothing
    if not isinstance(meaning, Request):
        return 0.0
    card = library.cards[meaning.card]
    full = known(card, meaning.slots, job)
    if card.implausible(full):
        return limits.doubt_refused
    if meaning.unsettled or card.missing(full):
        return limits.doubt_asks
    try:
        card.run(full)
    except (Refusal, WrongKind):
        return limits.doubt_refused
    return 0.0


def handle_answer(turn: Turn, answer: Answer) -> None:
    """Put an answer into the open question, and go on with it."""
    question = turn.job.question
    if question is None:
        return
    card = turn.library.cards[question.what]
    turn.asked_in = _all_words(turn, question)
    keep_answered(turn, card, answer.slots, question)
    kept = record.as_slots(question.slots)
    given = {name: _added(card, name, kept.get(name), new) for name, new in answer.slots.items()}
    _go_on(turn, card, {**kept, **given}, answer.unsettled, tries=question.tries)


def _added(card: Card, name: str, held: Slot | None, new: Slot) -> Slot:
    """Return an answer, put after those before it where a slot takes more than were given yet."""
    parameter = card.by_name[name]
    if isinstance(parameter, Parameter) and isinstance(held, tuple) and isinstance(new, tuple):
        return new if max(len(held), len(new)) >= parameter.least else (*held, *new)
    return new


def _all_words(turn: Turn, question: record.Asked) -> str:
    """Return what was said for a request: before its question was asked, and to answer it."""
    return "; ".join(filter(None, (question.words, turn.words)))


def correct(turn: Turn, change: Change) -> None:
    """Put a value right in the last request, and answer it again, with "now"."""
    card = turn.library.cards[change.card]
    question = turn.job.question
    if question is not None and question.what != change.card:
        question = None
    held = question.slots if question is not None else {}
    if question is None and turn.job.calculated is not None:
        held = turn.job.calculated.inputs
    slots: dict[str, Slot] = record.as_slots(held)
    if change.value is None:
        if question is not None:
            turn.write(record.AskedDropped, what=question.what)
        turn.say("taken_back")
        return
    number = turn.job.calculated_at if question is None else turn.job.entries
    turn.write(
        record.Corrected, corrects=number, name=change.slot, value=change.value, words=turn.words
    )
    _fact_corrected(turn, change, slots.get(change.slot))
    if question is None:
        shaped_already(turn, turn.job.calculated_at)
    turn.say("now")
    spoken = said(card, slots, turn.job) | {change.slot}
    kept = {n: v for n, v in slots.items() if n in spoken or isinstance(v, str)}
    _go_on(turn, card, corrected(kept, change), {}, tries=1)


def _fact_corrected(turn: Turn, change: Change, old: Slot | None) -> None:
    """Put the job's fact right too, where the value came from it."""
    if change.value is None or old is None or turn.job.facts.get(change.slot) != old:
        return
    facts = [one for one in turn.job.said if (one.of, one.name) == (FACT, change.slot)]
    if not facts or facts[-1].value != old:
        write_fact(turn, change.slot, change.value)
        return
    stale = [one for one in turn.job.sums.values() if rests_on(one, facts[-1])]
    turn.write(
        record.Corrected,
        corrects=facts[-1].number,
        name=f"{FACT} {change.slot}",
        value=change.value,
        words=turn.words,
    )
    tell_stale(turn, stale, change.card)


def tell_stale(turn: Turn, stale: Sequence[record.Calculated], but: str) -> None:
    """Name the answers that no longer count, but for the one that is given again."""
    others = [one.calculator for one in stale if one.calculator != but]
    if others:
        titles = ", ".join(turn.library.words[name].title for name in others)
        turn.say("no_longer", values=titles)


def again(turn: Turn, name: str, slots: Mapping[str, Slot]) -> None:
    """Answer a request again with what was said for it, from what is known by now."""
    _go_on(turn, turn.library.cards[name], dict(slots), {}, tries=1)


def shaped_already(turn: Turn, since: int) -> None:
    """Say it where tube was cut or bent after an answer that is being put right."""
    made = [
        step.shapes
        for procedure in turn.library.procedures.values()
        for step in procedure.steps
        if step.shapes and turn.job.closed.get(f"{procedure.id}/{step.id}", 0) > since
    ]
    if made:
        turn.say(f"{made[-1]}_at_the_old")


def puzzled(turn: Turn, found: Unreadable) -> None:
    """Say what is wrong with one value of a request, keep the rest, and ask for that value."""
    card = turn.library.cards[found.card]
    turn.say_text(found.why)
    asked = turn.job.question
    if asked is not None and asked.what == found.card:
        turn.asked_in = _all_words(turn, asked)
    question = plain(turn.library.question(card, card.by_name[found.slot]))
    _ask(turn, card, found.slots, (found.slot,), question, tries=1)


def _go_on(
    turn: Turn, card: Card, slots: dict[str, Slot], unsettled: Mapping[str, Ambiguous], tries: int
) -> None:
    library = turn.library
    full = known(card, slots, turn.job)
    if unsettled:
        name, choices = next(iter(unsettled.items()))
        bare = {name: str(choices.choices[0].value)}
        question = render(library.says["which_reading"], {"choices": choices})
        _ask(turn, card, slots, (name,), question, tries, bare)
        return
    wrong = card.implausible(full)
    if wrong:
        _implausible(turn, card, slots, wrong[0], full, tries)
        return
    try:
        if card.guard is not None:
            card.guard(full)
    except Refusal as refusal:
        refuse(turn, card, refusal, full)
        return
    missing = card.missing(full)
    if missing:
        asked = _together(card, missing, library)
        questions = [library.question(card, parameter) for parameter in asked]
        question = plain(_joined(turn, questions))
        _ask(turn, card, slots, tuple(p.name for p in asked), question, tries)
        return
    try:
        outcome = card.run(full)
    except Refusal as refusal:
        refuse(turn, card, refusal, full)
        return
    except WrongKind as wrong_kind:
        turn.write(record.Refused, what=card.id, reason=str(wrong_kind), words=turn.asked_in)
        turn.say_text(str(wrong_kind))
        return
    tell(turn, outcome)


def _together(
    card: Card, missing: tuple[Parameter | Option, ...], library: Library
) -> tuple[Parameter | Option, ...]:
    """Return what one question asks for: two things only where their answers can't be confused."""
    first, *others = missing[:MOST_ASKED]
    rules = {slot_rule(card, parameter, library) for parameter in (first, *others)}
    alone = len(rules) == 1 or any(getattr(one, "many", False) for one in (first, *others))
    return (first,) if alone else (first, *others)


def _joined(turn: Turn, questions: list[str]) -> str:
    """Return one question out of two: `To centre or outside, and what bend radius …?`."""
    if len(questions) == 1:
        return questions[0]
    first, second = questions
    also = turn.library.says["and_also"]
    return f"{first.rstrip('?.')}, {also} {second[0].lower()}{second[1:]}"


def _ask(  # noqa: PLR0913 - what the record must keep of a question
    turn: Turn,
    card: Card,
    slots: Mapping[str, Slot],
    missing: tuple[str, ...],
    question: tuple[Sentence, ...],
    tries: int,
    bare: Mapping[str, str] | None = None,
) -> None:
    turn.write(
        record.Asked,
        what=card.id,
        slots=dict(slots),
        missing=missing,
        question=written_out(question),
        words=turn.asked_in,
        tries=tries,
        bare=dict(bare or {}),
    )
    held = [v if isinstance(v, tuple) else (v,) for v in slots.values() if not isinstance(v, str)]
    given = tuple(one for values in held for one in values)
    if given:
        turn.say("understood", values=Given(given))
    turn.say_sentences(question)


def _implausible(  # noqa: PLR0913 - as _ask
    turn: Turn,
    card: Card,
    slots: dict[str, Slot],
    parameter: Parameter,
    full: Mapping[str, Slot],
    tries: int,
) -> None:
    """Ask for an implausible value once more, then refuse it."""
    value = full[parameter.name]
    name = parameter.name.replace("_", " ")
    values: dict[str, Filling] = {"name": name, "value": value}
    if tries < LAST_TRY:
        rest = {key: held for key, held in slots.items() if key != parameter.name}
        again = render(turn.library.says["say_again"], values)
        _ask(turn, card, rest, (parameter.name,), again, tries + 1)
        return
    values["low"] = _bound(parameter, parameter.low)
    values["high"] = _bound(parameter, parameter.high)
    turn.write(record.Refused, what=card.id, reason=f"{name} out of range", words=turn.asked_in)
    turn.say("out_of_range", **values)


def _bound(parameter: Parameter, value: object) -> Filling:
    if not isinstance(value, int | float | Fraction):
        return "no limit"
    return Reading(Fraction(value), parameter.unit, parameter.kind)
