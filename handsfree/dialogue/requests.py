"""Questions to the calculators: what is missing is asked, what is complete is answered."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from handsfree.calculators.card import Card, Option, Outcome, Parameter, Slot
from handsfree.dialogue.correcting import corrected, said
from handsfree.dialogue.knowing import bender_for, known
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
from handsfree.dialogue.slots import slot_rule
from handsfree.dialogue.state import Job, fact_key, size_key
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import (
    Band,
    Filling,
    Given,
    Sentence,
    as_written,
    plain,
    render,
    written_out,
)
from handsfree.errors import Refusal, WrongKind
from handsfree.language.units import Ambiguous
from handsfree.library import Library
from handsfree.quantity import Reading
from handsfree.record import entries as record
from handsfree.reference import tables

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
    _keep_facts(turn, card, answer.slots, question)
    kept = {name: value for name, value in question.slots.items() if not isinstance(value, bool)}
    _go_on(turn, card, {**kept, **answer.slots}, answer.unsettled, tries=question.tries)


def correct(turn: Turn, change: Change) -> None:
    """Put a value right in the last request, and answer it again, with "now"."""
    card = turn.library.cards[change.card]
    question = turn.job.question
    held = question.slots if question is not None else {}
    if question is None and turn.job.calculated is not None:
        held = turn.job.calculated.inputs
    slots: dict[str, Slot] = {n: v for n, v in held.items() if not isinstance(v, bool)}
    if change.value is None:
        if question is not None:
            turn.write(record.AskedDropped, what=question.what)
        turn.say("taken_back")
        return
    number = turn.job.calculated_at if question is None else turn.job.entries
    turn.write(
        record.Corrected, corrects=number, name=change.slot, value=change.value, words=turn.words
    )
    if turn.job.facts.get(change.slot) == slots.get(change.slot):
        write_fact(turn, change.slot, change.value)
    turn.say("now")
    spoken = said(card, slots, turn.job) | {change.slot}
    kept = {n: v for n, v in slots.items() if n in spoken or isinstance(v, str)}
    _go_on(turn, card, corrected(kept, change), {}, tries=1)


def puzzled(turn: Turn, found: Unreadable) -> None:
    """Say what is wrong with one value of a request, keep the rest, and ask for that value."""
    card = turn.library.cards[found.card]
    turn.say_text(found.why)
    question = plain(turn.library.question(card, card.by_name[found.slot]))
    _ask(turn, card, found.slots, (found.slot,), question, tries=1)


def _keep_facts(turn: Turn, card: Card, slots: Mapping[str, Slot], question: record.Asked) -> None:
    """Write what was answered and holds for the whole job as facts of the job."""
    size = slots.get("size", question.slots.get("size", turn.job.facts.get("size")))
    for name, value in slots.items():
        parameter = card.by_name[name]
        if isinstance(value, tuple):
            continue
        if "fact" in parameter.origins:
            write_fact(turn, name, value, size)
        elif "bender" in parameter.origins and isinstance(size, Reading):
            write_bender(turn, size, {name: value})


def write_fact(turn: Turn, name: str, value: Reading | str, size: object = None) -> None:
    """Write a fact of the job, for this tube size where it is kept by size."""
    fact = turn.library.facts[name]
    per = size_key(size) if fact.per == "size" and isinstance(size, Reading) else ""
    turn.write(record.FactSet, name=fact_key(name, per), value=value, words=turn.words)


def refuse_outside(turn: Turn, given: Mapping[str, Slot]) -> bool:
    """Refuse a fact that lies outside its plausible band, saying the band; return whether one did.

    Nothing that was told with it is kept.
    """
    for name, value in given.items():
        band = turn.library.facts[name].outside(value)
        if band is not None and isinstance(value, Reading):
            turn.write(record.Refused, what=name, reason="out of range", words=turn.words)
            turn.say("value_out", value=value, low=band[0], high=band[1])
            return True
    return False


def write_bender(turn: Turn, size: Reading, values: Mapping[str, Reading | str]) -> None:
    """Write these values into the profile of the bender for a tube size; the rest of it stays."""
    held = bender_for(size, turn.job)
    known_before = {} if held is None else held.profile
    new = {
        name: value == "yes" if isinstance(value, str) else value for name, value in values.items()
    }
    turn.write(record.BenderSet, size=size, **{**known_before, **new})


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
        _refuse(turn, card, refusal, full)
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
        _refuse(turn, card, refusal, full)
        return
    except WrongKind as wrong_kind:
        turn.write(record.Refused, what=card.id, reason=str(wrong_kind), words=turn.words)
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
        words=turn.words,
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
    turn.write(record.Refused, what=card.id, reason=f"{name} out of range", words=turn.words)
    turn.say("out_of_range", **values)


def _bound(parameter: Parameter, value: object) -> Filling:
    if not isinstance(value, int | float | Fraction):
        return "no limit"
    return Reading(Fraction(value), parameter.unit, parameter.kind)


def _refuse(turn: Turn, card: Card, refusal: Refusal, slots: Mapping[str, Slot]) -> None:
    words = turn.library.words[card.id].refusals[refusal.key]
    fillings: dict[str, Filling] = {**slots}
    for name, value in refusal.values.items():
        if isinstance(value, Reading):
            step = turn.library.rounded("mark", value.unit, value.value)
            fillings[name] = Reading(step, value.unit, value.kind)
        else:
            fillings[name] = str(value)
    turn.write(record.Refused, what=card.id, reason=refusal.key, words=turn.words)
    turn.say_text(words, fillings)


def told_answers(turn: Turn, outcome: Outcome) -> dict[str, Filling]:
    """Return the answers as they fill a sentence: rounded, and low and high also as a `band`."""
    told: dict[str, Filling] = {**rounded_answers(turn, outcome)}
    low, high = told.get("low"), told.get("high")
    if isinstance(low, Reading) and isinstance(high, Reading):
        told["band"] = Band(low, high)
    return told


def rounded_answers(turn: Turn, outcome: Outcome) -> dict[str, Reading | tuple[Reading, ...]]:
    """Return the answers as they are told: rounded once each, from exact values."""
    rules = {result.name: result.rounding for result in outcome.card.results}

    def told(name: str, reading: Reading) -> Reading:
        value = turn.library.rounded(rules[name], reading.unit, reading.value)
        return Reading(value, reading.unit, reading.kind)

    return {
        name: tuple(told(name, one) for one in answer)
        if isinstance(answer, tuple)
        else told(name, answer)
        for name, answer in outcome.answers.items()
    }


def fillings_of(turn: Turn, card: Card, slots: Mapping[str, Slot]) -> dict[str, Filling]:
    """Return the inputs of a card as they are told: choices in the words of the trade."""
    found: dict[str, Filling] = {**slots}
    for parameter in card.parameters:
        value = slots.get(parameter.name)
        if isinstance(parameter, Option) and isinstance(value, str) and not parameter.units_of:
            ways = turn.library.option_words(card, parameter).get(value)
            found[parameter.name] = ways[0] if ways else value
    return found


def tell(turn: Turn, outcome: Outcome) -> None:
    """Write a calculator's outcome into the record, and say it."""
    card = outcome.card
    words = turn.library.words[card.id]
    turn.write(
        record.Calculated,
        calculator=card.id,
        words=turn.words,
        inputs=dict(outcome.inputs),
        answers=dict(outcome.answers),
        sentence=outcome.sentence,
        sources=outcome.sources,
        warnings=outcome.warnings,
    )
    _keep_in_profile(turn, outcome)
    told = told_answers(turn, outcome)
    fillings = {**fillings_of(turn, card, outcome.inputs), **outcome.words, **told}
    for warning in outcome.warnings:
        turn.say_text(words.warnings[warning], fillings)
    turn.say_text(words.sentences[outcome.sentence], fillings)
    last = list(told.values())
    if last:
        turn.number(as_written(last[-1]))


