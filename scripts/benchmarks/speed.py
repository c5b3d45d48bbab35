"""How fast it answers: typed, from a cold start, and from the last sample of a spoken request.

Every figure is measured here and now; nothing is asserted.
"""

from __future__ import annotations

import argparse
import json
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

Row = tuple[str, float, str]

TYPED = [
    "where do I mark a ninety at twelve three eighths",
    "what's nineteen mil in inches",
    "thirty-eight bar in pounds",
    "seven and five sixteenths plus three and seven eighths",
    "torque on a half inch flare",
    "what's five hundred microns in pascals",
    "start a flare",
    "where am I",
    "the flibber is in the gibbet",
]
SPOKEN = [
    "what's nineteen mil in inches",
    "thirty eight bar in pounds",
    "half of eleven and three quarters",
    "what's five hundred microns in pascals",
]
ROUNDS = 20
AUDIBLE = 0.01


def _typed() -> list[Row]:
    from handsfree.dialogue.engine import advance  # noqa: PLC0415 - timed apart
    from handsfree.dialogue.events import Typed  # noqa: PLC0415
    from handsfree.dialogue.state import State  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    known, at = library(), datetime.now(UTC)
    for text in TYPED:
        advance(State(), Typed(text, at), known)
    times = []
    for _ in range(ROUNDS):
        for text in TYPED:
            begun = time.perf_counter()
            advance(State(), Typed(text, at), known)
            times.append((time.perf_counter() - begun) * 1000)
    return [
        ("typed request to text answer, median", statistics.median(times), "ms"),
        ("typed request to text answer, 99 %", sorted(times)[int(len(times) * 0.99)], "ms"),
    ]


def _process(*arguments: str) -> float:
    begun = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "handsfree", *arguments], check=False, capture_output=True
    )
    return time.perf_counter() - begun


def _cold() -> list[Row]:
    def median(*arguments: str) -> float:
        return statistics.median(_process(*arguments) for _ in range(7))

    return [
        ("handsfree --help, median", median("--help"), "s"),
        ("handsfree ask, cold start, median", median("ask", "what is 19 mil in inches"), "s"),
    ]


def _spoken() -> list[Row]:
    """Play recordings at real-time pace, and time the answer's first sample on disk."""
    speaks = shutil.which("espeak-ng")
    if speaks is None:
        print("skipped: spoken requests need espeak-ng", file=sys.stderr)
        return []
    from handsfree.app import Conversation, listen_to_recording  # noqa: PLC0415
    from handsfree.edge.ear.ears import open_ears  # noqa: PLC0415
    from handsfree.edge.ear.sources import FileSource  # noqa: PLC0415
    from handsfree.edge.keeping import NoRecord  # noqa: PLC0415
    from handsfree.edge.terminal import Terminal  # noqa: PLC0415
    from handsfree.edge.voice.speakers import into_files  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    waits: list[float] = []
    missed = 0
    ears = open_ears()
    with tempfile.TemporaryDirectory() as folder, Path("/dev/null").open("w") as nowhere:
        for number, text in enumerate(SPOKEN * 3):
            recording = Path(folder) / f"{number}.wav"
            subprocess.run([speaks, "-v", "en-us", "-w", str(recording), text], check=True)
            seconds = _add_silence(recording)
            voice = Path(folder) / f"voice{number}"
            conversation = Conversation(library(), NoRecord(), Terminal(nowhere))
            conversation.speaker = into_files(voice)
            ears.listen_for(conversation.grammar)
            source = FileSource(recording, real_time=True)
            begun = time.time()
            for _ in listen_to_recording(conversation, source, ears):
                pass
            conversation.speaker.close()
            index = voice / "index.jsonl"
            if not index.exists():
                missed += 1
                continue
            first = json.loads(index.read_text().splitlines()[0])["ready"]
            waits.append(first - (begun + seconds))
    rows: list[Row] = [("spoken requests not answered", float(missed), f"of {len(SPOKEN) * 3}")]
    if waits:
        rows.append(
            ("last sample said to first sample of answer, median", statistics.median(waits), "s")
        )
        rows.append(("last sample said to first sample of answer, worst", max(waits), "s"))
    return rows


def _add_silence(recording: Path) -> float:
    """Trim the end of a recording, add two seconds of quiet, and return when speech ends."""
    import numpy as np  # noqa: PLC0415
    import soundfile  # noqa: PLC0415

    samples, rate = soundfile.read(recording, dtype="float32")
    loud = np.flatnonzero(np.abs(samples) > AUDIBLE)
    end = int(loud[-1]) + 1
    soundfile.write(recording, np.concatenate([samples[:end], np.zeros(2 * rate, "float32")]), rate)
    return float(end / rate)


def main(arguments: list[str]) -> int:
    """Print the table, or JSON."""
    parser = argparse.ArgumentParser(prog="scripts/bench speed", description=__doc__)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    import _parsing  # noqa: PLC0415 - beside this file

    parts: list[Callable[[], list[Row]]] = [_typed, _parsing.run, _cold, _spoken]
    rows = [row for part in parts for row in part()]
    if options.json:
        print(json.dumps([{"measure": n, "value": v, "unit": u} for n, v, u in rows]))
        return 0
    from rich.console import Console  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415

    table = Table("measure", "value", "unit")
    for name, value, unit in rows:
        table.add_row(name, f"{value:.3g}", unit)
    Console().print(table)
    return 0
