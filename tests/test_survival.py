"""A scripted job, killed at 200 random moments: nothing that was confirmed is lost."""

from __future__ import annotations

import io
import os
import random
import signal
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from handsfree.app import Conversation
from handsfree.dialogue.events import Typed
from handsfree.dialogue.folding import folded
from handsfree.edge.journal import Journal, read, verify
from handsfree.edge.terminal import Terminal
from handsfree.library import Library
from handsfree.record.entries import JobOpened, Noted

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
KILLS = 200
LINES = [
    "leave it",
    "start a cut",
    "glasses on",
    "done",
    "yes",
    "done",
    "done",
    "yes",
    "done",
    "no hot work",
    "what's nineteen mil in inches",
    "done",
    "not flammable",
    "done",
    "it spirals",
    "undo",
]


def _child(path: Path, library: Library, pipe: int, seed: int) -> None:
    """Talk into the job until killed; each sentence shown goes to the pipe."""
    chance = random.Random(seed)  # noqa: S311 - a test's dice
    with os.fdopen(pipe, "w", buffering=1) as out:
        screen = Terminal(out)
        journal = Journal(path)
        conversation = Conversation(library, journal, screen, clock=lambda: AT)
        number = sum(isinstance(entry, Noted) for entry in journal.entries)
        while True:
            conversation.handle(Typed(f"note number {number}", AT))
            number += 1
            for _ in range(chance.randrange(3)):
                conversation.handle(Typed(chance.choice(LINES), AT))


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")
def test_rule_5_3_1_two_hundred_kills_lose_nothing_confirmed(
    tmp_path: Path, known: Library
) -> None:
    path = tmp_path / "job.jsonl"
    with Journal(path) as journal:
        journal.append([JobOpened(at=AT, job="killed")])
    assert known.book
    chance = random.Random(11)  # noqa: S311 - as above
    confirmed = -1
    for kill in range(KILLS):
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reading)
            sys.stderr = io.StringIO()
            try:
                _child(path, known, writing, kill)
            finally:
                os._exit(1)
        os.close(writing)
        with os.fdopen(reading) as said:
            shown = [said.readline() for _ in range(chance.randrange(1, 40))]
            os.kill(child, signal.SIGKILL)
            shown += said.read().splitlines(keepends=True)
        os.waitpid(child, 0)
        # the pipe's last line may be torn; whole lines were confirmed
        for line in shown:
            if line.endswith("\n") and "Noted: number " in line:
                confirmed = max(confirmed, int(line.split()[-1].rstrip(".")))
        contents = read(path)
        assert contents.faults == ()
        notes = [entry.text for entry in contents.entries if isinstance(entry, Noted)]
        numbers = [note for note in notes if note.startswith("number ")]
        assert len(numbers) > confirmed
        assert numbers == [f"number {number}" for number in range(len(numbers))]
    with Journal(path) as journal:
        assert folded(journal.entries).name == "killed"
    assert verify(path) == []
    assert confirmed > KILLS
