"""Killed and full: nothing acknowledged may be lost, nothing half-written believed.

    scripts/bench survival [--kills 1000] [--full 100] [--seed 0] [--json]

Kills are SIGKILL before, in and after write, fsync, ftruncate and rename. Full disks are a tmpfs of
256 KiB where this machine lets one be mounted, else a layer that takes only so many bytes.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from time import perf_counter

from _filling import filled
from _killing import killed


def main(arguments: Sequence[str]) -> int:
    """Kill, fill, print what it came to, and return 1 where anything was lost."""
    parser = argparse.ArgumentParser(prog="scripts/bench survival")
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--full", type=int, default=100)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        started = perf_counter()
        toll = killed(Path(folder), options.kills, options.seed)
        between = perf_counter()
        full = filled(Path(folder), options.full, options.seed)
        ended = perf_counter()
    wrong = [*toll.wrong, *full.wrong]
    result = {
        "kills": sum(toll.kills.values()),
        **{f"  {aim}": count for aim, count in sorted(toll.kills.items())},
        "acknowledged": toll.acknowledged,
        "torn last lines": toll.torn,
        "seconds of killing": round(between - started, 1),
        "full disks": full.times,
        "  by means of": full.means,
        "  held at once, most": full.most,
        "  written after": full.written,
        "seconds of filling": round(ended - between, 1),
        "wrong": len(wrong),
    }
    if options.json:
        print(json.dumps(result))
    else:
        for name, figure in result.items():
            print(f"{name:<22}  {figure}")
    for one in wrong[:20]:
        print(one, file=sys.stderr)
    return 1 if wrong else 0
