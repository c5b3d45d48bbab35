"""A grammar as a decoding graph: the CTC topology over phonemes over words over sentences.

What the graph reads (input labels) are columns of the acoustic model plus 1; what it gives
(output labels) are words, and the entering and leaving of slots. A slot stands in the graph once
and is entered from many places, so a path through the graph may enter it in one sentence and
leave it into another; `lattice.py` keeps the paths that leave to where they came from.

Shape, for each state of a word automaton: a *rest*, where blanks may pass. The words that may
follow it form a tree by their phonemes: what begins alike is searched once, and beginnings are most
of the work of the search. A word is given after its last phoneme, on the way to the next rest.
Branches that are the same to their ends stand in the graph once. A phoneme twice in a row needs a
blank between within a word, as CTC has it; across words it does not, since people run "six seven"
together.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

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


class _Way(NamedTuple):
    """One way of saying a word (columns of the model), where it leads and what the word costs."""

    phonemes: tuple[int, ...]
    word: int
    rest: int
    cost: float


class _Branch(NamedTuple):
    """The state in which its first phoneme sounds, and what its cheapest word costs in nats.

    That cost is paid on the way in, and what a dearer word costs beyond it at the word's end.
    """

    state: int
    cost: float


_Words = tuple[int, tuple[tuple[int, int, float], ...]]
"""A phoneme, and the words (number, rest, cost) of which some way begins with it."""


@dataclass
class _Writer:
    """Writes fragments as arcs of a graph; `next` is the first state that is still free."""

    lexicon: Lexicon
    blank: int
    next: int
    lines: list[str] = field(default_factory=list)
    _begun: dict[_Words, _Branch] = field(default_factory=dict)
    _states: dict[Hashable, int] = field(default_factory=dict)

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
        for number, (arcs, costs) in enumerate(zip(fragment.arcs, fragment.costs, strict=True)):
            rest = first + number
            self.arc(rest, rest, self.blank)
            by_phoneme: dict[int, list[tuple[int, int, float]]] = defaultdict(list)
            for label, target in arcs.items():
                if label < SLOT:
                    for phoneme in self.lexicon.begins[label]:
                        by_phoneme[phoneme].append((label, first + target, costs[label]))
            for phoneme, words in by_phoneme.items():
                state, cost = self._words(phoneme, tuple(words))
                self.arc(rest, state, phoneme + 1, cost=cost)
        return first

    def _words(self, phoneme: int, words: tuple[tuple[int, int, float], ...]) -> _Branch:
        """Return the branch of these words, as far as they begin with a phoneme."""
        branch = self._begun.get((phoneme, words))
        if branch is None:
            ways = [
                _Way(phonemes, word, rest, cost)
                for word, rest, cost in words
                for phonemes in self.lexicon.ways[word]
                if phonemes[0] == phoneme
            ]
            branch = self._begun[phoneme, words] = self._branch(ways, 0)
        return branch

    def _branch(self, ways: Sequence[_Way], depth: int) -> _Branch:
        """Return the branch of ways that are alike up to this depth."""
        by_phoneme: dict[int, list[_Way]] = defaultdict(list)
        ends = []
        for way in ways:
            if len(way.phonemes) == depth + 1:
                ends.append(way)
            else:
                by_phoneme[way.phonemes[depth + 1]].append(way)
        branches = [
            (phoneme, *self._branch(some, depth + 1)) for phoneme, some in by_phoneme.items()
        ]
        phoneme = ways[0].phonemes[depth]
        least = min(way.cost for way in ways)
        words = tuple((way.word, way.rest, way.cost - least) for way in ends)
        following = tuple((next_, state, cost - least) for next_, state, cost in branches)
        state = self._states.get((phoneme, words, following))
        if state is None:
            state = self._states[phoneme, words, following] = self.state()
            self._write(state, phoneme, words, following)
        return _Branch(state, least)

    def _write(
        self,
        here: int,
        phoneme: int,
        words: tuple[tuple[int, int, float], ...],
        following: tuple[tuple[int, int, float], ...],
    ) -> None:
        """Write the arcs of a state in which a phoneme sounds."""
        self.arc(here, here, phoneme + 1)
        for word, rest, cost in words:
            self.arc(here, rest, gives=word, cost=cost)
        if following:
            gap = self.state()
            self.arc(here, gap, self.blank)
            self.arc(gap, gap, self.blank)
            for next_, state, cost in following:
                self.arc(gap, state, next_ + 1, cost=cost)
                if next_ != phoneme:
                    self.arc(here, state, next_ + 1, cost=cost)


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
