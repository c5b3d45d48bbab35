"""What was meant: a sentence, in the state of the conversation, as one of a few meanings.

The order is the rule: words of danger first, then what the open question or the step in hand is
waiting for, then what can be said at any time, and likeness only for what is left.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from handsfree.calculators.card import Card, Option, Parameter, Slot
from handsfree.dialogue.knowing import known, preset
from handsfree.dialogue.state import State
from handsfree.dialogue.wording import difference
from handsfree.errors import WrongKind
from handsfree.language.grammar import Choice, Expansion, Rule, Sequence, parse_phrase
from handsfree.language.matching import Hit, Phrase, PhraseBook
from handsfree.language.numbers import Spoken, readings
from handsfree.language.tokens import tokenise
from handsfree.language.units import to_reading
from handsfree.library import Fact, Library
from handsfree.procedures.model import Step
from handsfree.quantity import Reading

SURE, UNSURE, GAP = 92.0, 72.0, 6.0
"""Likeness from which a sentence is taken, from which it is asked about, and the lead it needs."""
FURTHER_PARTS = 4
"""How many missing values one answer may give at once."""


@dataclass(frozen=True, slots=True)
class Danger:
    """Stop, or a named emergency."""

    name: str


@dataclass(frozen=True, slots=True)
class HandBack:
    """A question that is refused for good."""

    name: str


@dataclass(frozen=True, slots=True)
class Do:
    """A command, with the words that it takes."""

    name: str
    text: str = ""
    seconds: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Request:
    """A question to a calculator: the readings that were said, and what else they could be."""

    card: str
    slots: Mapping[str, Slot]
    no_unit: Mapping[str, Fraction] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Begin:
    """A procedure is wanted."""

    procedure: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Facts of the job were stated: by name, and for which size a bender's are."""

    values: Mapping[str, Reading | str]


@dataclass(frozen=True, slots=True)
class Answer:
    """The open question is answered: values by slot."""

    slots: Mapping[str, Slot]
    no_unit: Mapping[str, Fraction] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Pick:
    """One of the two sentences that were asked about (0 or 1), or neither (None)."""

    position: int | None


@dataclass(frozen=True, slots=True)
class Stated:
    """The state that a challenge asks for was said in words."""


@dataclass(frozen=True, slots=True)
class Faulty:
    """A fault of the step in hand was named."""

    name: str


@dataclass(frozen=True, slots=True)
class Value:
    """A reading for the step in hand, or the number without its unit."""

    readings: tuple[Reading, ...]
    no_unit: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a step is skipped, in the person's words."""

    text: str


@dataclass(frozen=True, slots=True)
class Several:
    """Two things may have been meant: each as a sentence that would mean it, or a description."""

    first: str
    second: str
    meanings: tuple[Meaning, Meaning]


@dataclass(frozen=True, slots=True)
class Like:
    """A sentence like one or two that are known."""

    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Nothing:
    """Nothing that is known."""


Meaning = (
    Danger
    | HandBack
    | Do
    | Request
    | Begin
    | Facts
    | Answer
    | Pick
    | Stated
    | Faulty
    | Value
    | Reason
    | Several
    | Like
    | Nothing
)


def understand(text: str, state: State, library: Library) -> Meaning:
    """Return what a sentence means now. Total: any text has a meaning, if only `Nothing`."""
    tokens = tokenise(text)
    if not tokens:
        return Nothing()
    hits = library.book.matches(tokens)
    for hit in hits:
        if hit.phrase.kind in ("stop", "emergency"):
            return Danger(hit.phrase.id)
    if state.job.paused:
        return _paused(hits)
    reason = _reason(text, hits, state)
    if reason is not None:
        return reason
    answer = _to_question(tokens, hits, state, library)
    if answer is not None:
        return answer
    answer = _to_step(tokens, state, library)
    if answer is not None:
        return answer
    found = _anything(hits, state, library)
    return _alike(tokens, state, library) if found is None else found


def _paused(hits: list[Hit]) -> Meaning:
    """While paused, only going on is understood."""
    for hit in hits:
        if hit.phrase.owner == ("command", "resume"):
            return Do("resume")
    return Nothing()


