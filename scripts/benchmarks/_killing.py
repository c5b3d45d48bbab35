"""A writer that is killed at a chosen call into the system: before, in the middle of, or after it.

Each child talks into a job and copies it to a second folder, and sends itself SIGKILL at the n-th
of its calls to write, fsync, ftruncate or rename. What was acknowledged goes to the parent through
a pipe before the next call, so that the parent knows what must be there.
"""

from __future__ import annotations

import os
import random
import signal
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from handsfree.edge.backup import copy_jobs
from handsfree.edge.journal import Journal, read
from handsfree.record.entries import Noted

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
CALLS = ("write", "fsync", "ftruncate", "rename")
MOMENTS = ("before", "during", "after")
ALARM = 0.0003
"""Seconds until the alarm; an fsync takes a few thousandths."""
LONG = 120
"""Entries after which a new record is begun, so that reading stays quick."""


@dataclass
class Toll:
    """What the kills came to: how many at which call and moment, and what was wrong after one."""

    kills: dict[str, int] = field(default_factory=dict)
    acknowledged: int = 0
    torn: int = 0
    wrong: list[str] = field(default_factory=list)


def _arm(call: str, moment: str, countdown: int) -> None:
    """Make the n-th such call of this process its last one."""
    left = countdown

    def armed(real: Callable[..., Any], halved: Callable[..., Any]) -> Callable[..., Any]:
        def run(*arguments: Any, **named: Any) -> Any:
            nonlocal left
            left -= 1
            if left:
                return real(*arguments, **named)
            if moment == "during":
                halved(*arguments, **named)
            elif moment == "after":
                real(*arguments, **named)
            os.kill(os.getpid(), signal.SIGKILL)
            raise AssertionError

        return run

    if call == "write":
        os.write = armed(os.write, _half(os.write))
    elif call == "fsync":
        os.fsync = armed(os.fsync, _cut_short(os.fsync))
    elif call == "ftruncate":
        os.ftruncate = armed(os.ftruncate, _cut_short(os.ftruncate))
    else:
        rename = Path.replace
        Path.replace = armed(rename, _cut_short(rename))  # type: ignore[method-assign] # on purpose


def _half(write: Callable[..., int]) -> Callable[..., int]:
    """Return a write that gets through half of what it is given."""
    return lambda handle, data: write(handle, bytes(data)[: len(data) // 2])


def _cut_short(call: Callable[..., Any]) -> Callable[..., Any]:
    """Return a call during which an alarm ends the process, which has no handler for it."""

    def run(*arguments: Any) -> Any:
        signal.setitimer(signal.ITIMER_REAL, ALARM)
        return call(*arguments)

    return run


def _child(path: Path, copies: Path, pipe: int, seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 - dice
    call, moment = chance.choice(CALLS), chance.choice(MOMENTS)
    own_write = os.write
    own_write(pipe, f"aim {call} {moment}\n".encode())
    _arm(call, moment, chance.randrange(1, 12 if call in ("write", "fsync") else 3))
    with Journal(path) as journal:
        number = len(journal.entries)
        while True:
            batch = range(number, number + chance.randrange(1, 4))
            journal.append([Noted(at=AT, text=f"{one} " + "w" * (one % 700)) for one in batch])
            number = batch.stop
            own_write(pipe, f"wrote {number}\n".encode())
            if chance.random() < 0.4:  # noqa: PLR2004 - often enough
                list(copy_jobs(path.parent, copies))
                own_write(pipe, f"copied {number}\n".encode())
            if number > LONG * 2:
                os.kill(os.getpid(), signal.SIGKILL)


def _check(path: Path, least: int, toll: Toll, what: str) -> None:
    """See that a record is whole, in order, and holds what was acknowledged."""
    if not path.exists():
        if least:
            toll.wrong.append(f"{what}: {path.name} is gone")
        return
    contents = read(path)
    toll.torn += bool(contents.torn)
    toll.wrong += [f"{what}: {fault}" for fault in contents.faults]
    if len(contents.entries) < least:
        toll.wrong.append(f"{what}: {least - len(contents.entries)} acknowledged entries are lost")
    for number, entry in enumerate(contents.entries):
        if not isinstance(entry, Noted) or entry.text != f"{number} " + "w" * (number % 700):
            toll.wrong.append(f"{what}: entry {number} is not what was written")
            break


def killed(folder: Path, kills: int, seed: int = 0) -> Toll:
    """Kill writers in a folder, look after each, and return what it came to."""
    toll = Toll()
    record, wrote, copied = 0, 0, 0
    for kill in range(kills):
        path = folder / f"jobs{record}" / "job.jsonl"
        copies = folder / f"copies{record}"
        reading, writing = os.pipe()
        child = os.fork()
        if not child:
            os.close(reading)
            try:
                _child(path, copies, writing, seed * 100_003 + kill)
            finally:
                os._exit(1)
        os.close(writing)
        aim = "none"
        with os.fdopen(reading) as told:
            for line in told:
                word, rest = line.split(maxsplit=1)
                if word == "aim":
                    aim = rest.strip()
                elif word == "wrote":
                    wrote = int(rest)
                else:
                    copied = int(rest)
        _, status = os.waitpid(child, 0)
        if not os.WIFSIGNALED(status):
            toll.wrong.append(f"kill {kill}: the writer ended by itself")
        toll.kills[aim] = toll.kills.get(aim, 0) + 1
        _check(path, wrote, toll, f"kill {kill} ({aim})")
        _check(copies / "job.jsonl", copied, toll, f"kill {kill} ({aim}), the copy")
        if wrote > LONG:
            toll.acknowledged += wrote
            record, wrote, copied = record + 1, 0, 0
    toll.acknowledged += wrote
    return toll
