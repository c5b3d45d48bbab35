"""Finding the phrase that was said: templates first, likeness only for what is left.

A template matches word for word and gives its slots. Only when none does are sentences compared
for likeness, in any order of their words, a rare word counting more than a common one. Numbers
are masked: they never make a likeness. Nothing is like anything where a word turns the meaning
round (`not`, `never`): there a likeness of 90 % can be the opposite.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import islice, permutations
from math import log
from typing import Any

from handsfree.language.expansions import words as words_of
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
TRIED, NEAREST = 8, 3
"""Owners whose likest sentence is tried with the numbers put in, and how many are given back."""
SENTENCES_EACH = 60
"""How many of a phrase's sentences are compared for likeness: enough to hold its main forms."""
SHUFFLED = 3
"""Numbers up to which they are also tried in another order than they were said in."""
LETTERS, SAME_WORD, BENT = 4, 80.0, 0.95
"""Words of so many letters are one word bent ("weight", "weigh") from this likeness of letters;
what such a word counts beside the same word."""
JOINTS = frozenset(("a", "an", "and", "at", "by", "in", "of", "right", "the", "to"))
"""Words of numbers that are also words of any sentence."""
ARTICLES = frozenset(("a", "an", "the"))
"""Words that tell nothing."""
STRANGE = 0.5
"""What a word that no phrase holds counts, beside the rarest that one holds."""


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


