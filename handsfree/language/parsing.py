"""Parsing: every reading of a list of words under the rules of a grammar.

Each rule is made into a function once; a parse remembers what every rule has found at every
place, so that rules shared by many phrases are tried once for an utterance.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from handsfree.language.expansions import (
    Bound,
    Choice,
    Expansion,
    Maybe,
    Repeat,
    Rule,
    Sequence,
    Word,
)

Values = tuple[Any, ...]
Found = list[tuple[int, Values]]
Evaluator = Callable[[Values], Any]
Terminal = Callable[[str], Any]
Matcher = Callable[["Parse", int], Found]
REJECT = object()
"""What an evaluator returns for parts that do not make sense together."""
_REMEMBERED = 8192
"""How many expansions besides the rules keep their function: more than all phrases together."""


class Spanned:
    """A value that wants to know by which words it was said."""

    __slots__ = ()

    def spanned(self, words: tuple[str, ...]) -> Spanned:
        """Return the same value with the words that said it."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class _Opening:
    """How an expansion can begin: with these words, with any word, or not at all."""

    words: frozenset[str] = frozenset()
    any_word: bool = False
    empty: bool = False

    def takes(self, word: str | None) -> bool:
        """Return whether it can begin with this word, or (None) at the end of the words."""
        return self.empty or (word is not None and (self.any_word or word in self.words))


class Parser:
    """Finds every reading of a list of words under a set of rules.

    `evaluators` turn the values of a rule's parts into the rule's one value; `terminals` are rules
    matched by a function on one token, for what is typed and not spoken: they return a value, or
    None. A rule that is in neither is a `KeyError` when the parser is made.
    """

    def __init__(
        self,
        rules: Mapping[str, Expansion],
        evaluators: Mapping[str, Evaluator] | None = None,
        terminals: Mapping[str, Terminal] | None = None,
    ) -> None:
        self.rules = rules
        self.evaluators = dict(evaluators or {})
        self.terminals = dict(terminals or {})
        self._openings: dict[str, _Opening] = {}
        self._functions: dict[str, Matcher] = {}
        self._others: dict[int, tuple[Expansion, _Opening]] = {}
        self._made_others: dict[int, Matcher] = {}
        for name in rules:
            self._opening(Rule(name))

    def session(self, tokens: tuple[str, ...]) -> Parse:
        """Return a parse of these tokens, which remembers what it has found for each rule."""
        return Parse(self, tokens)

    def readings(self, expansion: Expansion, tokens: tuple[str, ...]) -> list[Values]:
        """Return the values of every parse of the whole of `tokens`, without doubles."""
        return self.session(tokens).whole(expansion)

    def matcher(self, expansion: Expansion, word: str | None) -> Matcher | None:
        """Return the function that finds an expansion, made once when it is first needed.

        None where the expansion cannot begin with this word, or (None) at the end of the words.
        """
        known = self._others.get(id(expansion))
        if known is None:
            if len(self._others) >= _REMEMBERED:
                self._others.clear()
                self._made_others.clear()
            # kept with the expansion, whose id would be another's once it is gone
            known = self._others[id(expansion)] = (expansion, self._opening(expansion))
        if not known[1].takes(word):
            return None
        made = self._made_others.get(id(expansion))
        if made is None:
            made = self._made_others[id(expansion)] = self._made(expansion)
        return made

    def rule_matcher(self, name: str) -> Matcher:
        """Return the function that finds the parts of a rule, made when it is first needed."""
        found = self._functions.get(name)
        if found is None:
            found = self._functions[name] = self._made(self.rules[name])
        return found

    def can_open(self, name: str, word: str | None) -> bool:
        """Return whether a rule can begin with this word, or (None) at the end of the words."""
        return self._openings[name].takes(word)

    def _opening(self, expansion: Expansion) -> _Opening:  # noqa: C901 - a match over six forms
        match expansion:
            case Word(text):
                return _Opening(frozenset((text,)))
            case Rule(name):
                if name in self.terminals:
                    return _Opening(any_word=True)
                if name not in self._openings:
                    self._openings[name] = self._opening(self.rules[name])
                return self._openings[name]
            case Choice(options):
                found = [self._opening(option) for option in options]
                return _Opening(
                    frozenset().union(*(opening.words for opening in found)),
                    any_word=any(opening.any_word for opening in found),
                    empty=any(opening.empty for opening in found),
                )
            case Maybe(part) | Repeat(part, 0):
                return replace(self._opening(part), empty=True)
            case Repeat(part, _):
                return self._opening(part)
            case Sequence(parts):
                whole = _Opening(empty=True)
                for part in parts:
                    here = self._opening(part)
                    whole = _Opening(
                        whole.words | here.words,
                        any_word=whole.any_word or here.any_word,
                        empty=here.empty,
                    )
                    if not here.empty:
                        break
                return whole

    # ------------------------------------------------------------------ making the functions

    def _made(self, expansion: Expansion) -> Matcher:
        match expansion:
            case Word(text, tag):
                return _word(text, () if tag is None else (tag,))
            case Rule(name, bound):
                plain = name not in self.evaluators and name not in self.terminals
                return _rule(name, bound, plain=plain)
            case Choice(options):
                return self._choice(options)
            case Maybe(part):
                return _maybe(self._made(part))
            case Repeat(part, least):
                return _repeat(self._made(part), least)
            case Sequence(parts):
                return _sequence(tuple(self._made(part) for part in parts))

    def _choice(self, options: tuple[Expansion, ...]) -> Matcher:
        """Return the function of a choice, which tries only options that can begin as said."""
        made = [(self._opening(option), self._made(option)) for option in options]
        opening_words = frozenset().union(*(opening.words for opening, _ in made))
        by_word = {
            word: tuple(
                function
                for opening, function in made
                if opening.empty or opening.any_word or word in opening.words
            )
            for word in opening_words
        }
        other = tuple(f for opening, f in made if opening.empty or opening.any_word)
        empty = tuple(f for opening, f in made if opening.empty)

        def choice(parse: Parse, start: int) -> Found:
            tokens = parse.tokens
            able = by_word.get(tokens[start], other) if start < len(tokens) else empty
            if len(able) == 1:
                return able[0](parse, start)
            found: Found = []
            for function in able:
                found.extend(function(parse, start))
            return found

        return choice


