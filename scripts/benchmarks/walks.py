"""Random conversations over all procedures: none may break a promise of the design.

    scripts/bench walks [--walks 5000] [--events 100] [--seed 0] [--json]

In each, people say what the step in hand knows, begin something else, ask, answer wrongly, fall
silent for minutes or most of an hour. After every event: a challenge was passed only on its own
words, a value that must be read was read, nothing went on without the states that it needs, what
was said had been written, and the job is the fold of its record.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from time import perf_counter

from _walking import walk

from handsfree.library import library


def main(arguments: Sequence[str]) -> int:
    """Walk, print what was met, and return 1 where a promise was broken."""
    parser = argparse.ArgumentParser(prog="scripts/bench walks")
    parser.add_argument("--walks", type=int, default=5000)
    parser.add_argument("--events", type=int, default=100)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    known, started = library(), perf_counter()
    closed, met, broken = 0, set[str](), list[str]()
    for number in range(options.walks):
        steps, procedures, found = walk(known, options.seed + number, options.events)
        closed += steps
        met |= procedures
        broken.extend(found)
    result = {
        "conversations": options.walks,
        "events": options.walks * options.events,
        "steps closed": closed,
        "procedures met": len(met),
        "promises broken": len(broken),
        "seconds": round(perf_counter() - started, 1),
    }
    if options.json:
        print(json.dumps(result))
    else:
        for name, figure in result.items():
            print(f"{name:>16}  {figure}")
    for one in broken[:20]:
        print(one, file=sys.stderr)
    return 1 if broken else 0
