"""The phrase grammar: one notation for what is matched, listed, and listened for.

Notation: the expansions of the JSpeech Grammar Format (JSGF, W3C Note of 5 June 2000):

    word            a word as spoken               "two words"   a quoted word
    [optional]      may be left out                (a | b)       one of
    <rule>          another rule                   x* x+         repeated
    word {tag}      a tag: what the word means     // and /* */  comments (grammar files)

A phrase of a calculator names its parameters (`<distance>`); each such name is bound to the
grammar rule of the parameter's kind (`<length>`) when the library is joined.

Parsing gives **every** reading. Each expansion yields a tuple of values: a plain word yields
nothing, a tagged word its tag, a rule what its evaluator makes of its parts (or, without an
evaluator, the parts themselves), a bound rule a `Bound(name, value)`. Rules must not call themselves, so that every grammar is finite-state and
can be listened for.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, NamedTuple

from handsfree.errors import DataError

__all__ = [
    "Bound",
    "Choice",
    "Expansion",
    "Grammar",
    "Maybe",
    "Parser",
    "Repeat",
    "Rule",
    "Sequence",
    "Word",
    "bind",
    "parse_phrase",
    "parse_rules",
    "rule_names",
    "sentences",
    "words",
]


@dataclass(frozen=True, slots=True)
class Word:
    """One spoken word, and its tag (what it means), if it has one."""

    text: str
    tag: str | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """A reference to a rule; `bound` is the slot name under which its value is returned."""

    name: str
    bound: str | None = None


@dataclass(frozen=True, slots=True)
class Sequence:
    """Parts one after the other."""

    parts: tuple[Expansion, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """One of several."""

    options: tuple[Expansion, ...]


@dataclass(frozen=True, slots=True)
class Maybe:
    """May be left out."""

    part: Expansion


@dataclass(frozen=True, slots=True)
class Repeat:
    """Repeated at least `least` (0 or 1) times."""

    part: Expansion
    least: int


Expansion = Word | Rule | Sequence | Choice | Maybe | Repeat


class Bound(NamedTuple):
    """The value found for a slot of a phrase."""

    name: str
    value: Any


@dataclass(frozen=True)
class Grammar:
    """What can be said now: a start expansion and the rules it reaches."""

    start: Expansion
    rules: Mapping[str, Expansion] = field(default_factory=dict)

    @cached_property
    def key(self) -> str:
        """A hash of the content, for caches of compiled graphs."""
        reached = reachable(self.start, self.rules)
        text = repr((self.start, sorted((name, repr(self.rules[name])) for name in reached)))
        return hashlib.sha256(text.encode()).hexdigest()


# ---------------------------------------------------------------------------- reading text

_LEXEME = re.compile(
    r"""\s*(?:
        (?P<rule><[a-z][a-z0-9_]*>) | (?P<tag>\{[^{}]*\}) | (?P<quoted>"[^"]+")
      | (?P<word>[^\s\[\]()<>{}|*+;="/]+) | (?P<mark>[\[\]()|*+])
    )""",
    re.VERBOSE,
)


class _Reader:
    """Reads one expansion from text; errors carry the text with a caret under the fault."""

    def __init__(self, text: str, file: str, place: str) -> None:
        self.text, self.file, self.place = text, file, place
        self.lexemes: list[tuple[str, str, int]] = []
        position = 0
        end = len(text.rstrip())
        while position < end:
            found = _LEXEME.match(text, position)
            if found is None:
                raise self.fault("this character has no meaning here", position)
            kind = found.lastgroup or "mark"
            self.lexemes.append((kind, found.group(kind), found.start(kind)))
            position = found.end()
        self.index = 0

    def fault(self, problem: str, position: int) -> DataError:
        caret = f"    {self.text}\n    {' ' * position}^"
        return DataError(self.file, self.place, problem, excerpt=caret)

    def peek(self) -> tuple[str, str, int]:
        if self.index < len(self.lexemes):
            return self.lexemes[self.index]
        return ("end", "", len(self.text))

    def take(self) -> tuple[str, str, int]:
        found = self.peek()
        self.index += 1
        return found

    def expect(self, mark: str, opened: int) -> None:
        _, text, position = self.take()
        if text != mark:
            raise self.fault(f"a bracket opened at column {opened + 1} is not closed", position)

    def choice(self) -> Expansion:
        """Choice = sequence ('|' sequence)*."""
        options = [self.sequence()]
        while self.peek()[1] == "|":
            self.take()
            options.append(self.sequence())
        return options[0] if len(options) == 1 else Choice(tuple(options))

    def sequence(self) -> Expansion:
        """Sequence = (item ['*' | '+'])+."""
        parts: list[Expansion] = []
        while self.peek()[0] != "end" and self.peek()[1] not in (")", "]", "|"):
            part = self.item()
            if self.peek()[1] in ("*", "+"):
                part = Repeat(part, 0 if self.take()[1] == "*" else 1)
            parts.append(part)
        if not parts:
            raise self.fault("something is missing here", self.peek()[2])
        return parts[0] if len(parts) == 1 else Sequence(tuple(parts))

    def item(self) -> Expansion:
        """Item = word [tag] | '<' rule '>' | '(' choice ')' | '[' choice ']'."""
        kind, text, position = self.take()
        if kind in ("word", "quoted"):
            tag = self.take()[1][1:-1].strip() if self.peek()[0] == "tag" else None
            return Word(text.strip('"').lower(), tag)
        if kind == "rule":
            return Rule(text[1:-1])
        if text == "(":
            inner = self.choice()
            self.expect(")", position)
            return inner
        if text == "[":
            inner = self.choice()
            self.expect("]", position)
            return Maybe(inner)
        raise self.fault(f"'{text}' cannot stand here", position)


def parse_phrase(text: str, file: str = "phrase", place: str = "") -> Expansion:
    """Return the expansion that `text` writes; raises `DataError` with a caret."""
    reader = _Reader(text, file, place)
    result = reader.choice()
    kind, _, position = reader.peek()
    if kind != "end":
        raise reader.fault("this bracket was never opened", position)
    return result


_COMMENT = re.compile(r"//[^\n]*|/\*.*?\*/", re.DOTALL)
_RULE = re.compile(r"(?:public\s+)?<(?P<name>[a-z][a-z0-9_]*)>\s*=(?P<body>.*)", re.DOTALL)


def parse_rules(text: str, file: str) -> dict[str, Expansion]:
    """Return the rules of a JSGF grammar file (`<name> = expansion;`), checked for calls in a ring.

    Raises `DataError` for a bad rule, a rule named twice or a rule that reaches itself.
    """
    body = _COMMENT.sub(" ", text)
    rules: dict[str, Expansion] = {}
    for statement in body.split(";"):
        line = " ".join(statement.split())
        if not line or line.startswith(("#JSGF", "grammar ")):
            continue
        found = _RULE.fullmatch(line)
        if found is None:
            raise DataError(file, line[:40], "this is not a rule", "Write <name> = words;")
        name = found["name"]
        if name in rules:
            raise DataError(file, f"<{name}>", "this rule is written twice")
        rules[name] = parse_phrase(found["body"].strip(), file, f"<{name}>")
    for name in rules:
        if name in reachable(rules[name], rules, partial=True):
            raise DataError(file, f"<{name}>", "this rule reaches itself")
    return rules


# ---------------------------------------------------------------------------- walking the tree


def _children(expansion: Expansion) -> tuple[Expansion, ...]:
    match expansion:
        case Sequence(parts):
            return parts
        case Choice(options):
            return options
        case Maybe(part) | Repeat(part, _):
            return (part,)
        case _:
            return ()


def rule_names(expansion: Expansion) -> Iterator[Rule]:
    """Yield the rules that an expansion names, in order."""
    if isinstance(expansion, Rule):
        yield expansion
    for child in _children(expansion):
        yield from rule_names(child)


def reachable(
    expansion: Expansion, rules: Mapping[str, Expansion], *, partial: bool = False
) -> frozenset[str]:
    """Return the names of all rules that an expansion reaches; unknown names raise KeyError."""
    seen: set[str] = set()
    waiting = [rule.name for rule in rule_names(expansion)]
    while waiting:
        name = waiting.pop()
        if name in seen or (partial and name not in rules):
            continue
        seen.add(name)
        waiting.extend(rule.name for rule in rule_names(rules[name]))
    return frozenset(seen)


def bind(expansion: Expansion, slots: Mapping[str, str]) -> Expansion:
    """Return the expansion with each `<slot>` bound to the rule that `slots` gives for it."""
    match expansion:
        case Rule(name) if name in slots:
            return Rule(slots[name], bound=name)
        case Sequence(parts):
            return Sequence(tuple(bind(part, slots) for part in parts))
        case Choice(options):
            return Choice(tuple(bind(option, slots) for option in options))
        case Maybe(part):
            return Maybe(bind(part, slots))
        case Repeat(part, least):
            return Repeat(bind(part, slots), least)
        case _:
            return expansion


def words(expansion: Expansion, rules: Mapping[str, Expansion]) -> frozenset[str]:
    """Return every word that the expansion can contain."""
    found: set[str] = set()
    trees = [expansion, *(rules[name] for name in reachable(expansion, rules, partial=True))]
    for tree in trees:
        waiting: list[Expansion] = [tree]
        while waiting:
            item = waiting.pop()
            if isinstance(item, Word):
                found.add(item.text)
            waiting.extend(_children(item))
    return frozenset(found)


def sentences(expansion: Expansion, rules: Mapping[str, Expansion]) -> Iterator[tuple[str, ...]]:
    """Yield every sentence (a tuple of words) of the expansion; a repeat is said once or twice."""
    match expansion:
        case Word(text):
            yield (text,)
        case Rule(name):
            yield from sentences(rules[name], rules)
        case Choice(options):
            for option in options:
                yield from sentences(option, rules)
        case Maybe(part):
            yield ()
            yield from sentences(part, rules)
        case Repeat(part, least):
            if least == 0:
                yield ()
            yield from sentences(part, rules)
            yield from sentences(Sequence((part, part)), rules)
        case Sequence(parts):
            if not parts:
                yield ()
                return
            rest = Sequence(parts[1:])
            for head in sentences(parts[0], rules):
                for tail in sentences(rest, rules):
                    yield head + tail


# ---------------------------------------------------------------------------- parsing

Values = tuple[Any, ...]
Evaluator = Callable[[Values], Any]
Terminal = Callable[[str], Any]
REJECT = object()
"""What an evaluator returns for parts that do not make sense together."""


@dataclass(frozen=True, slots=True)
class _Opening:
    """How an expansion can begin: with these words, with any word, or not at all."""

    words: frozenset[str]
    any_word: bool = False
    empty: bool = False


class Parser:
    """Finds every reading of a list of words under a set of rules.

    `evaluators` turn the values of a rule's parts into the rule's one value; `terminals` are rules matched by a function on one token,
    for what is typed and not spoken (`<numeral>`): they return a value, or None.
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
        self._first: dict[str, _Opening] = {}
        for name in rules:
            self._first[name] = self._first_of(rules[name])

    def _first_of(self, expansion: Expansion) -> _Opening:
        match expansion:
            case Word(text):
                return _Opening(frozenset((text,)))
            case Rule(name):
                if name in self.terminals:
                    return _Opening(frozenset(), any_word=True)
                if name not in self._first:
                    self._first[name] = self._first_of(self.rules[name])
                return self._first[name]
            case Choice(options):
                found = [self._first_of(option) for option in options]
                return _Opening(
                    frozenset().union(*(opening.words for opening in found)),
                    any_word=any(opening.any_word for opening in found),
                    empty=any(opening.empty for opening in found),
                )
            case Maybe(part) | Repeat(part, 0):
                return replace(self._first_of(part), empty=True)
            case Repeat(part, _):
                return self._first_of(part)
            case Sequence(parts):
                whole = _Opening(frozenset(), empty=True)
                for part in parts:
                    found_here = self._first_of(part)
                    whole = _Opening(
                        whole.words | found_here.words,
                        any_word=whole.any_word or found_here.any_word,
                        empty=found_here.empty,
                    )
                    if not found_here.empty:
                        break
                return whole

    def session(self, tokens: tuple[str, ...]) -> Parse:
        """Return a parse of these tokens, which remembers what it has found for each rule."""
        return Parse(self, tokens)

    def readings(self, expansion: Expansion, tokens: tuple[str, ...]) -> list[Values]:
        """Return the values of every parse of the whole of `tokens`, without doubles."""
        return self.session(tokens).whole(expansion)


class Parse:
    """One utterance under a parser: all parses from all places, each found once."""

    def __init__(self, parser: Parser, tokens: tuple[str, ...]) -> None:
        self.parser, self.tokens = parser, tokens
        self._found: dict[tuple[str, int], list[tuple[int, Any]]] = {}

    def whole(self, expansion: Expansion) -> list[Values]:
        """Return the values of every parse of all tokens."""
        length = len(self.tokens)
        results: list[Values] = []
        for end, values in self.spans(expansion, 0):
            if end == length and values not in results:
                results.append(values)
        return results

    def rule(self, name: str, start: int) -> list[tuple[int, Any]]:
        """Return (end, value) for every parse of a rule at a place (a tuple if not evaluated)."""
        key = (name, start)
        if key in self._found:
            return self._found[key]
        results: list[tuple[int, Any]] = []
        parser = self.parser
        if name in parser.terminals:
            if start < len(self.tokens):
                value = parser.terminals[name](self.tokens[start])
                if value is not None:
                    results.append((start + 1, value))
        elif self._may_open(name, start):
            evaluate = parser.evaluators.get(name)
            for end, values in self.spans(parser.rules[name], start):
                value = values if evaluate is None else evaluate(values)
                if value is not REJECT and (end, value) not in results:
                    results.append((end, value))
        self._found[key] = results
        return results

    def _may_open(self, name: str, start: int) -> bool:
        opening = self.parser._first[name]  # noqa: SLF001 - one pair of classes
        if opening.empty:
            return True
        return start < len(self.tokens) and (
            opening.any_word or self.tokens[start] in opening.words
        )

    def spans(self, expansion: Expansion, start: int) -> Iterator[tuple[int, Values]]:
        """Yield (end, values) for every parse of an expansion at a place."""
        match expansion:
            case Word(text, tag):
                if start < len(self.tokens) and self.tokens[start] == text:
                    yield start + 1, () if tag is None else (tag,)
            case Rule(name, bound):
                plain = name not in self.parser.evaluators and name not in self.parser.terminals
                for end, value in self.rule(name, start):
                    if bound is not None:
                        one = value[0] if plain and len(value) == 1 else value
                        yield end, (Bound(bound, one),)
                    else:
                        yield end, value if plain else (value,)
            case Choice(options):
                for option in options:
                    yield from self.spans(option, start)
            case Maybe(part):
                yield from self.spans(part, start)
                yield start, ()
            case Repeat(part, least):
                if least == 0:
                    yield start, ()
                for middle, values in self.spans(part, start):
                    if middle > start:
                        yield middle, values
                        for end, more in self.spans(Repeat(part, 1), middle):
                            yield end, values + more
            case Sequence(parts):
                yield from self._sequence(parts, 0, start)

    def _sequence(
        self, parts: tuple[Expansion, ...], index: int, start: int
    ) -> Iterator[tuple[int, Values]]:
        if index == len(parts):
            yield start, ()
            return
        for middle, values in self.spans(parts[index], start):
            for end, more in self._sequence(parts, index + 1, middle):
                yield end, values + more