def _reason(text: str, hits: list[Hit], state: State) -> Meaning | None:
    place = state.job.place
    if not place or place[-1].phase != "reason":
        return None
    for hit in hits:
        if hit.phrase.kind == "command" and hit.phrase.id in ("leave", "no", "undo"):
            return Do("leave")
    return Reason(text.strip())


# ---------------------------------------------------------------------------- an open question


def _to_question(
    tokens: tuple[str, ...], hits: list[Hit], state: State, library: Library
) -> Meaning | None:
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
    have = {name: value for name, value in question.slots.items() if not isinstance(value, bool)}
    return _slot_answer(tokens, card, question.missing, have, state, library)


def _pick(tokens: tuple[str, ...], choices: tuple[str, ...], hits: list[Hit]) -> Meaning | None:
    """Return which of the choices was said: whole, by its own words, or first and second."""
    sides = [tokenise(choice) for choice in choices]
    own = [tuple(word for word in side if word not in sides[1 - i]) for i, side in enumerate(sides)] if len(sides) > 1 else [sides[0]]
    for position, side in enumerate(sides):
        ordinal = ("first", "second")[position]
        if tokens in (side, own[position], (ordinal,), ("the", ordinal), ("the", ordinal, "one")):
            return Pick(position)
    spoken = {hit.phrase.id for hit in hits if hit.phrase.kind == "command"}
    if len(sides) == 1 and "yes" in spoken:
        return Pick(0)
    if spoken & {"no", "leave", "wrong"} or tokens == ("neither",):
        return Pick(None)
    return None


def fact_rule(name: str, fact: Fact) -> str:
    """Return the grammar rule that reads a fact."""
    return f"choice_{name}" if fact.options else fact.rule or str(fact.kind).replace(" ", "_")


def _any_of(rules: Mapping[str, str]) -> Expansion:
    """Return an expansion that reads one or more of the slots, in any order, joined by and."""
    one = tuple(Rule(rule, bound=name) for name, rule in rules.items())
    single = one[0] if len(one) == 1 else Choice(one)
    joint = parse_phrase("[and]")
    return Choice(
        tuple(
            Sequence((single, *(part for _ in range(count) for part in (joint, single))))
            for count in range(min(len(one), FURTHER_PARTS))
        )
    )


def _fact_answer(
    tokens: tuple[str, ...], rules: Mapping[str, str], state: State, library: Library
) -> Meaning | None:
    for values in library.parser.readings(_any_of(rules), tokens):
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
            for values in library.parser.readings(_any_of(rules), tokens)
            for request in [_request(card, tuple(values), {}, state)]
            if request is not None
        ]
        best = _fewest_missing(card, found, have, state)
        if len(best) == 1:
            return Answer(best[0].slots, best[0].no_unit)
        if len(best) > 1:
            first, second = (Answer(request.slots, request.no_unit) for request in best[:2])
            return Several(*described(best[0], best[1]), (first, second))
    return None


# ---------------------------------------------------------------------------- the step in hand


def step_in_hand(state: State, library: Library) -> Step | None:
    """Return the step that waits for an answer, or None."""
    if not state.job.place:
        return None
    frame = state.job.place[-1]
    procedure = library.procedures.get(frame.procedure)
    return None if procedure is None else procedure.by_id.get(frame.step)


def step_phrases(step: Step) -> tuple[Phrase, ...]:
    """Return what can be said to a step: its states, its faults, its own ways to say yes."""
    found = [Phrase("state", step.id, parse_phrase(text)) for text in step.states]
    found.extend(Phrase("yes", step.id, parse_phrase(text)) for text in step.yes)
    found.extend(
        Phrase("fault", fault.name, parse_phrase(text))
        for fault in step.faults
        for text in fault.words
    )
    return tuple(found)


