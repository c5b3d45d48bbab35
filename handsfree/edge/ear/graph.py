"""A grammar as a decoding graph: the CTC topology over phonemes over words over sentences.

What the graph reads (input labels) are columns of the acoustic model plus 1; what it gives
(output labels) are words, and the entering and leaving of slots. A slot stands in the graph once
and is entered from many places, so a path through the graph may enter it in one sentence and
leave it into another; `lattice.py` keeps the paths that leave to where they came from.

Shape, for each state of a word automaton: a *rest*, where blanks may pass. From a rest, words
that lead to the same next rest hang on one *hub*, shared by all rests that offer these words. The
phonemes of a word form a chain to the next rest, and chains to one rest share their tails. Within
a word the same phoneme twice needs a blank between, as CTC has it; across words it does not,
since people run "six seven" together.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import kaldifst

from handsfree.edge.ear.automaton import SLOT, Automaton, Builder, Fragment
from handsfree.edge.ear.lexicon import Lexicon
from handsfree.language.grammar import Grammar

__all__ = ["ENTER", "LEAVE", "Compiler", "DecodingGraph"]

ENTER = 1_000_000
LEAVE = 2_000_000
"""Output labels from these on enter or leave a slot; the place gone on to is added."""


@dataclass(frozen=True, eq=False)
class DecodingGraph:
    """A compiled grammar: `sentences` to check a sentence with, `graph` to decode with."""

    sentences: Automaton
    graph: kaldifst.StdVectorFst


@dataclass(frozen=True, eq=False)
class _Block:
    """The graph of a slot, written out: where it is entered and left, and its arcs as text."""

    entry: int
    exit: int
    text: str


@dataclass
class _Writer:
    """Writes fragments as arcs of a graph; `next` is the first state that is still free."""

    lexicon: Lexicon
    blank: int
    next: int
    lines: list[str] = field(default_factory=list)
    hubs: dict[tuple[tuple[tuple[int, float], ...], int], int] = field(default_factory=dict)
    tails: dict[tuple[int, tuple[int, ...]], int] = field(default_factory=dict)

    def state(self) -> int:
        self.next += 1
        return self.next - 1

    def arc(
        self, source: int, target: int, reads: int = 0, gives: int = 0, cost: float = 0.0
    ) -> None:
        self.lines.append(f"{source} {target} {reads} {gives} {cost}")

    def rests(self, fragment: Fragment) -> int:
        """Write the rests of a fragment and the words between them; return the first rest."""
        first = self.next
        self.next += len(fragment.arcs)
        for number, arcs in enumerate(fragment.arcs):
            rest = first + number
            self.arc(rest, rest, self.blank)
            by_target: dict[int, list[tuple[int, float]]] = defaultdict(list)
            for label, target in arcs.items():
                if label < SLOT:
                    by_target[target].append((label, fragment.costs[number][label]))
            for target, words in by_target.items():
                self.arc(rest, self.hub(tuple(sorted(words)), first + target))
        return first

    def hub(self, words: tuple[tuple[int, float], ...], rest: int) -> int:
        """Return the state from which any of these words, at its cost, leads to a rest."""
        hub = self.hubs.get((words, rest))
        if hub is None:
            hub = self.hubs[words, rest] = self.state()
            for word, cost in words:
                for way in self.lexicon.ways[word]:
                    self.arc(hub, self.tail(rest, way), way[0] + 1, word, cost)
        return hub

    def tail(self, rest: int, way: tuple[int, ...]) -> int:
        """Return the state in which the first of these phonemes sounds, the others to follow."""
        here = self.tails.get((rest, way))
        if here is not None:
            return here
        here = self.tails[rest, way] = self.state()
        self.arc(here, here, way[0] + 1)
        if len(way) == 1:
            self.arc(here, rest)
            return here
        following, gap = self.tail(rest, way[1:]), self.state()
        self.arc(here, gap, self.blank)
        self.arc(gap, gap, self.blank)
        self.arc(gap, following, way[1] + 1)
        if way[1] != way[0]:
            self.arc(here, following, way[1] + 1)
        return here


class Compiler:
    """Compiles grammars for one lexicon and acoustic model, and remembers their slots."""

    def __init__(self, lexicon: Lexicon, blank: int) -> None:
        self._lexicon, self._blank = lexicon, blank + 1
        self._builder = Builder(lexicon.number)
        self._blocks: dict[int, _Block] = {}
        self._next = 0

    def compile(self, grammar: Grammar) -> DecodingGraph:
        """Return the decoding graph of a grammar."""
        sentences = self._builder.build(grammar)
        blocks = {number: self._block(number, slot) for number, slot in sentences.slots.items()}
        writer = self._writer()
        first = writer.rests(sentences.main)
        left: set[tuple[int, int]] = set()
        for number, arcs in enumerate(sentences.main.arcs):
            for label, target in arcs.items():
                if label < SLOT:
                    continue
                slot = label - SLOT
                cost = sentences.main.costs[number][label]
                writer.arc(first + number, blocks[slot].entry, gives=ENTER + target, cost=cost)
                if (slot, target) not in left:
                    left.add((slot, target))
                    writer.arc(blocks[slot].exit, first + target, gives=LEAVE + target)
        ends = [f"{first + state} {cost}" for state, cost in sentences.main.final.items()]
        texts = ["\n".join(writer.lines), *(block.text for block in blocks.values()), *ends, ""]
        graph = kaldifst.compile("\n".join(texts))
        return DecodingGraph(sentences, graph)

    def _writer(self) -> _Writer:
        return _Writer(self._lexicon, self._blank, self._next)

    def _block(self, number: int, slot: Fragment) -> _Block:
        if number not in self._blocks:
            writer = self._writer()
            entry = writer.rests(slot)
            leave = writer.state()
            for state, cost in slot.final.items():
                writer.arc(entry + state, leave, cost=cost)
            self._blocks[number] = _Block(entry, leave, "\n".join(writer.lines))
            self._next = writer.next
        return self._blocks[number]
