"""How well people are heard: the built-in ear on recordings beside the project.

    words        numbers and commands by about 70 speakers, on a free loop of number and command
                 words: word errors, and sentences wholly right
    one word     ten command words, one second each, on a choice of the ten
    not for us   spelled names and single words, against everything that can be said when nothing
                 is going on: what gets past the not-for-us limit, and what is acted on. Number
                 words said alone are in the set, and a number alone means nothing there
    noise        taps, dishes, machines: what passes the speech detector, and what is acted on
    effort       seconds of work for a second of speech, and to compile what can be said

With --noise the words are heard again with the noise recordings mixed in at 20, 10 and 5 dB (mean
power of the whole recording against mean power of the noise, the noise files joined in the order
of their names and each recording taking the piece after the one before).
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from _sound import LEVELS, RECORDINGS, Recording, free_loop, mixed, read

if TYPE_CHECKING:
    from handsfree.edge.ear.builtin import BuiltInEar
    from handsfree.edge.ear.recogniser import Hearing

ONE_OF = "yes no stop go left right up down on off"
AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


@dataclass
class Table:
    """Measures in order, each with its value and what it is of."""

    rows: list[tuple[str, float, str]] = field(default_factory=list)

    def add(self, measure: str, value: float, unit: str) -> None:
        """Add a row."""
        self.rows.append((measure, value, unit))

    def share(self, measure: str, part: int, whole: int) -> None:
        """Add a row in per cent, with the counts it comes from."""
        if whole:
            self.add(measure, 100 * part / whole, f"%  ({part} of {whole})")


def word_errors(said: Sequence[str], heard: Sequence[str]) -> int:
    """Return the fewest words to change, leave out or put in to get what was said."""
    row = list(range(len(heard) + 1))
    for number, word in enumerate(said, start=1):
        above, row[0] = row[:], number
        for place, other in enumerate(heard, start=1):
            row[place] = min(
                above[place] + 1, row[place - 1] + 1, above[place - 1] + (word != other)
            )
    return row[-1]


def _fits(hearing: Hearing, limit: float) -> bool:
    return bool(hearing.alternatives) and hearing.alternatives[0].fit >= limit


def measure_words(
    table: Table, ear: BuiltInEar, recordings: Iterator[Recording] | Sequence[Recording], name: str
) -> None:
    """Measure word errors on the free loop."""
    from handsfree.library import library  # noqa: PLC0415

    limit = library().hearing.fit
    ear.listen_for(free_loop())
    errors = words = right = kept = count = 0
    seconds = work = 0.0
    for recording in recordings:
        begun = time.perf_counter()
        hearing = ear.hear(recording.samples)
        work += time.perf_counter() - begun
        seconds += hearing.duration
        heard = hearing.alternatives[0].text.split() if hearing.alternatives else []
        wrong = word_errors(recording.words, heard)
        errors, words, count = errors + wrong, words + len(recording.words), count + 1
        right += wrong == 0
        kept += _fits(hearing, limit)
    table.share(f"{name}: word errors", errors, words)
    table.share(f"{name}: sentences wholly right", right, count)
    table.share(f"{name}: pass the not-for-us limit", kept, count)
    if seconds:
        table.add(f"{name}: work", work / seconds, "s for a second of speech")


def measure_one_word(table: Table, ear: BuiltInEar, recordings: Sequence[Recording]) -> None:
    """Measure single command words on a choice of ten."""
    from handsfree.language.grammar import Choice, Grammar, Word  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    limit = library().hearing.fit
    ear.listen_for(Grammar(Choice(tuple(map(Word, ONE_OF.split())))))
    right = kept = kept_right = 0
    for recording in recordings:
        hearing = ear.hear(recording.samples)
        same = bool(hearing.alternatives) and hearing.alternatives[0].text == recording.words[0]
        right += same
        if _fits(hearing, limit):
            kept += 1
            kept_right += same
    table.share("one word: right", right, len(recordings))
    table.share("one word: pass the not-for-us limit", kept, len(recordings))
    table.share("one word: right among those that pass", kept_right, kept)


def measure_others(
    table: Table, ear: BuiltInEar, recordings: Sequence[Recording], name: str
) -> None:
    """Measure what is made of sounds that are not for us, through the speech detector."""
    from handsfree.dialogue.engine import advance  # noqa: PLC0415
    from handsfree.dialogue.state import State  # noqa: PLC0415
    from handsfree.dialogue.vocabulary import vocabulary  # noqa: PLC0415
    from handsfree.edge.ear.endpoint import utterances  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    known, state = library(), State()
    begun = time.perf_counter()
    ear.listen_for(vocabulary(state, known))
    if name == "not for us":
        table.add("compiling all that can be said at rest", time.perf_counter() - begun, "s, once")
    detected = kept = acted = 0
    seconds = work = 0.0
    for recording in recordings:
        for samples in utterances([recording.samples]):
            detected += 1
            begun = time.perf_counter()
            hearing = ear.hear(samples)
            work += time.perf_counter() - begun
            seconds += hearing.duration
            kept += _fits(hearing, known.hearing.fit)
            acted += bool(advance(state, hearing.event(AT), known)[1])
    table.share(f"{name}: utterances detected", detected, len(recordings))
    table.share(f"{name}: pass the not-for-us limit", kept, len(recordings))
    table.share(f"{name}: acted on or asked about", acted, len(recordings))
    if seconds:
        table.add(f"{name}: work, all that can be said", work / seconds, "s for a second of sound")


def main(arguments: list[str]) -> int:
    """Print the table, or JSON."""
    parser = argparse.ArgumentParser(
        prog="scripts/bench hearing",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--recordings", type=Path, default=RECORDINGS)
    parser.add_argument("--noise", action="store_true", help="also with noise mixed in")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    if not (options.recordings / "manifest.tsv").is_file():
        print(
            f"skipped: no manifest.tsv in {options.recordings}. Give the folder with --recordings.",
            file=sys.stderr,
        )
        return 0
    from handsfree.edge.ear.builtin import BuiltInEar  # noqa: PLC0415

    recordings = read(options.recordings)
    of = {
        name: [r for r in recordings if r.folder == name]
        for name in ("numbers-and-commands", "one-word", "not-for-us", "noise")
    }
    ear, table = BuiltInEar(), Table()
    measure_words(table, ear, of["numbers-and-commands"], "words")
    measure_one_word(table, ear, of["one-word"])
    measure_others(table, ear, of["not-for-us"], "not for us")
    measure_others(table, ear, of["noise"], "noise")
    for level in LEVELS if options.noise else ():
        noisy = mixed(of["numbers-and-commands"], of["noise"], level)
        measure_words(table, ear, noisy, f"words at {level} dB")
    if options.json:
        print(json.dumps([{"measure": m, "value": v, "unit": u} for m, v, u in table.rows]))
        return 0
    from rich.console import Console  # noqa: PLC0415
    from rich.table import Table as Printed  # noqa: PLC0415

    printed = Printed("measure", "value", "unit")
    for name, value, unit in table.rows:
        printed.add_row(name, f"{value:.3g}", unit)
    Console().print(printed)
    return 0