def _to_step(tokens: tuple[str, ...], state: State, library: Library) -> Meaning | None:
    step = step_in_hand(state, library)
    if step is None:
        return None
    frame = state.job.place[-1]
    book = PhraseBook(step_phrases(step), library.parser, library.safety.negations)
    said = tokens[1:] if tokens[0] in ("done", "yes", "no", "okay") and len(tokens) > 1 else tokens
    kinds = {hit.phrase.kind: hit for hit in (*book.matches(said), *book.matches(tokens))}
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
        return _fact_answer(tokens, rules, state, library)
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
    if asked is None:
        return None
    if tokens[0] in ("no", "not", "it's") and len(tokens) > 1:
        tokens = tokens[1:]
    found: list[Reading] = []
    bare: Fraction | None = None
    for spoken in readings(tokens, asked.grammar_rule):
        unit = asked.unit
        if unit in ("inch", "millimetre") and spoken.unit is None and asked.unit == "inch":
            unit = tape(state)
        reading = to_reading(spoken, asked.kind, unit or None)
        if reading is None:
            bare = spoken.value
        elif reading not in found:
            found.append(reading)
    if found or bare is not None:
        return Value(tuple(found), bare)
    return None


# ---------------------------------------------------------------------------- anything else


def tape(state: State) -> str:
    """Return the unit of a bare length: the job's tape."""
    return "millimetre" if state.job.facts.get("tape") == "metric" else "inch"


def slot_rule(card: Card, parameter: Parameter | Option, library: Library) -> str:
    """Return the grammar rule that reads a parameter of a card."""
    if isinstance(parameter, Parameter) or parameter.units_of:
        return parameter.grammar_rule
    if parameter.name in library.words[card.id].options:
        return f"choice_{card.id}_{parameter.name}"
    return f"choice_{parameter.name}"


def fact_value(fact: Fact, value: Spoken | str, tape_unit: str) -> Reading | str | None:
    """Return a fact as it is kept; None where a unit is missing."""
    if isinstance(value, str):
        return value
    if fact.kind is None:
        return None
    unit = tape_unit if fact.unit == "inch" else (fact.unit if fact.kind == "vacuum" else None)
    try:
        return to_reading(value, fact.kind, unit)
    except WrongKind:
        return None


def _request(
    card: Card, bound: tuple[tuple[str, object], ...], presets: Mapping[str, str], state: State
) -> Request | None:
    """Return the request that these slot values make; None where a unit does not fit."""
    slots: dict[str, Slot] = {}
    no_unit: dict[str, Fraction] = {}
    for name, text in presets.items():
        parameter = card.by_name[name]
        if isinstance(parameter, Option):
            slots[name] = text
        else:
            slots[name] = preset(parameter, text)
    for name, value in bound:
        parameter = card.by_name[name]
        if isinstance(parameter, Option) or not isinstance(value, Spoken):
            slots[name] = str(value)
            continue
        assumed = tape(state) if parameter.assume == "tape" else parameter.assume
        try:
            reading = to_reading(value, parameter.kind, assumed)
        except WrongKind:
            return None
        if reading is None:
            no_unit[name] = value.value
        elif parameter.many:
            earlier = slots.get(name, ())
            slots[name] = (*(earlier if isinstance(earlier, tuple) else ()), reading)
        elif name in slots and slots[name] != reading:
            return None
        else:
            slots[name] = reading
    return Request(card.id, slots, no_unit)


def _fewest_missing(
    card: Card, requests: list[Request], have: Mapping[str, Slot], state: State
) -> list[Request]:
    """Return the plausible requests that leave the least to ask, the fullest of them, each once.

    "Ninety at twelve three eighths" is twelve on three-eighths tube before it is 12-3/8: that
    reading gives one thing more. What was understood is said back with the question or answer.
    """
    plausible = [r for r in requests if not card.implausible(r.slots)] or requests
    counts = [
        len(card.missing(known(card, {**have, **request.slots}, state.job))) + len(request.no_unit)
        for request in plausible
    ]
    fullest = min(
        ((count, -len(r.slots)) for r, count in zip(plausible, counts, strict=True)),
        default=(0, 0),
    )
    best: list[Request] = []
    for request, count in zip(plausible, counts, strict=True):
        if (count, -len(request.slots)) == fullest and request not in best:
            best.append(request)
    return best


