"""Answers: what an open question, or the step in hand, is waiting for."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from handsfree.calculators.card import Card, Option, Parameter, Slot
from handsfree.dialogue.meanings import (
    Answer,
    Do,
    Faulty,
    Known,
    Meaning,
    Named,
    Pick,
    Several,
    Stated,
    Value,
)
from handsfree.dialogue.slots import (
    any_of,
    described,
    fact_rule,
    fact_value,
    fewest_missing,
    request_of,
    slot_rule,
    tape,
)
from handsfree.dialogue.state import State
from handsfree.errors import WrongKind
from handsfree.language.grammar import Rule
from handsfree.language.matching import Hit
from handsfree.language.numbers import readings
from handsfree.language.tokens import tokenise
from handsfree.language.units import to_reading
from handsfree.library import Library
from handsfree.procedures.model import Step
from handsfree.quantity import Kind, Reading


def to_question(
    tokens: tuple[str, ...], hits: list[Hit], state: State, library: Library
) -> Meaning | None:
    """Return what a sentence answers of the open question, or None."""
    question = state.job.question
    if question is None:
        return None
    if question.choices:
        return _pick(tokens, question.choices, hits)
    if not question.missing:
        return None
    if question.what.startswith("procedure:"):
        rules = {name: fact_rule(name, library.facts[name]) for name in question.missing}
        return _fact_answer(tokens, rules, state, library)
    card = library.cards[question.what]
    for name, number in question.bare.items():
        unit = _unit(tokens, card.by_name[name], library)
        if unit is not None:
            return Answer({name: Reading(Fraction(number), unit[0], unit[1])})
    have = {name: value for name, value in question.slots.items() if not isinstance(value, bool)}
    return _slot_answer(tokens, card, question.missing, have, state, library)


def _unit(
    tokens: tuple[str, ...], parameter: Parameter | Option, library: Library
) -> tuple[str, Kind] | None:
    """Return the unit that was said for a bare number, if it was one of the parameter's kind."""
    if isinstance(parameter, Option):
        return None
    rule = Rule("unit_of_" + parameter.kind.replace(" ", "_"))
    found = library.parser.readings(rule, tokens)
    return (str(found[0][0]), parameter.kind) if found else None


def _pick(tokens: tuple[str, ...], choices: tuple[str, ...], hits: list[Hit]) -> Meaning | None:
    """Return which of the choices was said: whole, by its own words, or first and second."""
    sides = [tokenise(choice) for choice in choices]
    own = (
        [tuple(word for word in side if word not in sides[1 - i]) for i, side in enumerate(sides)]
        if len(sides) > 1
        else [sides[0]]
    )
    for position, side in enumerate(sides):
        ordinal = ("first", "second")[position]
        said = set(tokens) - {"the", "one"}
        if tokens == side or said == {ordinal} or (said <= set(side) and said & set(own[position])):
            return Pick(position)
    spoken = {hit.phrase.id for hit in hits if hit.phrase.kind == "command"}
    if len(sides) == 1 and "yes" in spoken:
        return Pick(0)
    if spoken & {"no", "leave", "wrong"} or tokens == ("neither",):
        return Pick(None)
    return None


def _fact_answer(
    tokens: tuple[str, ...], rules: Mapping[str, str], state: State, library: Library
) -> Meaning | None:
    for values in library.parser.readings(any_of(rules), tokens):
        found: dict[str, Slot] = {}
        for name, value in values:
            reading = fact_value(library.facts[name], value, tape(state))
            if reading is not None:
                found[name] = reading
        if found:
            return Answer(found)
    return None


def _slot_answer(  # noqa: PLR0913 - a question is a card, what it lacks, and what it has
    tokens: tuple[str, ...],
    card: Card,
    missing: tuple[str, ...],
    have: Mapping[str, Slot],
    state: State,
    library: Library,
) -> Meaning | None:
    """Return the readings that answer a question: of what is missing first, then of the rest."""
    open_ones = [p.name for p in card.parameters if p.name not in have]
    for names in (missing, tuple(open_ones)):
        rules = {name: slot_rule(card, card.by_name[name], library) for name in names}
        found = [
            request
            for values in library.parser.readings(any_of(rules), tokens)
            for request in [request_of(card, tuple(values), {}, state)]
            if request is not None
        ]
        best = fewest_missing(card, found, have, state)
        if len(best) == 1:
            return Answer(best[0].slots, best[0].no_unit)
        if len(best) > 1:
            first, second = (Answer(request.slots, request.no_unit) for request in best[:2])
            return Several(*described(best[0], best[1]), (first, second))
    return None