@dataclass(frozen=True, slots=True)
class _Skeleton:
    """A sentence of a phrase with its slots masked: its words once each, and their weight."""

    text: str
    words: tuple[str, ...]
    masks: int
    phrase: Phrase
    weight: float


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
    """All phrases, and one parser for them and for the number words in their slots.

    Phrases of the `exact` kinds must be said as they stand: likeness never finds them.
    """

    def __init__(
        self,
        phrases: Iterable[Phrase],
        parser: Parser,
        negations: Collection[str],
        exact: Collection[str] = (),
    ) -> None:
        self.phrases = tuple(phrases)
        self.parser = parser
        self.negations = frozenset(negations)
        self.exact = frozenset(exact)
        self._required = tuple(required(phrase.expansion) for phrase in self.phrases)
        self._needing: dict[str, list[int]] = {}
        """The places of the phrases by the rarest word that each needs; "" where it needs none."""
        users = Counter(word for needed in self._required for word in needed)
        for place, needed in enumerate(self._required):
            rarest = min(needed, key=lambda word: (users[word], word), default="")
            self._needing.setdefault(rarest, []).append(place)

    def possible(self, tokens: Collection[str]) -> Iterator[tuple[Phrase, frozenset[str]]]:
        """Yield each phrase whose own words were all said, and those words, in the book's order."""
        present = frozenset(tokens)
        places = (place for word in ("", *present) for place in self._needing.get(word, ()))
        for place in sorted(places):
            if self._required[place] <= present:
                yield self.phrases[place], self._required[place]

    def matches(self, tokens: tuple[str, ...]) -> list[Hit]:
        """Return every phrase that matches all of the tokens, in every reading."""
        parse = self.parser.session(tokens)
        hits: list[Hit] = []
        for phrase, needed in self.possible(tokens):
            for values in parse.whole(phrase.expansion):
                bound = tuple(value for value in values if isinstance(value, Bound))
                hits.append(Hit(phrase, bound, len(needed)))
        return hits

    @cached_property
    def _skeletons(self) -> list[_Skeleton]:
        found: list[_Skeleton] = []
        for phrase, text in self._masked_sentences:
            words = text.split()
            own = tuple(dict.fromkeys(word for word in words if word not in (MASK, *ARTICLES)))
            if own:
                weight = sum(self._weights[word] for word in own)
                found.append(_Skeleton(text, own, words.count(MASK), phrase, weight))
        return found

    @cached_property
    def _holding(self) -> Mapping[int, Mapping[str, list[int]]]:
        """By how many numbers a sentence has: the places of those that hold each word."""
        found: defaultdict[int, defaultdict[str, list[int]]] = defaultdict(
            lambda: defaultdict(list)
        )
        for place, skeleton in enumerate(self._skeletons):
            for word in skeleton.words:
                found[skeleton.masks][word].append(place)
        return found

    @cached_property
    def _alike(self) -> tuple[Phrase, ...]:
        return tuple(phrase for phrase in self.phrases if phrase.kind not in self.exact)

    @cached_property
    def _masked_sentences(self) -> list[tuple[Phrase, str]]:
        found: list[tuple[Phrase, str]] = []
        for phrase in self._alike:
            rules = dict.fromkeys(self._slot_rules(phrase.expansion), Word(MASK))
            forms = islice(sentences(phrase.expansion, rules), SENTENCES_EACH)
            found.extend((phrase, " ".join(words)) for words in forms)
        return found

    @cached_property
    def _weights(self) -> Mapping[str, float]:
        """What each word tells: the more, the fewer owners use it."""
        users: dict[str, set[tuple[str, str]]] = {}
        for phrase, text in self._masked_sentences:
            for word in text.split():
                users.setdefault(word, set()).add(phrase.owner)
        owners = len({phrase.owner for phrase in self._alike})
        return {word: log((owners + 1) / len(using)) for word, using in users.items()}

    def nearest(self, tokens: tuple[str, ...], slot_rules: Collection[str]) -> list[Near]:
        """Return the phrases most like what was said, the likest first, one for each owner.

        A likeness is from 0 to 100. Nothing where a negation was said. The numbers are put back
        into the sentence in the order in which they were said, or, where that means nothing, in
        another.
        """
        if self.negations & set(tokens) or not tokens:
            return []
        masked, numbers = _mask(self.parser.session(tokens), slot_rules)
        left = set(masked) - {MASK}
        of_numbers = left & _number_words(self.parser, tuple(slot_rules))
        best: dict[tuple[str, str], tuple[tuple[float, int], _Skeleton]] = {}
        for likeness, skeleton in self._compared(left - ARTICLES, len(numbers)):
            if not of_numbers <= set(skeleton.words):
                continue  # no word of a number that was said may be dropped
            held = best.get(skeleton.phrase.owner)
            rank = (likeness, len(left & ARTICLES & set(skeleton.text.split())))
            if held is None or rank > held[0]:
                best[skeleton.phrase.owner] = (rank, skeleton)
        found: list[Near] = []
        ranked = sorted(best.values(), key=lambda entry: -entry[0][0])
        for (likeness, _), skeleton in ranked[:TRIED]:
            sentence = self._with_numbers(skeleton, numbers, slot_rules)
            if sentence is not None:
                found.append(Near(skeleton.phrase, sentence, likeness))
            if len(found) == NEAREST:
                break
        return found

    def _compared(self, words: Collection[str], masks: int) -> Iterable[tuple[float, _Skeleton]]:
        """Yield how like what was said each sentence of as many numbers is (Dice's measure)."""
        bent = {word: self._bent(word) for word in words}
        rarest = max(self._weights.values(), default=0.0)
        said = 0.0
        for word, known in bent.items():
            forms = (word,) if word in known else known
            said += max((self._weights[form] for form in forms), default=STRANGE * rarest)
        holding = self._holding.get(masks, {})
        shared: dict[int, float] = {}
        for known in bent.values():
            most: dict[int, float] = {}
            for form, part in known.items():
                counts = part * self._weights[form]
                for place in holding.get(form, ()):
                    most[place] = max(counts, most.get(place, 0.0))
            for place, counts in most.items():
                shared[place] = shared.get(place, 0.0) + counts
        for place in sorted(shared):
            skeleton = self._skeletons[place]
            yield 200 * shared[place] / (said + skeleton.weight), skeleton

    def _bent(self, word: str) -> Mapping[str, float]:
        """Return the words of the phrases that are this one or a form of it: how much each is."""
        from rapidfuzz import fuzz, process  # noqa: PLC0415 - only odd sentences need it

        found = {word: 1.0} if word in self._weights else {}
        if len(word) < LETTERS:
            return found
        alike = process.extract(
            word, list(self._weights), scorer=fuzz.ratio, score_cutoff=SAME_WORD, limit=None
        )
        for form, likeness, _ in alike:
            if len(form) >= LETTERS and form != word:
                found[form] = BENT * likeness / 100
        return found

    def _with_numbers(
        self,
        skeleton: _Skeleton,
        numbers: list[tuple[str, ...]],
        slot_rules: Collection[str],
    ) -> tuple[str, ...] | None:
        """Return the sentence with the numbers put in so that it means something, or None."""
        orders = permutations(numbers) if len(numbers) <= SHUFFLED else (tuple(numbers),)
        for order in orders:
            # the place of a unit is masked like that of a number, and takes none; two numbers side
            # by side may not run together into a third
            sentence = _put_back(skeleton.text, order)
            parse = self.parser.session(sentence)
            ways = self._of_owner[skeleton.phrase.owner]
            apart = _mask(parse, slot_rules)[1] == list(order)
            if apart and any(parse.whole(phrase.expansion) for phrase in ways):
                return sentence
        return None

    @cached_property
    def _of_owner(self) -> Mapping[tuple[str, str], list[Phrase]]:
        found: dict[tuple[str, str], list[Phrase]] = {}
        for phrase in self.phrases:
            found.setdefault(phrase.owner, []).append(phrase)
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


@cache
def _number_words(parser: Parser, slot_rules: tuple[str, ...]) -> frozenset[str]:
    """Return the words that only a number or its unit has."""
    rules = parser.rules
    return frozenset().union(*(words_of(rules[rule], rules) for rule in slot_rules)) - JOINTS


def _mask(parse: Parse, slot_rules: Collection[str]) -> tuple[list[str], list[tuple[str, ...]]]:
    """Return the tokens with each longest span that a slot can read masked, and the spans."""
    tokens = parse.tokens
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


def _put_back(text: str, numbers: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    waiting = iter(numbers)
    words: list[str] = []
    for word in text.split():
        words.extend(next(waiting) if word == MASK else (word,))
    return tuple(words)
