"""What the conversation knows, joined: a frozen `Library`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from handsfree.calculators.card import Card, Option, Parameter
from handsfree.errors import DataError
from handsfree.language.grammar import (
    Expansion,
    Parser,
    parse_phrase,
)
from handsfree.language.matching import Phrase, PhraseBook
from handsfree.language.numbers import number_evaluators, number_terminals
from handsfree.library.firm import Firm
from handsfree.library.forms import (
    Command,
    Direction,
    Fact,
    FirmLimits,
    Hearing,
    Safety,
    Sound,
    Words,
)
from handsfree.procedures.model import Flag, Hazard, Procedure, Stage, Step
from handsfree.procedures.work import Question
from handsfree.quantity import Reading, rounded

CLOSING = ("batch", "done with")
"""Kinds of phrase that close steps: they must be said as they stand."""


@dataclass(frozen=True)
class Library:
    """What the conversation knows."""

    cards: Mapping[str, Card]
    words: Mapping[str, Words]
    facts: Mapping[str, Fact]
    commands: Mapping[str, Command]
    procedures: Mapping[str, Procedure]
    flags: Mapping[str, Flag]
    hazards: Mapping[str, Hazard]
    stages: Mapping[str, Stage]
    questions: Mapping[str, Question]
    safety: Safety
    hearing: Hearing
    sound: Sound
    says: Mapping[str, str]
    rounding: Mapping[str, Mapping[str, tuple[Fraction, Direction]]]
    rules: Mapping[str, Expansion]
    phrases: tuple[Phrase, ...]
    answers: Mapping[str, tuple[Phrase, ...]]
    broken: tuple[DataError, ...]
    sources: frozenset[str]
    limits: FirmLimits
    firm: Firm | None = None
    left_out: tuple[DataError, ...] = ()
    """The faults for which a firm's pack was left out."""

    @cached_property
    def parser(self) -> Parser:
        """Return the one parser of the phrases and the number words."""
        return Parser(self.rules, number_evaluators(), number_terminals())

    @cached_property
    def book(self) -> PhraseBook:
        """Return the phrases, ready to be matched."""
        return PhraseBook(self.phrases, self.parser, self.safety.negations, CLOSING)

    @cached_property
    def step_books(self) -> Mapping[tuple[str, str], PhraseBook]:
        """Return what can be said to each step, by procedure and step, ready to be matched."""
        return {
            (procedure.id, step.id): PhraseBook(
                _step_phrases(step), self.parser, self.safety.negations
            )
            for procedure in self.procedures.values()
            for step in procedure.steps
        }

    def firm_of(self, name: str) -> str:
        """Return the firm and edition whose own a procedure, fact or question is, or nothing."""
        return self.firm.signed if self.firm and name.startswith(self.firm.prefix) else ""

    def rounded(self, rule: str, unit: str, value: Fraction | float) -> Fraction | float:
        """Return a value rounded as a rule of `data/rounding.toml` says for this unit."""
        found = self.rounding[rule].get(unit)
        return value if found is None else rounded(value, found[0], found[1])

    def told(
        self, card: Card, answers: Mapping[str, Reading | tuple[Reading, ...]]
    ) -> dict[str, Reading | tuple[Reading, ...]]:
        """Return answers as they are told: rounded once each, from exact values."""
        rules = {result.name: result.rounding for result in card.results}

        def one(name: str, reading: Reading) -> Reading:
            value = self.rounded(rules[name], reading.unit, reading.value)
            return Reading(value, reading.unit, reading.kind)

        return {
            name: tuple(one(name, each) for each in answer)
            if isinstance(answer, tuple)
            else one(name, answer)
            for name, answer in answers.items()
        }

    def question(self, card: Card, parameter: Parameter | Option) -> str:
        """Return the question that asks for a parameter: the card's own, or the fact's.

        What nobody has to say has none, and is only asked for where it could not be read.
        """
        own = self.words[card.id].questions.get(parameter.name)
        if own is not None:
            return own
        fact = self.facts.get(parameter.name)
        return self.says["say_again_value"] if fact is None else fact.question

    def option_told(self, card: Card, option: Option, value: str) -> tuple[str, str]:
        """Return a choice as it is written and as it is said: `R-410A`, `r four ten a`."""
        own = self.words[card.id].options.get(option.name)
        if own is None:
            return self.facts[option.name].choice(value)
        said = own[value][0] if value in own else value
        return said, said


def _step_phrases(step: Step) -> tuple[Phrase, ...]:
    """Return what can be said to a step: its states, its own ways to say yes, its faults."""
    found = [Phrase("state", step.id, parse_phrase(text)) for text in step.states]
    found.extend(Phrase("yes", step.id, parse_phrase(text)) for text in step.yes)
    found.extend(
        Phrase("fault", fault.name, parse_phrase(text))
        for fault in step.faults
        for text in fault.words
    )
    return tuple(found)
