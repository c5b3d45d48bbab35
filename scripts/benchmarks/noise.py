"""What noise does: commands, talk that is not for us, and digit strings, from quiet to 5 dB.

The commands are those of `scripts/bench commands` by synthetic voices, said when a job is open and
nothing is in hand; talk and digit strings are read by people. Real noise (taps, dishes, machines)
is mixed in. Commands, recordings and noises are parted into two halves by a hash of their names:
what is printed is of the half on which no limit of `data/hearing.toml` may be chosen, unless
--half choosing is given.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from _commands import can_speak
from _evidence import COLUMNS, gather, shares, verdicts
from _sound import CHOOSING, RECORDINGS, REPORTED


def main(arguments: list[str]) -> int:
    """Print the table, or JSON."""
    parser = argparse.ArgumentParser(prog="scripts/bench noise", description=__doc__)
    parser.add_argument("--recordings", type=Path, default=RECORDINGS)
    parser.add_argument("--half", choices=(REPORTED, CHOOSING), default=REPORTED)
    parser.add_argument(
        "--notes", action="store_true", help="print each command not right, and why"
    )
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    if not can_speak() or not (options.recordings / "manifest.tsv").is_file():
        print(
            "skipped: it needs espeak-ng, flite, and recordings with a manifest.tsv. "
            "Give their folder with --recordings.",
            file=sys.stderr,
        )
        return 0
    from handsfree.library import library  # noqa: PLC0415 - the path is set

    evidence = gather(options.recordings, options.half)
    table = shares(evidence, library())
    if options.json:
        print(json.dumps({"half": options.half, "table": table}))
        return 0
    from rich.console import Console  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415

    printed = Table(f"the {options.half} half", *COLUMNS)
    for measure, by_column in table.items():
        printed.add_row(measure, *(told(*by_column[column]) for column in COLUMNS))
    Console().print(printed)
    if options.notes:
        for column, found in verdicts(evidence, library()).items():
            print("\n".join(f"{column}: {one.note()}" for one in found if one.cause))
    return 0


def told(part: int, whole: int) -> str:
    """Return a share in per cent, and what it is of."""
    return f"{part / whole:.1%} ({part} of {whole})" if whole else "none"