def described(first: Request, second: Request) -> tuple[str, str]:
    """Return two readings of one request, each told by what is different in it."""
    return difference(first.slots, second.slots)


def _anything(hits: list[Hit], state: State, library: Library) -> Meaning | None:
    """Return the meaning of the phrases that matched, the one with most words of its own."""
    if not hits:
        return None
    by_kind: dict[str, list[Hit]] = {}
    for hit in hits:
        by_kind.setdefault(hit.phrase.kind, []).append(hit)
    if "refuse" in by_kind:
        return HandBack(by_kind["refuse"][0].phrase.id)
    if "command" in by_kind:
        return _command(max(by_kind["command"], key=lambda hit: hit.literal))
    if "procedure" in by_kind:
        return Begin(by_kind["procedure"][0].phrase.id)
    requests = _requests(by_kind.get("calculator", []), state, library)
    if requests is not None:
        return requests
    return _facts(by_kind.get("fact", []), state, library)


def _command(hit: Hit) -> Do:
    slots = hit.slots
    if "text" in slots:
        words = slots["text"][0]
        return Do(hit.phrase.id, " ".join(words) if isinstance(words, tuple) else str(words))
    if "name" in slots:
        return Do(hit.phrase.id, str(slots["name"][0]).capitalize())
    if "duration" in slots:
        spoken: Spoken = slots["duration"][0]
        factor = {"second": 1, "minute": 60, "hour": 3600}[spoken.unit or "minute"]
        return Do(hit.phrase.id, seconds=spoken.value * factor)
    return Do(hit.phrase.id)


def _requests(hits: list[Hit], state: State, library: Library) -> Meaning | None:
    """Return the request that was made; where two were, both, to be asked about."""
    by_card: dict[str, list[Request]] = {}
    most: dict[str, int] = {}
    for hit in hits:
        card = library.cards[hit.phrase.id]
        bound = tuple((name, value) for name, value in hit.bound)
        request = _request(card, bound, hit.phrase.presets, state)
        bare = request is not None and request.no_unit and not hit.literal
        if request is not None and not bare:
            by_card.setdefault(card.id, []).append(request)
            most[card.id] = max(most.get(card.id, 0), hit.literal)
    if not by_card:
        return None
    ranked: list[tuple[int, int, Request]] = []
    for name, requests in by_card.items():
        card = library.cards[name]
        best = _fewest_missing(card, requests, {}, state)
        ranked.extend((len(request.no_unit), -most[name], request) for request in best)
    ranked.sort(key=lambda entry: entry[:2])
    top = [request for *rank, request in ranked if rank == list(ranked[0][:2])]
    if len(top) == 1:
        return top[0]
    if top[0].card == top[1].card:
        return Several(*described(top[0], top[1]), (top[0], top[1]))
    titles = [library.words[request.card].title for request in top[:2]]
    return Several(titles[0], titles[1], (top[0], top[1]))


def _facts(hits: list[Hit], state: State, library: Library) -> Meaning | None:
    for hit in hits:
        values: dict[str, Reading | str] = {}
        for name, value in hit.bound:
            kept = fact_value(library.facts[name], value, tape(state))
            if kept is None:
                break
            values[name] = kept
        else:
            if values:
                return Facts(values)
    return None


SLOT_RULES = (
    "length", "angle", "gauge_pressure", "vacuum", "torque", "temperature", "mass", "time", "number",
)


def _alike(tokens: tuple[str, ...], state: State, library: Library) -> Meaning:
    """Return what the sentence that this one is very like means, or those to ask about."""
    near = [
        found
        for found in library.book.nearest(tokens, SLOT_RULES)
        if found.phrase.kind in ("calculator", "procedure", "command", "fact")
    ]
    if not near or near[0].likeness < UNSURE:
        return Nothing()
    lead = near[0].likeness - (near[1].likeness if len(near) > 1 else 0)
    if near[0].likeness >= SURE and lead >= GAP:
        return understand(" ".join(near[0].sentence), state, library)
    texts = tuple(" ".join(found.sentence) for found in near[:2] if found.likeness >= UNSURE)
    return Like(texts)
