"""What can be said in each state of the conversation: how large its graph is, and how quick.

words, arcs   how many words can be said, and how many arcs are searched
alone         seconds of processor to make the graph where none was made before
then          the same where the graphs of the rows above were made before, as they are in a
              conversation: it begins at rest
switch        milliseconds to take up the graph once it is made, with finding out what can be
              said: the median and the worst of many changes from state to state
"""

from __future__ import annotations

import argparse
import json
import statistics
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from _commands import AT, standing
from _room import at_a_step

if TYPE_CHECKING:
    from handsfree.dialogue.state import State
    from handsfree.edge.ear.graph import DecodingGraph
    from handsfree.language.grammar import Grammar
    from handsfree.library import Library

ROUNDS = 50
HEAD = ("what can be said", "words", "arcs", "alone, s", "then, s", "switch, ms", "worst, ms")


class Row(NamedTuple):
    """The figures of one state."""

    state: str
    words: int
    arcs: int
    alone: float
    then: float
    switch: float
    worst: float


def _states(known: Library) -> dict[str, State]:
    from handsfree.dialogue.engine import advance  # noqa: PLC0415 - the path is set
    from handsfree.dialogue.events import Called, Typed  # noqa: PLC0415
    from handsfree.dialogue.state import State  # noqa: PLC0415

    rest = standing(known)
    done, _ = at_a_step("done", known)
    return {
        "at rest: everything": rest,
        "a question is open": advance(State(), Typed("mark for a ninety", AT), known)[0],
        "at a step, attentive": advance(done, Called(AT), known)[0],
        "a step waits for done": done,
        "a step waits for yes or no": at_a_step("seen", known)[0],
        "a challenge waits": at_a_step("stated", known)[0],
        "asleep": advance(rest, Typed("pause", AT), known)[0],
    }


def measure() -> list[Row]:
    """Return the figures of every state."""
    from handsfree.dialogue.vocabulary import vocabulary  # noqa: PLC0415 - the path is set
    from handsfree.edge.ear.acoustic import AcousticModel  # noqa: PLC0415
    from handsfree.edge.ear.builtin import BuiltInEar  # noqa: PLC0415
    from handsfree.edge.ear.graph import Compiler  # noqa: PLC0415
    from handsfree.edge.ear.lexicon import Lexicon  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    known, model = library(), AcousticModel()
    states = _states(known)
    grammars = {told: vocabulary(state, known) for told, state in states.items()}
    together = Compiler(Lexicon(model.tokens), model.blank)
    alone, then, graphs = {}, {}, {}
    for told, grammar in grammars.items():
        fresh = Compiler(Lexicon(model.tokens), model.blank)
        alone[told], _ = _timed(fresh.compile, grammar)
        then[told], graphs[told] = _timed(together.compile, grammar)
    ear, waits = BuiltInEar(), {told: list[float]() for told in states}
    for grammar in grammars.values():
        ear.listen_for(grammar)
    for _ in range(ROUNDS):
        for told, state in states.items():
            begun = time.process_time()
            ear.listen_for(vocabulary(state, known))
            waits[told].append(1000 * (time.process_time() - begun))
    return [
        Row(
            told,
            len(_words(graphs[told])),
            sum(graphs[told].graph.num_arcs(one) for one in range(graphs[told].graph.num_states)),
            alone[told],
            then[told],
            statistics.median(waits[told]),
            max(waits[told]),
        )
        for told in states
    ]


def _timed(
    compiled: Callable[[Grammar], DecodingGraph], grammar: Grammar
) -> tuple[float, DecodingGraph]:
    begun = time.process_time()
    graph = compiled(grammar)
    return time.process_time() - begun, graph


def _words(graph: DecodingGraph) -> set[int]:
    from handsfree.edge.ear.automaton import SLOT  # noqa: PLC0415 - the path is set

    fragments = (graph.sentences.main, *graph.sentences.slots.values())
    return {label for one in fragments for arcs in one.arcs for label in arcs if label < SLOT}


def main(arguments: list[str]) -> int:
    """Print the table, or JSON."""
    parser = argparse.ArgumentParser(
        prog="scripts/bench grammars",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    rows = measure()
    if options.json:
        print(json.dumps([row._asdict() for row in rows]))
        return 0
    from rich.console import Console  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415

    printed = Table(*HEAD)
    for row in rows:
        printed.add_row(
            row.state,
            *(f"{value:.3g}" if isinstance(value, float) else f"{value:,}" for value in row[1:]),
        )
    Console().print(printed)
    return 0