_NONE: Found = []


def _word(text: str, values: Values) -> Matcher:
    def word(parse: Parse, start: int) -> Found:
        tokens = parse.tokens
        return [(start + 1, values)] if start < len(tokens) and tokens[start] == text else _NONE

    return word


def _rule(name: str, bound: str | None, *, plain: bool) -> Matcher:
    if bound is None:
        if plain:
            return lambda parse, start: parse.rule(name, start)
        return lambda parse, start: [(end, (value,)) for end, value in parse.rule(name, start)]

    def rule(parse: Parse, start: int) -> Found:
        return [
            (end, (Bound(bound, value[0] if plain and len(value) == 1 else value),))
            for end, value in parse.rule(name, start)
        ]

    return rule


def _maybe(part: Matcher) -> Matcher:
    return lambda parse, start: [*part(parse, start), (start, ())]


def _repeat(part: Matcher, least: int) -> Matcher:
    def repeat(parse: Parse, start: int) -> Found:
        found: Found = [(start, ())] if least == 0 else []
        waiting: Found = [(start, ())]
        while waiting:
            place, values = waiting.pop()
            for end, more in part(parse, place):
                if end > place:
                    found.append((end, values + more))
                    waiting.append((end, values + more))
        return found

    return repeat


def _sequence(parts: tuple[Matcher, ...]) -> Matcher:
    first, *rest = parts or (lambda _, start: [(start, ())],)

    def sequence(parse: Parse, start: int) -> Found:
        found = first(parse, start)
        for part in rest:
            if not found:
                return _NONE
            found = [
                (end, values + more) for place, values in found for end, more in part(parse, place)
            ]
        return found

    return sequence


class Parse:
    """One utterance under a parser: all parses from all places, each found once."""

    def __init__(self, parser: Parser, tokens: tuple[str, ...]) -> None:
        self.parser, self.tokens = parser, tokens
        self._found: dict[tuple[str, int], list[tuple[int, Any]]] = {}

    def whole(self, expansion: Expansion) -> list[Values]:
        """Return the values of every parse of all tokens."""
        length = len(self.tokens)
        find = self.parser.matcher(expansion, self.tokens[0] if length else None)
        if find is None:
            return []
        return list(dict.fromkeys(values for end, values in find(self, 0) if end == length))

    def rule(self, name: str, start: int) -> list[tuple[int, Any]]:
        """Return (end, value) for every parse of a rule at a place (a tuple if not evaluated)."""
        key = (name, start)
        known = self._found.get(key)
        if known is None:
            known = self._found[key] = self._look(name, start)
        return known

    def _look(self, name: str, start: int) -> list[tuple[int, Any]]:
        parser, tokens = self.parser, self.tokens
        word = tokens[start] if start < len(tokens) else None
        terminal = parser.terminals.get(name)
        if terminal is not None:
            value = None if word is None else terminal(word)
            return [] if value is None else [(start + 1, value)]
        if not parser.can_open(name, word):
            return []
        found = parser.rule_matcher(name)(self, start)
        evaluate = parser.evaluators.get(name)
        results: list[tuple[int, Any]] = []
        for end, values in found:
            value = values if evaluate is None else evaluate(values)
            if isinstance(value, Spanned):
                value = value.spanned(tokens[start:end])
            if value is not REJECT and (end, value) not in results:
                results.append((end, value))
        return results
