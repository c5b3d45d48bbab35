"""A day of listening, as fast as it goes: memory after each hour of sound, and processor time.

The sound goes through the path that a microphone's takes, into a conversation in which a step
waits: quiet noise, somebody talking now and then, and our own voice now and then (a recording that
is said to be ours, so that stop words are looked for in it). The clock of the conversation is that
of the sound. It ends after --hours of sound, or --minutes of work, and says how far it came.

    silence   processor seconds for a second of quiet noise
    talk      the same where people talk all the time, with short gaps: other talk, in which much
              is sought and nothing found, is the dearest there is
    our voice the same where we speak ourselves
"""

from __future__ import annotations

import argparse
import itertools
import json
import sys
import time
from collections.abc import Iterator
from contextlib import nullcontext
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from _commands import AT, STANDING
from _room import RATE, Manner, blocks, room, talk_of
from _sound import RECORDINGS, read

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from handsfree.app import Conversation
    from handsfree.edge.ear.listening import Listening
    from handsfree.edge.ear.sources import Block

HOUR = 3600
STRETCH = 60
"""Seconds of sound over which processor time is measured."""
MEGABYTE = 1_000_000
NOW_AND_THEN = Manner(gap=(25.0, 45.0), ratio=(10.0, 30.0))
"""How people talk through the day."""
QUIET = 0.001
"""The level of quiet noise, of full scale (60 dB below it)."""
EVERY = 8
"""One of so many recordings is used: all of them would be most of the memory that is measured."""
OURS_EVERY = 20
"""After so many people spoke, we speak once."""


class Day:
    """A conversation that hears sound, and its clock."""

    def __init__(self, folder: Path, seed: int) -> None:
        from handsfree.app import Conversation  # noqa: PLC0415 - the path is set
        from handsfree.dialogue.events import Typed  # noqa: PLC0415
        from handsfree.edge.ear.ears import open_ears  # noqa: PLC0415
        from handsfree.edge.ear.listening import Listening  # noqa: PLC0415
        from handsfree.edge.keeping import NoRecord  # noqa: PLC0415
        from handsfree.edge.terminal import Terminal  # noqa: PLC0415
        from handsfree.library import library  # noqa: PLC0415

        self._folder, self._seed = folder, seed
        people = read(folder, EVERY)
        self._noises = [one for one in people if one.folder == "noise"]
        self._talk = talk_of(people)
        self._given = 0
        self._ticked = 0
        known, ears = library(), open_ears()
        nowhere = Path("/dev/null").open("w", encoding="utf-8")  # noqa: SIM115 - as long as it runs
        self._conversation: Conversation = Conversation(
            known, NoRecord(), Terminal(nowhere), clock=self.now
        )
        for text in (*STANDING, "start a cut"):
            self._conversation.handle(Typed(text, AT))
        self._listening: Listening = Listening(
            microphone=lambda: nullcontext(()),
            ears=lambda: ears,
            grammar=lambda: self._conversation.grammar,
            sound=known.sound,
            gain=0.0,
            clock=self.now,
            warn=lambda text: print(text, file=sys.stderr),
        )

    def now(self) -> datetime:
        """Return the time by the sound that was given."""
        return AT + timedelta(seconds=self._given / RATE)

    def hear(self, sound: Iterator[Block]) -> int:
        """Hear sound to its end; return how many utterances were heard."""
        from handsfree.dialogue.events import Heard  # noqa: PLC0415

        heard = 0
        for event in self._listening.heard(self._timed(sound)):
            self._conversation.handle(event)
            heard += isinstance(event, Heard)
        return heard

    def _timed(self, sound: Iterator[Block]) -> Iterator[Block]:
        from handsfree.dialogue.events import Tick  # noqa: PLC0415

        for block in sound:
            self._given += len(block.samples)
            yield block
            if self._given // RATE > self._ticked:
                self._ticked = self._given // RATE
                self._conversation.handle(Tick(self.now()))

    def work(self, sound: Iterator[Block]) -> float:
        """Return the processor seconds that a second of this sound takes."""
        before, begun = self._given, time.process_time()
        self.hear(sound)
        return (time.process_time() - begun) * RATE / (self._given - before)

    def quiet(self, seconds: float) -> Iterator[Block]:
        """Yield quiet noise."""
        return self._blocks(self._noise(), seconds)

    def talk(self, seconds: float) -> Iterator[Block]:
        """Yield people who talk all the time."""
        return self._blocks(room(self._talk, self._noises, self._seed, Manner()), seconds)

    def ours(self, seconds: float) -> Iterator[Block]:
        """Yield our own voice."""
        from handsfree.edge.ear.sources import Block  # noqa: PLC0415

        chosen = itertools.islice(itertools.cycle(self._talk), self._seed, None)
        given = 0
        while given < seconds * RATE:
            one = next(chosen)
            clip = (self._folder / one.name,)
            for samples in blocks(iter((one.samples,)), seconds):
                given += len(samples)
                yield Block(samples, own=clip)

    def hour(self, number: int) -> Iterator[Block]:
        """Yield an hour of the day: quiet, people now and then, ourselves more seldom."""
        pieces = room(self._talk, self._noises, self._seed + number, NOW_AND_THEN)
        given = 0
        for count in itertools.count(1):
            for block in self._blocks(iter((next(pieces),)), HOUR):
                given += len(block.samples)
                yield block
            if count % OURS_EVERY == 0:
                yield from self.ours(2)
            if given >= HOUR * RATE:
                return

    def _blocks(self, pieces: Iterator[NDArray[np.float32]], seconds: float) -> Iterator[Block]:
        from handsfree.edge.ear.sources import Block  # noqa: PLC0415

        return (Block(samples) for samples in blocks(pieces, seconds))

    def _noise(self) -> Iterator[NDArray[np.float32]]:
        import numpy as np  # noqa: PLC0415

        for one in itertools.cycle(self._noises):
            loud = max(float(np.sqrt(np.square(one.samples).mean())), 1e-6)
            yield one.samples * np.float32(QUIET / loud)


