"""Which sentences may be said: a grammar as automata over words.

A large rule (a length, a pressure) may stand in hundreds of phrases, and its automaton may have
ten thousand arcs, so it is not copied to each place. It is kept once, as a *slot*, and the main
automaton names it on an arc as if it were a word. Small rules are written out in place. Every
automaton is deterministic and minimal.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf

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

    `costs[state]` maps those labels to what they cost in nats: rare ways of saying things cost
    something. `final` are the states where it may end, with what that costs; none of them where
    nothing can be said.
    """

    arcs: tuple[Mapping[int, int], ...]
    costs: tuple[Mapping[int, float], ...]
    final: Mapping[int, float]


@dataclass(frozen=True, eq=False)
class Automaton:
    """The sentences of a grammar; `slots` holds the fragment of each slot that `main` names."""

    main: Fragment
    slots: Mapping[int, Fragment]

    def cost(self, words: Sequence[int]) -> float:
        """Return what these words, by number, cost in nats; infinite where they are no sentence."""
        places = self._settled({(0, -1, 0): 0.0})
        for word in words:
            moved: dict[_Place, float] = {}
            for (state, slot, inner), cost in places.items():
                fragment, here = (self.main, state) if slot < 0 else (self.slots[slot], inner)
                target = fragment.arcs[here].get(word)
                if target is not None:
                    place = (target, -1, 0) if slot < 0 else (state, slot, target)
                    moved[place] = min(cost + fragment.costs[here][word], moved.get(place, inf))
            places = self._settled(moved)
        ends = (
            cost + self.main.final[state]
            for (state, slot, _), cost in places.items()
            if slot < 0 and state in self.main.final
        )
        return min(ends, default=inf)

    def _settled(self, places: dict[_Place, float]) -> dict[_Place, float]:
        """Return the places with those that are reached from them by entering or leaving slots."""
        waiting = list(places)
        while waiting:
            here = waiting.pop()
            state, slot, inner = here
            found: list[tuple[_Place, float]] = []
            if slot < 0:
                found = [
                    ((target, label - SLOT, 0), self.main.costs[state][label])
                    for label, target in self.main.arcs[state].items()
                    if label >= SLOT
                ]
            elif inner in self.slots[slot].final:
                found = [((state, -1, 0), self.slots[slot].final[inner])]
            for place, added in found:
                cost = places[here] + added
                if cost < places.get(place, inf):
                    places[place] = cost
                    waiting.append(place)
        return places


_Place = tuple[int, int, int]
"""State of the main automaton, slot or -1, state inside the slot.

Inside a slot the first is the state to go on from.
"""
_EMPTY = Fragment(({},), ({},), {})


@dataclass
class _Tape:
    """Arcs (state, label, next, cost) while they are written; label 0 is no word.

    `rules` are those of the grammar, `slots` whether a large rule becomes a slot here.
    """

    rules: Mapping[str, Expansion]
    slots: bool
    arcs: list[tuple[int, int, int, float]] = field(default_factory=list)
    states: int = 0

    def arc(self, source: int, label: int, target: int, cost: float = 0.0) -> None:
        self.arcs.append((source, label, target, cost))

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
        tape.arc(outset, 0, first)
        if not self._write(start, tape, first, last):
            return _EMPTY
        lines = [
            f"{source} {target} {label} {label} {cost}" for source, label, target, cost in tape.arcs
        ]
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
                    tape.arc(first, number, last)
                return number is not None
            case Rule(name):
                return name in tape.rules and self._write_rule(name, tape, first, last)
            case Choice(options):
                # every option is written, so the list is made before it is asked
                return any(
                    [  # noqa: C419
                        self._write_option(option, cost, tape, first, last)
                        for option, cost in zip(options, expansion.costs, strict=True)
                    ]
                )
            case Maybe(part):
                tape.arc(first, 0, last)
                self._write(part, tape, first, last)
                return True
            case Repeat(part, least):
                start, end = tape.state(), tape.state()
                tape.arc(first, 0, start)
                if least == 0:
                    tape.arc(start, 0, end)
                found = self._write(part, tape, start, end)
                tape.arc(end, 0, start)
                tape.arc(end, 0, last)
                return found or least == 0
            case _:
                place = first
                for part in expansion.parts:
                    following = tape.state()
                    if not self._write(part, tape, place, following):
                        return False
                    place = following
                tape.arc(place, 0, last)
                return True

    def _write_option(
        self, option: Expansion, cost: float, tape: _Tape, first: int, last: int
    ) -> bool:
        start = first
        if cost:
            start = tape.state()
            tape.arc(first, 0, start, cost)
        return self._write(option, tape, start, last)

    def _write_rule(self, name: str, tape: _Tape, first: int, last: int) -> bool:
        fragment = self._rule(name)
        if not fragment.final:
            return False
        if tape.slots and sum(map(len, fragment.arcs)) > _WRITTEN_OUT:
            if fragment not in self._slots:
                self._slots.append(fragment)
            tape.arc(first, SLOT + self._slots.index(fragment), last)
            return True
        offset = tape.states
        tape.states += len(fragment.arcs)
        tape.arc(first, 0, offset)
        for source, arcs in enumerate(fragment.arcs):
            for label, target in arcs.items():
                cost = fragment.costs[source][label]
                tape.arc(source + offset, label, target + offset, cost)
        for end, cost in fragment.final.items():
            tape.arc(end + offset, 0, last, cost)
        return True


def _read(graph: kaldifst.StdVectorFst) -> Fragment:
    """Return the fragment of a graph, its states numbered from the start."""
    if graph.num_states == 0:
        return _EMPTY
    order: dict[int, int] = {graph.start: 0}
    arcs: list[dict[int, int]] = [{}]
    costs: list[dict[int, float]] = [{}]
    final: dict[int, float] = {}
    waiting = [graph.start]
    while waiting:
        state = waiting.pop()
        if graph.final(state).value != inf:
            final[order[state]] = graph.final(state).value
        for arc in kaldifst.ArcIterator(graph, state):
            if arc.nextstate not in order:
                order[arc.nextstate] = len(order)
                arcs.append({})
                costs.append({})
                waiting.append(arc.nextstate)
            arcs[order[state]][arc.ilabel] = order[arc.nextstate]
            costs[order[state]][arc.ilabel] = arc.weight.value
    return Fragment(tuple(arcs), tuple(costs), final)
