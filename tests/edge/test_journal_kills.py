"""The writer is killed at a random moment, 200 times; what it acknowledged must be there."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from handsfree.edge.journal import read
from handsfree.record.entries import Noted

KILLS = 200
LONG = 300
"""Entries after which a new record is begun: a quick disk would make the test a slow one."""
NURSERY = """
import itertools, os, sys
from datetime import UTC, datetime
from pathlib import Path
from handsfree.edge.journal import Journal
from handsfree.record.entries import Noted

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)

def write(path):
    with Journal(path) as journal:
        number = len(journal.entries)
        for turn in itertools.count():
            batch = range(number, number + 1 + turn % 3)
            texts = [f"{count} " + "w" * (count % 900) for count in batch]
            journal.append([Noted(at=AT, text=text) for text in texts])
            number = batch.stop
            os.write(1, b"wrote %d\\n" % number)

for line in sys.stdin:
    child = os.fork()
    if child == 0:
        try:
            write(Path(line.rstrip("\\n")))
        except BaseException as error:
            os.write(1, f"failed {error!r}\\n".encode())
        os._exit(1)
    os.write(1, b"child %d\\n" % child)
    os.waitpid(child, 0)
    os.write(1, b"ended 0\\n")
"""
"""Forks a writer for each record that it reads of, so that 200 of them start in no time."""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")
def test_rule_5_3_1_two_hundred_kills_lose_nothing_acknowledged(tmp_path: Path) -> None:
    path = tmp_path / "0.jsonl"
    chance = random.Random(7)  # noqa: S311 - a test's dice
    acknowledged = total = 0
    with subprocess.Popen(
        [sys.executable, "-c", NURSERY],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as nursery:
        assert nursery.stdin is not None
        assert nursery.stdout is not None
        for kill in range(KILLS):
            nursery.stdin.write(f"{path}\n")
            nursery.stdin.flush()
            child, wait = 0, chance.randrange(1, 6)
            while not child or wait:
                word, number = nursery.stdout.readline().split(maxsplit=1)
                assert word in {"child", "wrote"}, number
                if word == "child":
                    child = int(number)
                else:
                    acknowledged, wait = int(number), max(0, wait - 1)
            time.sleep(chance.random() * 0.006)  # so that it falls anywhere in a write
            os.kill(child, signal.SIGKILL)
            while (line := nursery.stdout.readline()) != "ended 0\n":
                acknowledged = int(line.split()[1])
            contents = read(path)
            assert [str(fault) for fault in contents.faults] == []
            assert len(contents.entries) >= acknowledged
            for number, entry in enumerate(contents.entries):
                assert isinstance(entry, Noted)
                assert entry.text == f"{number} " + "w" * (number % 900)
            if len(contents.entries) > LONG:
                total += acknowledged
                path, acknowledged = tmp_path / f"{kill}.jsonl", 0
        nursery.stdin.close()
    assert total + acknowledged > KILLS
