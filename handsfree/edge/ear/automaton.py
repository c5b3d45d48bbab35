"""Which sentences may be said: a grammar as automata over words.

A large rule (a length, a pressure) may stand in hundreds of phrases, and its automaton may have
ten thousand arcs, so it is not copied to each place. It is kept once, as a *slot*, and the main
automaton names it on an arc as if it were a word. Small rules are written out in place. Every
automaton is deterministic and minimal.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import kaldifst

from handsfree.language.grammar import Choice, Expansion, Grammar, Maybe, Repeat, Rule, Word

__all__ = ["SLOT", "Automaton", "Builder", "Fragment"]

SLOT = 1_000_000
"""On an arc of a main automaton, a label from here on is a whole slot, by its number."""
_WRITTEN_OUT = 60
"""Arcs up to which a rule is written out in place; a jump to it would cost as much."""


@dataclass(frozen=True, eq=False)
class Fragment:
    """States 0, 1, …, of which 0 starts: `arcs[state]` maps a label to the next state.

    `final` are the states where it may end; none of them where nothing can be said.
    """

    arcs: tuple[Mapping[int, int], ...]
    final: frozenset[int]


@dataclass(frozen=True, eq=False)
class Automaton:
    """The sentences of a grammar; `slots` holds the fragment of each slot that `main` names."""

    main: Fragment
    slots: Mapping[int, Fragment]

    def accepts(self, words: Sequence[int]) -> bool:
        """Return whether these words, by number, are one of the sentences."""
        places = self._settled({(0, -1, 0)})
        for word in words:
            moved: set[tuple[int, int, int]] = set()
            for state, slot, inner in places:
                arcs = self.main.arcs[state] if slot < 0 else self.slots[slot].arcs[inner]
                target = arcs.get(word)
                if target is not None:
                    moved.add((target, -1, 0) if slot < 0 else (state, slot, target))
            places = self._settled(moved)
        return any(slot < 0 and state in self.main.final for state, slot, _ in places)

    def _settled(self, places: set[tuple[int, int, int]]) -> set[tuple[int, int, int]]:
        """Return the places with those that are reached from them by entering or leaving slots.

        A place is (state of the main automaton, slot or -1, state inside the slot); inside a slot
        the first is the state to go on from.
        """
        waiting = list(places)
        while waiting:
            state, slot, inner = waiting.pop()
            if slot < 0:
                found = [
                    (target, label - SLOT, 0)
                    for label, target in self.main.arcs[state].items()
                    if label >= SLOT
                ]
            else:
                found = [(state, -1, 0)] if inner in self.slots[slot].final else []
            waiting.extend(place for place in found if place not in places)
            places.update(found)
        return places


_EMPTY = Fragment(({},), frozenset())


@dataclass
class _Tape:
    """Arcs (state, label, next) while they are written; label 0 is no word.

    `rules` are those of the grammar, `slots` whether a large rule becomes a slot here.
    """

    rules: Mapping[str, Expansion]
    slots: bool
    arcs: list[tuple[int, int, int]] = field(default_factory=list)
    states: int = 0

    def state(self) -> int:
        self.states += 1
        return self.states - 1


class Builder:
    """Makes automata of grammars, and remembers those of their rules.

    `number` gives a word's number (from 1), or None where it cannot be heard: a sentence with
    such a word, or with a rule that the grammar does not hold, is left out.
    """

    def __init__(self, number: Callable[[str], int | None]) -> None:
        self._number = number
        self._by_key: dict[str, Fragment] = {}
        self._slots: list[Fragment] = []
        self._rules: Mapping[str, Expansion] = {}
        self._by_name: dict[str, Fragment] = {}

    def build(self, grammar: Grammar) -> Automaton:
        """Return the automaton of a grammar."""
        if grammar.rules is not self._rules:
            self._rules, self._by_name = grammar.rules, {}
        main = self._minimal(grammar.start, slots=True)
        named = {label - SLOT for arcs in main.arcs for label in arcs if label >= SLOT}
        return Automaton(main, {number: self._slots[number] for number in sorted(named)})

    def _rule(self, name: str) -> Fragment:
        found = self._by_name.get(name)
        if found is None:
            key = Grammar(Rule(name), self._rules).key
            found = self._by_key.get(key)
            if found is None:
                found = self._by_key[key] = self._minimal(self._rules[name], slots=False)
            self._by_name[name] = found
        return found

    def _minimal(self, start: Expansion, *, slots: bool) -> Fragment:
        tape = _Tape(self._rules, slots)
        outset, first, last = tape.state(), tape.state(), tape.state()
        tape.arcs.append((outset, 0, first))
        if not self._write(start, tape, first, last):
            return _EMPTY
        lines = [f"{source} {target} {label} {label}" for source, label, target in tape.arcs]
        graph = kaldifst.compile("\n".join([*lines, str(last), ""]))
        kaldifst.rmepsilon(graph)
        graph = kaldifst.determinize(graph)
        kaldifst.minimize(graph)
        return _read(graph)

    def _write(self, expansion: Expansion, tape: _Tape, first: int, last: int) -> bool:
        """Write the paths of an expansion from `first` to `last`; false where it has none."""
        match expansion:
            case Word(text):
                number = self._number(text)
                if number is not None:
                    tape.arcs.append((first, number, last))
                return number is not None
            case Rule(name):
                return name in tape.rules and self._write_rule(name, tape, first, last)
            case Choice(options):
                # every option is written, so the list is made before it is asked
                return any([self._write(option, tape, first, last) for option in options])  # noqa: C419
            case Maybe(part):
                tape.arcs.append((first, 0, last))
                self._write(part, tape, first, last)
                return True
            case Repeat(part, least):
                start, end = tape.state(), tape.state()
                tape.arcs.append((first, 0, start))
                if least == 0:
                    tape.arcs.append((start, 0, end))
                found = self._write(part, tape, start, end)
                tape.arcs.extend(((end, 0, start), (end, 0, last)))
                return found or least == 0
            case _:
                place = first
                for part in expansion.parts:
                    following = tape.state()
                    if not self._write(part, tape, place, following):
                        return False
                    place = following
                tape.arcs.append((place, 0, last))
                return True

    def _write_rule(self, name: str, tape: _Tape, first: int, last: int) -> bool:
        fragment = self._rule(name)
        if not fragment.final:
            return False
        if tape.slots and sum(map(len, fragment.arcs)) > _WRITTEN_OUT:
            if fragment not in self._slots:
                self._slots.append(fragment)
            tape.arcs.append((first, SLOT + self._slots.index(fragment), last))
            return True
        offset = tape.states
        tape.states += len(fragment.arcs)
        tape.arcs.append((first, 0, offset))
        for source, arcs in enumerate(fragment.arcs):
            tape.arcs.extend(
                (source + offset, label, target + offset) for label, target in arcs.items()
            )
        tape.arcs.extend((end + offset, 0, last) for end in fragment.final)
        return True


def _read(graph: kaldifst.StdVectorFst) -> Fragment:
    """Return the fragment of a graph, its states numbered from the start."""
    if graph.num_states == 0:
        return _EMPTY
    order: dict[int, int] = {graph.start: 0}
    arcs: list[dict[int, int]] = [{}]
    final: set[int] = set()
    waiting = [graph.start]
    while waiting:
        state = waiting.pop()
        if graph.final(state).value != float("inf"):
            final.add(order[state])
        for arc in kaldifst.ArcIterator(graph, state):
            if arc.nextstate not in order:
                order[arc.nextstate] = len(order)
                arcs.append({})
                waiting.append(arc.nextstate)
            arcs[order[state]][arc.ilabel] = order[arc.nextstate]
    return Fragment(tuple(arcs), frozenset(final))
