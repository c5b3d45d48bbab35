"""What can be parsed can be heard, and what can be heard can be parsed.

The parser reads the rules directly; the ear makes them into automata, by other code. Sentences of
the one are given to the other: every utterance of the file to the automata, and random walks
through the automata to the parser.
"""

from __future__ import annotations

import random
from math import isfinite

import pytest
from test_utterances import ROWS, Row

from handsfree.edge.ear.automaton import SLOT, Automaton, Builder, Fragment
from handsfree.edge.ear.lexicon import pronunciations
from handsfree.language.corrections import correction_of, correction_rules, corrections
from handsfree.language.grammar import Choice, Grammar, Rule, words
from handsfree.language.numbers import (
    SLOT_RULES,
    number_parser,
    number_rules,
    readings,
)
from handsfree.language.tokens import tokenise
from handsfree.quantity import Kind

WALKS = 400
LONGEST_WALK = 40
BANDS = tuple(
    f"{kind.replace(' ', '_')}_band"
    for kind in (
        Kind.LENGTH, Kind.ANGLE, Kind.GAUGE_PRESSURE, Kind.VACUUM, Kind.TEMPERATURE, Kind.TORQUE,
        Kind.MASS, Kind.TIME,
    )
)  # fmt: skip
RULES = (*SLOT_RULES, *BANDS)


class Ear:
    """The automaton of a rule, with the words by number."""

    def __init__(self) -> None:
        self.numbers: dict[str, int] = {}
        self.builder = Builder(lambda word: self.numbers.setdefault(word, len(self.numbers) + 1))
        self.rules = {**number_rules(), **correction_rules()}
        self.built: dict[str, Automaton] = {}

    def automaton(self, rule: str) -> Automaton:
        if rule not in self.built:
            start = correction_of("length") if rule == "correction" else Rule(rule)
            self.built[rule] = self.builder.build(Grammar(start, self.rules))
        return self.built[rule]

    def hears(self, tokens: tuple[str, ...], rule: str) -> bool:
        automaton = self.automaton(rule)
        if any(token not in self.numbers for token in tokens):
            return False
        return isfinite(automaton.cost([self.numbers[token] for token in tokens]))

    def walk(self, rule: str, chance: random.Random) -> tuple[str, ...] | None:
        """Return a random sentence of a rule, or None where the walk grew too long."""
        automaton = self.automaton(rule)
        said = self._walked(automaton.main, automaton, chance)
        if said is None:
            return None
        by_number = {number: word for word, number in self.numbers.items()}
        return tuple(by_number[number] for number in said)

    def _walked(
        self, fragment: Fragment, automaton: Automaton, chance: random.Random
    ) -> list[int] | None:
        state = 0
        said: list[int] = []
        while len(said) < LONGEST_WALK:
            arcs = list(fragment.arcs[state].items())
            if state in fragment.final and (not arcs or chance.random() < 1 / 3):
                return said
            label, state = chance.choice(arcs)
            if label < SLOT:
                said.append(label)
                continue
            inner = self._walked(automaton.slots[label - SLOT], automaton, chance)
            if inner is None:
                return None
            said.extend(inner)
        return None


@pytest.fixture(scope="module")
def ear() -> Ear:
    return Ear()


def _spoken(row: Row) -> bool:
    """Return whether an utterance is made of words that are said and not typed."""
    return all(
        token.replace("'", "").isalpha() and token.isascii() and token not in TYPED_ONLY
        for token in tokenise(row.utterance)
    )


TYPED_ONLY = frozenset(
    (
        "ft",
        "in",
        "lb",
        "oz",
        "mm",
        "cm",
        "kg",
        "mpa",
        "kpa",
        "um",
        "cfh",
        "nm",
        "od",
        "x",
        "s",
        "min",
        "m",
    )
)


def _parsed(tokens: tuple[str, ...], rule: str) -> bool:
    return bool(number_parser().readings(Rule(rule), tokens))


def test_every_utterance_is_heard_just_when_it_is_parsed(ear: Ear) -> None:
    spoken = [row for row in ROWS if _spoken(row)]
    assert len(spoken) > 400
    for row in spoken:
        tokens = tokenise(row.utterance)
        for rule in RULES:
            assert ear.hears(tokens, rule) == _parsed(tokens, rule), (row.utterance, rule)


@pytest.mark.parametrize("rule", RULES)
def test_what_is_heard_is_parsed(rule: str, ear: Ear) -> None:
    chance = random.Random(rule)  # noqa: S311 - a walk, not a secret
    sentences = {ear.walk(rule, chance) for _ in range(WALKS)} - {None}
    assert len(sentences) > 20
    for sentence in sentences:
        assert sentence is not None
        assert _parsed(sentence, rule), (rule, sentence)


def test_what_is_heard_as_a_correction_is_parsed_as_one(ear: Ear) -> None:
    chance = random.Random(5)  # noqa: S311 - a walk, not a secret
    sentences = {ear.walk("correction", chance) for _ in range(WALKS)} - {None}
    assert len(sentences) > WALKS / 4
    for sentence in sentences:
        assert sentence is not None
        assert corrections(sentence), sentence


def test_a_correction_that_is_parsed_is_heard(ear: Ear) -> None:
    for text in (
        "no nine", "not nineteen ninety", "make that three quarters", "scratch that", "wrong",
        "I said five eighths not three eighths", "change the first one to twelve",
        "it's the left leg that's nine", "nine not five", "sorry fourteen and a half",
    ):  # fmt: skip
        assert ear.hears(tokenise(text), "correction"), text


def test_every_word_of_every_number_can_be_pronounced() -> None:
    rules = {**number_rules(), **correction_rules()}
    start = Choice((*(Rule(rule) for rule in RULES), correction_of("length")))
    for word in words(start, rules):
        assert pronunciations(word), f"{word} has no pronunciation"


def test_rules_that_are_only_typed_are_terminals_and_not_heard() -> None:
    parser = number_parser()
    assert not set(parser.terminals) & set(number_rules())
    for typed in ("3/8", "14-1/4", "0.63", "12"):
        assert readings((typed,), "length")
        assert typed not in words(Rule("length"), number_rules())
