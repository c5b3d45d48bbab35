"""Answers: what an open question, or the step in hand, is waiting for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from handsfree.calculators.card import Card, Option, Parameter, Slot, Slots
from handsfree.dialogue.knowing import known
from handsfree.dialogue.meanings import (
    Answer,
    Do,
    Faulty,
    Known,
    Meaning,
    Named,
    Pick,
    Request,
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
    is_plausible,
    request_of,
    slot_rule,
    tape,
)
from handsfree.dialogue.state import State
from handsfree.dialogue.wording import choices_told
from handsfree.errors import WrongKind
from handsfree.language.grammar import Expansion, Rule, rule_names
from handsfree.language.matching import Hit
from handsfree.language.numbers import figures_value, readings
from handsfree.language.spoken import LONGEST_NUMBER
from handsfree.language.tokens import tokenise
from handsfree.language.units import Ambiguous, settle, usual_units
from handsfree.library import Library
from handsfree.procedures.model import Step
from handsfree.procedures.model import Value as StepValue
from handsfree.quantity import Kind, Reading
from handsfree.record.entries import Value as Stored
from handsfree.record.entries import as_slots

ORDINALS = ("first", "second")
ARTICLES = frozenset(("the", "one"))


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
    have = as_slots(question.slots)
    return _slot_answer(tokens, card, question.missing, have, state, library)


def _unit(
    tokens: tuple[str, ...], parameter: Parameter | Option, library: Library
) -> tuple[str, Kind] | None:
    """Return the unit that was said for a bare number, if it was one of the parameter's kind.

    "The first" and "the second" are those of the question.
    """
    if isinstance(parameter, Option):
        return None
    for position, unit in zip(ORDINALS, usual_units(parameter.kind), strict=False):
        if set(tokens) - ARTICLES == {position}:
            return unit, parameter.kind
    rule = Rule("unit_of_" + parameter.kind.replace(" ", "_"))
    found = library.parser.readings(rule, tokens)
    return (str(found[0][0]), parameter.kind) if found else None


def _pick(tokens: tuple[str, ...], choices: tuple[str, ...], hits: list[Hit]) -> Meaning | None:
    """Return which of the choices was said: whole, by its own words, or first and second.

    A number picks the choice that has it, also figure by figure ("one three" for thirteen). A
    whole request with a number of its own is never a piece of a choice: it is a new request.
    """
    sides = [tokenise(choice) for choice in choices]
    own = (
        [tuple(word for word in side if word not in sides[1 - i]) for i, side in enumerate(sides)]
        if len(sides) > 1
        else [sides[0]]
    )
    request = any(
        hit.phrase.kind == "calculator" and hit.bound and (hit.literal or len(hit.bound) > 1)
        for hit in hits
    )
    for position, side in enumerate(sides):
        ordinal = ORDINALS[position]
        said = set(tokens) - ARTICLES
        part = not request and said <= set(side) and said & set(own[position])
        if tokens == side or said == {ordinal} or part:
            return Pick(position)
    worth = _worth(tokens)
    having = [bool(worth & _numbers_in(side)) for side in sides]
    if having.count(True) == 1:
        return Pick(having.index(True))
    spoken = {hit.phrase.id for hit in hits if hit.phrase.kind == "command"}
    if len(sides) == 1 and "yes" in spoken:
        return Pick(0)
    if spoken & {"no", "leave", "wrong"} or tokens == ("neither",):
        return Pick(None)
    return None


def _worth(tokens: tuple[str, ...]) -> set[Fraction]:
    """Return what tokens are worth as a number, said as one or figure by figure."""
    figures = figures_value(tokens)
    found = {spoken.value for rule in ("number", "length") for spoken in readings(tokens, rule)}
    return found | ({figures} if figures is not None else set())


def _numbers_in(tokens: tuple[str, ...]) -> set[Fraction]:
    """Return every whole number or fraction that a sentence can hold, however it is cut."""
    spans = (
        tokens[start:end]
        for start in range(len(tokens))
        for end in range(start + 1, min(len(tokens), start + LONGEST_NUMBER) + 1)
    )
    return {spoken.value for span in spans for spoken in readings(span, "number")}


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
    """Return the readings that answer a question."""
    for names, found in _answers(tokens, card, missing, have, state, library):
        best = fewest_missing(card, found, have, state)
        if len(best) > 1:
            best = [request for request in best if missing[0] in request.slots] or best
            best = [r for r in best if _all_of_use(card, r.slots, have, state)] or best
            best = _as_asked(best, names) or best
        if len(best) == 1:
            return Answer(best[0].slots, best[0].unsettled)
        if len(best) > 1:
            first, second = (Answer(request.slots, request.unsettled) for request in best[:2])
            return Several(*described(best[0], best[1]), (first, second))
    return None


def _answers(  # noqa: PLR0913 - as _slot_answer
    tokens: tuple[str, ...],
    card: Card,
    missing: tuple[str, ...],
    have: Mapping[str, Slot],
    state: State,
    library: Library,
) -> Iterator[tuple[tuple[str, ...], list[Request]]]:
    """Yield what each way to answer gives and its readings: the card's own, the missing, the rest.

    A value that was not asked for must be plausible, and what the job knows is not open: a second
    number in an answer is never a new bend radius.
    """

    def read(expansion: Expansion, presets: Mapping[str, str]) -> list[Request]:
        found = (
            request_of(card, tuple(values), presets, state)
            for values in library.parser.readings(expansion, tokens)
        )
        return [request for request in found if request is not None]

    for phrase in library.answers[card.id]:
        if {*phrase.presets, *(r.bound for r in rule_names(phrase.expansion))} & set(missing):
            yield missing, read(phrase.expansion, phrase.presets)
    held = known(card, have, state.job)
    open_ones = [p.name for p in card.parameters if "said" in p.origins and p.name not in held]
    for names in (missing, tuple(open_ones)):
        rules = {name: slot_rule(card, card.by_name[name], library) for name in names}
        many = any(getattr(card.by_name[name], "many", False) for name in names)
        found = read(any_of(rules, many=many), {})
        yield names, [r for r in found if names == missing or is_plausible(card, r)]


def _all_of_use(card: Card, slots: Slots, have: Mapping[str, Slot], state: State) -> bool:
    """Return whether none of the values is left aside by a choice that another one makes."""
    return not card.left_aside(known(card, {**have, **slots}, state.job)) & set(slots)


def _as_asked(requests: list[Request], names: tuple[str, ...]) -> list[Request]:
    """Return the one request that gives its values in the order in which they were asked for."""
    found = [
        request
        for request in requests
        if list(request.slots) == [name for name in names if name in request.slots]
    ]
    return found if len(found) == 1 else []


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


def words_wanted(text: str, state: State, library: Library) -> Meaning | None:
    """Return a sentence, as it was given, as the words that a question or step wants, or None."""
    text = " ".join(text.split())
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


def _bare_unit(asked: StepValue, kind: Kind, state: State) -> str | None:
    """Return the unit of a bare number in a step, or None where it must be asked.

    A length is told by the job's tape, or in the unit of the gauge that the step names. What is
    told in two units in the trade (torque, pressure, mass, temperature) is asked between them.
    """
    if asked.unit == "inch":
        return tape(state)
    either = usual_units(kind)
    own = kind is Kind.LENGTH or len(either) == 1 or asked.unit not in either
    return asked.unit if own else None


def _value(tokens: tuple[str, ...], step: Step, state: State) -> Meaning | None:
    asked = step.value
    if asked is None or asked.kind == "words":
        return None
    if tokens[0] in ("no", "not", "it's") and len(tokens) > 1:
        tokens = tokens[1:]
    unit = _bare_unit(asked, asked.kind, state)
    low, high = asked.band() or (None, None)
    try:
        found = settle(readings(tokens, asked.grammar_rule), asked.kind, unit, low, high)
    except WrongKind:
        return None
    if isinstance(found, Ambiguous):
        put_right = _in_unit_of(found, state.job.pending)
        if put_right is not None:
            return Value(put_right, tokens)
        first, second = (Value(choice, tokens) for choice in found.choices)
        return Several(*choices_told(found), (first, second))
    return None if found is None else Value(found, tokens)


def _in_unit_of(found: Ambiguous, pending: Stored | None) -> Reading | None:
    """Return a bare number in the unit of the value that it puts right ("no, eighteen")."""
    if not isinstance(pending, Reading):
        return None
    return next((choice for choice in found.choices if choice.unit == pending.unit), None)
