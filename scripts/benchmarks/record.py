"""A job of three days: how long it takes to resume, to check and to print, and how that grows.

    scripts/bench record [--entries 500 5000 50000] [--json]

The job is talked into being: marks, conversions, notes, a procedure, as its users would; beyond
5,000 entries the talk is repeated at later times. Resuming is reading the record and folding it;
of three times the best counts, since other work on the machine only adds. Nothing is asserted.
"""

from __future__ import annotations

import argparse
import gc
import json
import tempfile
import tracemalloc
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from itertools import cycle
from pathlib import Path
from time import perf_counter
from typing import Any

from handsfree.dialogue.effects import Write
from handsfree.dialogue.engine import advance
from handsfree.dialogue.events import Typed
from handsfree.dialogue.folding import folded
from handsfree.dialogue.state import State
from handsfree.edge.journal import Journal, read
from handsfree.library import Library, library
from handsfree.library.reckoning import Reckoning
from handsfree.record.certificate import certificate
from handsfree.record.entries import Entry, JobOpened
from handsfree.record.export import as_json, as_tables
from handsfree.record.page import page

START = datetime(2026, 1, 5, 8, tzinfo=UTC)
DAYS, ROUNDS, TALKED = 3, 3, 5000
LINES = [
    "I'm Sam",
    "tape is inch",
    "dimensions to centre",
    "the three eighths bender has a radius of fifteen sixteenths",
    "start a cut",
    "glasses on",
    "done",
    "yes",
    "done",
    "leave it",
    "where do I mark a ninety at twelve three eighths",
    "what's nineteen mil in inches",
    "thirty-eight bar in pounds",
    "note that the wall is soft brick",
    "what's five hundred microns in pascals",
    "record photo: wall.jpg",
    "torque on a half inch flare",
]


def _talked(known: Library, count: int) -> Iterator[Entry]:
    """Yield so many entries of a conversation over three days."""
    state, at, made = State(), START, 1
    step = timedelta(days=DAYS) / count
    yield JobOpened(at=START, job="three days", software="bench")
    for line in cycle(LINES):
        state, effects = advance(state, Typed(line, at), known)
        for effect in effects:
            if isinstance(effect, Write):
                yield effect.entry
                made += 1
                if made == count:
                    return
        at += step


def _repeated(talk: Sequence[Entry], count: int) -> Iterator[Entry]:
    """Yield so many entries: the talk again and again, each time three days later."""
    for number in range(count):
        again, place = divmod(number, len(talk))
        entry = talk[place]
        yield entry.model_copy(update={"at": entry.at + again * timedelta(days=DAYS)})


def _timed(work: Callable[[], Any], rounds: int = 1) -> tuple[float, Any]:
    """Return the best time of so many rounds, in seconds, and what the work came to."""
    best = float("inf")
    for _ in range(rounds):
        started = perf_counter()
        result = work()
        best = min(best, perf_counter() - started)
    return round(best, 3), result


def _row(known: Library, talk: Sequence[Entry], count: int, folder: Path) -> dict[str, float]:
    path = folder / f"{count}.jsonl"
    with Journal(path) as journal:
        journal.append(_repeated(talk, count))
    resume, job = _timed(lambda: folded(read(path).entries), ROUNDS)
    contents = read(path)
    reckoning = Reckoning(known)
    checked, shown = _timed(
        lambda: certificate(contents.entries, (), contents.last_hash, reckoning), ROUNDS
    )
    printed, html = _timed(lambda: page(shown))
    handed, _ = _timed(lambda: (as_json(contents.entries, (), ""), as_tables(contents.entries)))
    # how much a turn leaves behind, when the job is as long as this
    state, at = State(job), START + timedelta(days=DAYS)
    turn, (state, _) = _timed(lambda: advance(state, Typed(LINES[10], at), known))
    tracemalloc.start()
    gc.collect()
    before = tracemalloc.get_traced_memory()[0]
    for number in range(200):
        at += timedelta(seconds=3)
        state, _ = advance(state, Typed(LINES[10 + number % 4], at), known)
    gc.collect()
    grown = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    return {
        "entries": len(contents.entries),
        "megabytes": round(path.stat().st_size / 1e6, 2),
        "resume s": resume,
        "certificate s": round(checked + printed, 3),
        "page kB": round(len(html) / 1000),
        "json and csv s": handed,
        "turn ms": round(turn * 1000, 1),
        "kB left by 200 turns": round(grown / 1000),
    }


def main(arguments: Sequence[str]) -> int:
    """Measure, print and return 0."""
    parser = argparse.ArgumentParser(prog="scripts/bench record")
    parser.add_argument("--entries", type=int, nargs="+", default=[500, 5000, 50000])
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    known = library()
    talk = list(_talked(known, min(TALKED, max(options.entries))))
    assert known.book  # noqa: S101 - made ready before anything is timed
    with tempfile.TemporaryDirectory() as folder:
        rows = [_row(known, talk[:count], count, Path(folder)) for count in options.entries]
    if options.json:
        print(json.dumps(rows))
        return 0
    print("  ".join(f"{name:>13}" for name in rows[0]))
    for row in rows:
        print("  ".join(f"{figure:>13}" for figure in row.values()))
    return 0
