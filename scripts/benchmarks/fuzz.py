"""Feeds every parser of bytes from outside with damaged input: no crash, no hang."""

from __future__ import annotations

import argparse
import json
import os
import secrets
import sys
import tempfile
import time

from _fuzzing import fuzz, targets

CASES = 100_000


def main(arguments: list[str]) -> int:
    """Print how many cases each parser took, and return 1 where one of them failed."""
    parser = argparse.ArgumentParser(prog="scripts/bench fuzz", description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--cases", type=int, default=CASES, help="of all parsers together")
    parser.add_argument("--seed", type=int, default=None, help="to see a failure again")
    options = parser.parse_args(arguments)
    chance = secrets.randbelow(2**32) if options.seed is None else options.seed
    failed = False
    print(f"seed {chance}", file=sys.stderr)
    with tempfile.TemporaryDirectory() as jobs, targets() as found:
        os.environ["HANDSFREE_JOBS"] = jobs
        for target in found:
            began, problem, taken = time.monotonic(), "", 0
            try:
                taken = fuzz(target, round(options.cases * target.share), chance)
            except Exception as error:  # noqa: BLE001 - whatever a parser raises is what is sought
                problem, failed = f"{type(error).__name__}: {error}", True
                notes = " ".join(getattr(error, "__notes__", ()))
                print(f"{target.name}: {problem}\n{notes}", file=sys.stderr)
            row = {
                "parser": target.name,
                "cases": taken,
                "seconds": round(time.monotonic() - began, 1),
                "fault": problem,
            }
            if options.json:
                print(json.dumps(row), flush=True)
            else:
                print(f"{target.name:14} {taken:7d} cases {row['seconds']:7.1f} s", flush=True)
    return 1 if failed else 0