def main(arguments: list[str]) -> int:
    """Print the table, or JSON."""
    parser = argparse.ArgumentParser(
        prog="scripts/bench soak",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--recordings", type=Path, default=RECORDINGS)
    parser.add_argument("--hours", type=float, default=8.0, help="of sound")
    parser.add_argument("--minutes", type=float, default=10.0, help="of work, at most")
    parser.add_argument("--seed", type=int, default=9)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    if not (options.recordings / "manifest.tsv").is_file():
        print(
            f"skipped: no manifest.tsv in {options.recordings}. Give the folder with --recordings.",
            file=sys.stderr,
        )
        return 0
    rows = list(_measure(Day(options.recordings, options.seed), options.hours, options.minutes))
    if options.json:
        print(json.dumps([{"measure": m, "value": v, "unit": u} for m, v, u in rows]))
        return 0
    from rich.console import Console  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415

    printed = Table("measure", "value", "unit")
    for measure, value, unit in rows:
        printed.add_row(measure, f"{value:.3g}", unit)
    Console().print(printed)
    return 0


def _measure(day: Day, hours: float, minutes: float) -> Iterator[tuple[str, float, str]]:
    import psutil  # noqa: PLC0415

    def memory() -> float:
        return float(process.memory_info().rss) / MEGABYTE

    process, begun = psutil.Process(), time.monotonic()
    day.work(day.talk(STRETCH))  # what is made at the first utterance is no part of listening
    unit = "s of processor a second of sound"
    yield "listening in silence", day.work(day.quiet(STRETCH)), unit
    yield "listening to talk that is not for us", day.work(day.talk(STRETCH)), unit
    yield "listening for stop words in our own voice", day.work(day.ours(STRETCH / 4)), unit
    yield "memory at the start", memory(), "MB"
    done = heard = 0
    working = time.process_time()
    while done < hours and time.monotonic() - begun < 60 * minutes:
        heard += day.hear(day.hour(done))
        done += 1
        yield f"memory after hour {done}", memory(), "MB"
        print(f"hour {done}: {memory():.0f} MB", file=sys.stderr)
    if done:
        spent = time.process_time() - working
        yield "through the day", spent / HOUR / done, unit
        yield "utterances heard", heard / done, "an hour"
