"""Finding the phrase that was said: templates first, likeness only for what is left.

A template matches word for word and gives its slots. Only when none does are sentences compared
for likeness, numbers masked, and never where a word turns the meaning round (`not`, `never`):
there a likeness of 90 % can be the opposite.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice
from typing import Any

from handsfree.language.grammar import (
    Bound,
    Choice,
    Expansion,
    Maybe,
    Parse,
    Parser,
    Repeat,
    Rule,
    Sequence,
    Word,
    sentences,
)

MASK = "#"
TRIED = 40
NEAREST = 3
"""Sentences compared whole with what was said, and how many of them are given back."""
SENTENCES_EACH = 60
"""How many of a phrase's sentences are compared for likeness: enough to hold its main forms."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase and what it means: the `kind` and `id` of its owner, and slots that it implies.

    What it does not say is as in the last answer of those that it `follows`.
    """

    kind: str
    id: str
    expansion: Expansion
    presets: Mapping[str, str] = field(default_factory=dict)
    follows: tuple[str, ...] = ()

    @property
    def owner(self) -> tuple[str, str]:
        """Return what the phrase belongs to."""
        return self.kind, self.id


@dataclass(frozen=True, slots=True)
class Hit:
    """A phrase that matched, with every value that was found for its slots, in order."""

    phrase: Phrase
    bound: tuple[Bound, ...]
    literal: int
    """How many of the words were the phrase's own and not a slot's."""

    @property
    def slots(self) -> dict[str, tuple[Any, ...]]:
        """Return the values by slot name, in the order in which they were said."""
        found: dict[str, tuple[Any, ...]] = {}
        for name, value in self.bound:
            found[name] = (*found.get(name, ()), value)
        return found


@dataclass(frozen=True, slots=True)
class Near:
    """A phrase that is like what was said: its sentence with the numbers put in, and how like."""

    phrase: Phrase
    sentence: tuple[str, ...]
    likeness: float


def required(expansion: Expansion) -> frozenset[str]:
    """Return the words without which an expansion cannot match."""
    match expansion:
        case Word(text):
            return frozenset((text,))
        case Sequence(parts):
            return frozenset().union(*(required(part) for part in parts))
        case Choice(options):
            found = [required(option) for option in options]
            return found[0].intersection(*found[1:])
        case Repeat(part, 1):
            return required(part)
        case _:
            return frozenset()


class PhraseBook:
    """All phrases, and one parser for them and for the number words in their slots."""

    def __init__(
        self, phrases: Iterable[Phrase], parser: Parser, negations: Collection[str]
    ) -> None:
        self.phrases = tuple(phrases)
        self.parser = parser
        self.negations = frozenset(negations)
        self._required = tuple(required(phrase.expansion) for phrase in self.phrases)

    def matches(self, tokens: tuple[str, ...]) -> list[Hit]:
        """Return every phrase that matches all of the tokens, in every reading."""
        present = frozenset(tokens)
        parse = self.parser.session(tokens)
        hits: list[Hit] = []
        for phrase, needed in zip(self.phrases, self._required, strict=True):
            if not needed <= present:
                continue
            for values in parse.whole(phrase.expansion):
                bound = tuple(value for value in values if isinstance(value, Bound))
                hits.append(Hit(phrase, bound, len(needed)))
        return hits

    @cached_property
    def _skeletons(self) -> list[tuple[str, int, Phrase]]:
        found: list[tuple[str, int, Phrase]] = []
        for phrase in self.phrases:
            rules = dict.fromkeys(self._slot_rules(phrase.expansion), Word(MASK))
            found.extend(
                (" ".join(words), words.count(MASK), phrase)
                for words in islice(sentences(phrase.expansion, rules), SENTENCES_EACH)
                if set(words) != {MASK}
            )
        return found

    def _slot_rules(self, expansion: Expansion) -> set[str]:
        match expansion:
            case Rule(name, _):
                return {name}
            case Sequence(parts) | Choice(parts):
                return set().union(*(self._slot_rules(part) for part in parts))
            case Maybe(part) | Repeat(part, _):
                return self._slot_rules(part)
            case _:
                return set()

    def nearest(self, tokens: tuple[str, ...], slot_rules: Collection[str]) -> list[Near]:
        """Return the phrases most like what was said, the likest first, one for each owner.

        Nothing where a negation was said. Numbers are masked, so they never count for likeness,
        and are put back into the sentence in the order in which they were said.
        """
        from rapidfuzz import fuzz, process  # noqa: PLC0415 - only odd sentences need it

        if self.negations & set(tokens) or not tokens:
            return []
        masked, numbers = self._mask(tokens, slot_rules)
        candidates = [entry for entry in self._skeletons if entry[1] == len(numbers)]
        found = process.extract(
            " ".join(masked), [text for text, _, _ in candidates], scorer=fuzz.ratio, limit=TRIED
        )
        best: dict[tuple[str, str], Near] = {}
        for text, likeness, index in found:
            phrase, sentence = candidates[index][2], _put_back(text, numbers)
            # the place of a unit is masked like that of a number, and takes none
            if phrase.owner not in best and self.matches(sentence):
                best[phrase.owner] = Near(phrase, sentence, likeness)
            if len(best) == NEAREST:
                break
        return list(best.values())

    def _mask(
        self, tokens: tuple[str, ...], slot_rules: Collection[str]
    ) -> tuple[list[str], list[tuple[str, ...]]]:
        """Return the tokens with each longest span that a slot can read masked, and the spans."""
        parse = self.parser.session(tokens)
        masked: list[str] = []
        numbers: list[tuple[str, ...]] = []
        position = 0
        while position < len(tokens):
            end = _longest(parse, slot_rules, position)
            if end > position:
                masked.append(MASK)
                numbers.append(tokens[position:end])
                position = end
            else:
                masked.append(tokens[position])
                position += 1
        return masked, numbers


def _longest(parse: Parse, rules: Collection[str], start: int) -> int:
    return max((end for rule in rules for end, _ in parse.rule(rule, start)), default=start)


def _put_back(text: str, numbers: list[tuple[str, ...]]) -> tuple[str, ...]:
    waiting = iter(numbers)
    words: list[str] = []
    for word in text.split():
        words.extend(next(waiting) if word == MASK else (word,))
    return tuple(words)
