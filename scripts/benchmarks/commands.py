"""Sixty commands by four synthetic voices: acted on rightly, asked, let pass, and acted on wrongly.

The voices are synthetic (two of espeak-ng, two of flite), so this shows how everything fits
together; what people are heard like is measured by `scripts/bench hearing`, and what noise does to
both by `scripts/bench noise`.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter

from _commands import OUTCOMES, Judge, Verdict, can_speak, hear, spoken


def _measure() -> list[Verdict]:
    from handsfree.dialogue.vocabulary import vocabulary  # noqa: PLC0415 - the path is set
    from handsfree.edge.ear.ears import open_ears  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    known, ears = library(), open_ears()
    judge = Judge(known)
    ears.listen_for(vocabulary(judge.state, known))
    return [judge.verdict(recording, hear(recording, ears)) for recording in spoken()]


def main(arguments: list[str]) -> int:
    """Print the table, or JSON."""
    parser = argparse.ArgumentParser(prog="scripts/bench commands", description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument(
        "--notes", action="store_true", help="print each that was not right, and why, and sum up"
    )
    options = parser.parse_args(arguments)
    if not can_speak():
        print("skipped: espeak-ng and flite are not both installed", file=sys.stderr)
        return 0
    verdicts = _measure()
    counts, total = Counter(one.outcome for one in verdicts), len(verdicts)
    if options.json:
        print(json.dumps({"total": total, **counts}))
    else:
        for outcome in OUTCOMES:
            print(f"{outcome:9} {counts[outcome]:4d} of {total}  {counts[outcome] / total:6.1%}")
    if options.notes:
        print("\n".join(one.note() for one in verdicts if one.cause))
        causes = Counter(one.cause for one in verdicts if one.cause)
        print("\n".join(f"{count:4d}  {cause}" for cause, count in causes.most_common()))
    return 0
