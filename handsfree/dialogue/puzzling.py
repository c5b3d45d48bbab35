"""What can't be read: which value of a request is the trouble, and why, in one sentence."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from handsfree.calculators.card import Card, Option, Parameter, Slot
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.meanings import Unreadable
from handsfree.dialogue.slots import request_of, slot_rule
from handsfree.dialogue.state import State
from handsfree.language.grammar import Bound, bind
from handsfree.language.matching import Phrase
from handsfree.language.tokens import tokenise
from handsfree.language.trouble import diagnosis, nothing_trouble, trouble
from handsfree.library import Library
from handsfree.quantity import Kind, Reading

JUNK = "dictation"
"""The rule that reads any words at all."""
FEWEST_WORDS = 2
"""How many words of its own a phrase must have to be told by them alone."""


def asked_rule(state: State, library: Library) -> str | None:
    """Return the grammar rule of the number that is waited for, or None where none is."""
    question = state.job.question
    if question is not None:
        if question.what not in library.cards or not question.missing:
            return None
        card = library.cards[question.what]
        parameter = _numeric(card, card.by_name[question.missing[0]])
        return None if parameter is None else slot_rule(card, parameter, library)
    step = step_in_hand(state, library)
    if step is not None and step.value is not None and state.job.place[-1].phase != "act":
        return step.value.grammar_rule
    return None


def _numeric(card: Card, asked: Parameter | Option) -> Parameter | None:
    """Return the number that answers a question: itself, or the one that makes the choice.

    "What does the maker's table say?" asks for a choice, and is answered with a torque.
    """
    if isinstance(asked, Parameter):
        return asked
    return next(
        (
            parameter
            for parameter in card.parameters
            if isinstance(parameter, Parameter)
            and parameter.only_if is not None
            and parameter.only_if.parameter == asked.name
        ),
        None,
    )


def about_the_number(text: str, state: State, library: Library) -> bool:
    """Return whether words that mean nothing are still about the number that is waited for."""
    rule, tokens = asked_rule(state, library), tokenise(text)
    found = diagnosis(tokens, rule) if rule is not None and tokens else None
    return found is not None and found.name != "nothing"


def unreadable(tokens: tuple[str, ...], state: State, library: Library) -> Unreadable | None:
    """Return the request that tokens make but for one slot, and what is wrong in it; or None."""
    best: tuple[tuple[bool, int], Unreadable] | None = None
    for phrase, own in library.book.possible(tokens):
        if phrase.kind != "calculator" or len(own) < FEWEST_WORDS:
            continue
        for found, words in _but_one(phrase, tokens, state, library):
            parameter = library.cards[found.card].by_name[found.slot]
            beside_the_point = parameter.optional or parameter.only_if is not None
            rank = (beside_the_point, len(words))
            if best is None or rank < best[0]:
                best = (rank, found)
    return None if best is None else best[1]


def _but_one(
    phrase: Phrase, tokens: tuple[str, ...], state: State, library: Library
) -> list[tuple[Unreadable, tuple[str, ...]]]:
    card = library.cards[phrase.id]
    found: list[tuple[Unreadable, tuple[str, ...]]] = []
    for parameter in card.parameters:
        if not isinstance(parameter, Parameter) or parameter.many:
            continue
        open_slot = bind(phrase.expansion, {parameter.name: JUNK})
        if open_slot == phrase.expansion:
            continue
        for values in library.parser.readings(open_slot, tokens):
            bound = [value for value in values if isinstance(value, Bound)]
            junk = next((b.value for b in bound if b.name == parameter.name), None)
            words = junk if isinstance(junk, tuple) else (str(junk),)
            why = trouble(words, slot_rule(card, parameter, library)) if junk else None
            rest = tuple((b.name, b.value) for b in bound if b.name != parameter.name)
            request = request_of(card, rest, phrase.presets, state)
            if why is not None and request is not None:
                found.append((Unreadable(card.id, parameter.name, why, request.slots), words))
    return found


def spoilt(
    name: str, slots: Mapping[str, Slot], sort: str, stand_in: str, library: Library
) -> Unreadable | None:
    """Return what is `zero` or `below_zero` in a request that has a stand-in for it.

    A run of legs and angles is spoilt as a whole. None where the stand-in is no length or angle.
    """
    wrong = next(
        (slot for slot, held in slots.items() if _stands_in(held, Fraction(stand_in))), None
    )
    if name not in library.cards or wrong is None:
        return None
    runs = [slot for slot, held in slots.items() if isinstance(held, tuple)]
    spoilt_ones = runs if wrong in runs else [wrong]
    rest = {slot: held for slot, held in slots.items() if slot not in spoilt_ones}
    return Unreadable(name, spoilt_ones[0], nothing_trouble(sort, wrong), rest)


def _stands_in(held: Slot, stand_in: Fraction) -> bool:
    readings = held if isinstance(held, tuple) else (held,)
    return any(
        isinstance(one, Reading) and one.kind in (Kind.LENGTH, Kind.ANGLE) and one.value == stand_in
        for one in readings
    )
