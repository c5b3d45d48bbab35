"""The tree that a phrase or a rule is, and what can be asked of it: words, rules, sentences."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import log
from typing import Any, NamedTuple


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
    """One of several; `weights` tell how often each is said against the others, none if alike."""

    options: tuple[Expansion, ...]
    weights: tuple[float, ...] = ()

    @property
    def costs(self) -> tuple[float, ...]:
        """What each option costs in nats; those said most often cost nothing."""
        if not self.weights:
            return (0.0,) * len(self.options)
        most = max(self.weights)
        return tuple(log(most / weight) for weight in self.weights)


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
        reached = reachable(self.start, self.rules, partial=True)
        text = repr((self.start, sorted((name, repr(self.rules[name])) for name in reached)))
        return hashlib.sha256(text.encode()).hexdigest()


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
    """Return the expansion with each `<slot>` bound to the rule that `slots` gives for it.

    A slot that is bound already is bound anew.
    """
    match expansion:
        case Rule(name, bound) if (bound or name) in slots:
            slot = bound or name
            return Rule(slots[slot], bound=slot)
        case Sequence(parts):
            return Sequence(tuple(bind(part, slots) for part in parts))
        case Choice(options, weights):
            return Choice(tuple(bind(option, slots) for option in options), weights)
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


def sentences(  # noqa: C901 - a match over the six forms of the tree
    expansion: Expansion, rules: Mapping[str, Expansion]
) -> Iterator[tuple[str, ...]]:
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