def drawing(turn: Turn) -> str:
    """Return the drawing of what was calculated in this turn as lines of text, or nothing."""
    calculated = turn.calculated
    if calculated is None:
        return ""
    inputs = {k: v for k, v in calculated.inputs.items() if not isinstance(v, bool)}
    sketch = turn.library.cards[calculated.calculator].drawn(inputs)
    return "" if sketch is None else sketch.tape()


def _keep_in_profile(turn: Turn, outcome: Outcome) -> None:
    """Write what was measured of a bender into its profile, and say so.

    A radius that is known already is that on the tool, and beats a measured one.
    """
    size = outcome.inputs.get("size", turn.job.facts.get("size"))
    if not isinstance(size, Reading):
        return
    held = bender_for(size, turn.job)
    profile = {} if held is None else held.profile
    kept = {
        result.name: answer
        for result in outcome.card.results
        for answer in [outcome.answers.get(result.name)]
        if isinstance(answer, Reading)
        and (result.keeps == "always" or (result.keeps and result.name not in profile))
    }
    if kept:
        write_bender(turn, size, kept)
        turn.say("bender_kept", size=size)


def _says_of(sources: tuple[str, ...]) -> tuple[str, ...]:
    """Return the spoken names of sources, each once."""
    return tuple(dict.fromkeys(tables.sources()[name].say for name in sources))


def explain(turn: Turn, calculated: record.Calculated) -> None:
    """Say the sum behind the last answer: its formula in words, with the numbers put in."""
    card = turn.library.cards[calculated.calculator]
    words = turn.library.words[card.id]
    inputs = {k: v for k, v in calculated.inputs.items() if not isinstance(v, bool)}
    outcome = card.run(inputs)
    template = words.why.get(outcome.sentence) or words.why.get("formula")
    if template is None:
        turn.say("no_why")
        return
    fillings = {
        **fillings_of(turn, card, inputs),
        **outcome.words,
        **told_answers(turn, outcome),
    }
    turn.say("sum_source", sources=", ".join(_says_of(outcome.sources)))
    turn.say_text(template, fillings)