def step_in_hand(state: State, library: Library) -> Step | None:
    """Return the step that waits for an answer, or None."""
    if not state.job.place:
        return None
    frame = state.job.place[-1]
    procedure = library.procedures.get(frame.procedure)
    return None if procedure is None else procedure.by_id.get(frame.step)


def to_step(tokens: tuple[str, ...], state: State, library: Library) -> Meaning | None:
    """Return what a sentence answers of the step in hand, or None."""
    step = step_in_hand(state, library)
    if step is None:
        return None
    frame = state.job.place[-1]
    book = library.step_books[frame.procedure, step.id]
    said = tokens[1:] if tokens[0] in ("done", "yes", "no", "okay") and len(tokens) > 1 else tokens
    hits = book.matches(tokens) or book.matches(said)  # "no hot work" is not "hot work"
    kinds = {hit.phrase.kind: hit for hit in hits}
    if "fault" in kinds:
        return Faulty(kinds["fault"].phrase.id)
    if "state" in kinds and step.kind == "stated":
        return Stated()
    if "yes" in kinds and frame.phase in ("act", "check"):
        return Do("yes")
    if step.kind == "stated" and frame.phase == "state":
        return _denied(tokens, step, library)
    if step.value is not None and frame.phase in ("act", "value", "confirm"):
        return _value(tokens, step, state)
    if step.fact and step.kind == "fact":
        rules = {step.fact: fact_rule(step.fact, library.facts[step.fact])}
        found = _fact_answer(tokens, rules, state, library)
        return Known(found.slots) if isinstance(found, Answer) else None
    return None


def words_wanted(tokens: tuple[str, ...], state: State, library: Library) -> Meaning | None:
    """Return a sentence as the words that a question or a step asks for, or None."""
    text = " ".join(tokens)
    question = state.job.question
    if question is not None:
        wanted = question.what.startswith("procedure:") and question.missing
        if wanted and library.facts[question.missing[0]].words:
            return Answer({question.missing[0]: text})
        return None
    step = step_in_hand(state, library)
    if step is None:
        return None
    if step.kind == "fact" and library.facts[step.fact].words:
        return Known({step.fact: text})
    asked = step.value
    phase = state.job.place[-1].phase
    if asked is not None and asked.kind == "words" and phase in ("value", "confirm"):
        return Named(text)
    return None


def _denied(tokens: tuple[str, ...], step: Step, library: Library) -> Meaning | None:
    """Return the step's first fault where its state was said with a negation."""
    turned = set(tokens) & set(library.safety.negations)
    state_words = {word for text in step.states for word in tokenise(text)} - {"is", "the", "and"}
    if turned and step.faults and len(set(tokens) & state_words) > 0 and len(tokens) > 1:
        return Faulty(step.faults[0].name)
    return None


def _value(tokens: tuple[str, ...], step: Step, state: State) -> Meaning | None:
    asked = step.value
    if asked is None or asked.kind == "words":
        return None
    if tokens[0] in ("no", "not", "it's") and len(tokens) > 1:
        tokens = tokens[1:]
    found: list[Reading] = []
    bare: Fraction | None = None
    for spoken in readings(tokens, asked.grammar_rule):
        unit = asked.unit
        if unit in ("inch", "millimetre") and spoken.unit is None and asked.unit == "inch":
            unit = tape(state)
        try:
            reading = to_reading(spoken, asked.kind, unit or None)
        except WrongKind:
            continue
        if reading is None:
            bare = spoken.value
        elif reading not in found:
            found.append(reading)
    if found or bare is not None:
        return Value(tuple(found), bare)
    return None
