"""An hour of other people's talk and noise while a step waits: what is acted on.

Once while a step waits for "done", once while one waits for a challenge to be answered. The talk
is the half of the recordings on which no limit may be chosen: names spelled, single words, and
numbers that nobody asked for; at many gains, gaps and levels of noise, always the same for one
seed. It goes through the real end-of-speech and ear as fast as that goes. After each utterance the
step waits as before.

    acted on      something is written: a step closed, a value taken, a stop, a question answered
    answered      something is only said, such as a help or a number again
    asked about   one of two sentences is asked for, or the challenge once more
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from _commands import AT
from _room import LATER, RATE, Manner, at_a_step, blocks, room, talk_of
from _sound import RECORDINGS, REPORTED, half_of, read

if TYPE_CHECKING:
    from handsfree.dialogue.events import Heard
    from handsfree.dialogue.state import State
    from handsfree.language.grammar import Grammar
    from handsfree.library import Library

KINDS = {"done": "a step waits for done", "stated": "a challenge waits"}


@dataclass
class Waiting:
    """One state in which a step waits, and what came of the talk."""

    told: str
    state: State
    grammar: Grammar
    came: Counter[str] = field(default_factory=Counter)
    closed: int = 0
    work: float = 0.0
    notes: list[str] = field(default_factory=list)

    def take(self, heard: Heard, known: Library) -> None:
        """Count what comes of an utterance."""
        from handsfree.dialogue.effects import Say, Write  # noqa: PLC0415 - the path is set
        from handsfree.dialogue.engine import advance  # noqa: PLC0415
        from handsfree.dialogue.state import HEARD  # noqa: PLC0415
        from handsfree.record.entries import StepClosed  # noqa: PLC0415

        after, effects = advance(self.state, heard, known)
        written = [effect.entry for effect in effects if isinstance(effect, Write)]
        question = after.job.question
        asked = question is not None and question.what == HEARD
        if not effects:
            came = "let pass"
        elif asked or (not written and after.moment.heard == ""):
            came = "asked about"
        else:
            came = "acted on" if written else "answered"
        self.came[came] += 1
        self.closed += any(isinstance(entry, StepClosed) for entry in written)
        if effects:
            best = heard.alternatives[0]
            said = " ".join(effect.text for effect in effects if isinstance(effect, Say))
            self.notes.append(f"{came}: {best.text} (fit {best.fit:.2f}) -> {said}")


def main(arguments: list[str]) -> int:
    """Print the table, or JSON."""
    parser = argparse.ArgumentParser(
        prog="scripts/bench waiting",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--recordings", type=Path, default=RECORDINGS)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=9)
    parser.add_argument("--notes", action="store_true", help="print each that was not let pass")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    if not (options.recordings / "manifest.tsv").is_file():
        print(
            f"skipped: no manifest.tsv in {options.recordings}. Give the folder with --recordings.",
            file=sys.stderr,
        )
        return 0
    found, utterances = _measure(options.recordings, 60 * options.minutes, options.seed)
    rows = []
    for one in found:
        rows.append((f"{one.told}: utterances", utterances, "heard"))
        rows.extend(
            (f"{one.told}: {came}", one.came[came] * 60 / options.minutes, "an hour")
            for came in ("acted on", "answered", "asked about")
        )
        rows.append((f"{one.told}: step closed", one.closed * 60 / options.minutes, "an hour"))
        rows.append(
            (
                f"{one.told}: work",
                one.work / 60 / options.minutes,
                "s of processor a second of sound",
            )
        )
    if options.json:
        print(json.dumps([{"measure": m, "value": v, "unit": u} for m, v, u in rows]))
        return 0
    from rich.console import Console  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415

    printed = Table(f"{options.minutes:g} minutes, seed {options.seed}", "value", "unit")
    for measure, value, unit in rows:
        printed.add_row(measure, f"{value:.3g}", unit)
    Console().print(printed)
    if options.notes:
        for one in found:
            print("\n".join(f"{one.told}: {note}" for note in one.notes))
    return 0


def _measure(folder: Path, seconds: float, seed: int) -> tuple[list[Waiting], int]:
    from handsfree.dialogue.vocabulary import vocabulary  # noqa: PLC0415
    from handsfree.edge.ear.ears import open_ears  # noqa: PLC0415
    from handsfree.edge.ear.endpoint import utterances  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    known, ears = library(), open_ears()
    people = [one for one in read(folder) if half_of(one.name) == REPORTED]
    noises = [one for one in people if one.folder == "noise"]
    found = []
    for kind, told in KINDS.items():
        state, _ = at_a_step(kind, known)
        found.append(Waiting(told, state, vocabulary(state, known)))
    sound = blocks(room(talk_of(people), noises, seed, Manner()), seconds)
    count = 0
    for count, samples in enumerate(utterances(sound), start=1):
        for one in found:
            begun = time.process_time()
            ears.listen_for(one.grammar)
            heard = ears.hear(samples, AT + 2 * LATER)
            one.work += time.process_time() - begun
            one.take(heard, known)
        if count % 100 == 0:
            print(f"{count} utterances, the last of {len(samples) / RATE:.1f} s", file=sys.stderr)
    return found, count
