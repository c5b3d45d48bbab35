"""What the ears make of commands, talk and digit strings, in quiet and in noise, on one half.

Hearing takes long and needs no limits; judging is quick and does. So it is heard once, and can be
judged again and again.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from _commands import AT, OUTCOMES, Judge, Verdict, hear, spoken
from _sound import DIGITS, LEVELS, Recording, free_loop, half_of, mixed, read

if TYPE_CHECKING:
    from handsfree.dialogue.events import Heard
    from handsfree.library import Library

QUIET = "quiet"
COLUMNS = (QUIET, *(f"{level} dB" for level in LEVELS))
Heards = list[tuple[Recording, "list[Heard]"]]
Share = tuple[int, int]


@dataclass(frozen=True)
class Evidence:
    """What was heard, by column: of commands, of talk that is not for us, and of digit strings."""

    commands: dict[str, Heards]
    talk: dict[str, Heards]
    digits: dict[str, Share]


def gather(folder: Path, half: str) -> Evidence:
    """Return what is heard of one half of everything; takes minutes, and tells how far it is."""
    from handsfree.dialogue.state import State  # noqa: PLC0415 - the path is set
    from handsfree.dialogue.vocabulary import vocabulary  # noqa: PLC0415
    from handsfree.edge.ear.ears import open_ears  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    known, ears = library(), open_ears()
    people = [one for one in read(folder) if half_of(one.name) == half]
    noises = [one for one in people if one.folder == "noise"]
    found = Evidence({}, {}, {})
    for kind, grammar, recordings in (
        ("commands", vocabulary(Judge(known).state, known), spoken()),
        ("talk", vocabulary(State(), known), [r for r in people if r.folder == "not-for-us"]),
        ("digits", free_loop(), [r for r in people if _is_digits(r)]),
    ):
        ears.listen_for(grammar)
        ours = [one for one in recordings if half_of(one.name) == half]
        for column, taken in _columns(ours, noises):
            print(f"{kind}, {column}: {len(ours)} to hear", file=sys.stderr)
            if kind == "digits":
                right = sum(_right(one, ears.hear(one.samples, AT)) for one in taken)
                found.digits[column] = (right, len(ours))
                continue
            heard = [(_without_sound(one), hear(one, ears)) for one in taken]
            (found.commands if kind == "commands" else found.talk)[column] = heard
    return found


def _columns(
    ours: Sequence[Recording], noises: Sequence[Recording]
) -> Iterator[tuple[str, Iterator[Recording] | Sequence[Recording]]]:
    yield QUIET, ours
    for level in LEVELS:
        yield f"{level} dB", mixed(ours, noises, level)


def _without_sound(one: Recording) -> Recording:
    return Recording(one.folder, one.words, one.samples[:0], one.name)


def _is_digits(one: Recording) -> bool:
    return one.folder == "numbers-and-commands" and set(one.words) <= set(DIGITS.split())


def _right(said: Recording, heard: Heard) -> bool:
    return bool(heard.alternatives) and tuple(heard.alternatives[0].text.split()) == said.words


def verdicts(evidence: Evidence, known: Library) -> dict[str, list[Verdict]]:
    """Return what comes of the commands, by column."""
    judge = Judge(known)
    return {
        column: [judge.verdict(said, heard) for said, heard in commands]
        for column, commands in evidence.commands.items()
    }


def talk_taken(evidence: Evidence, known: Library) -> dict[str, Counter[str]]:
    """Return how often talk that is not for us was `acted` on or `asked` about, by column."""
    from handsfree.dialogue.effects import Write  # noqa: PLC0415
    from handsfree.dialogue.engine import advance  # noqa: PLC0415
    from handsfree.dialogue.state import HEARD, State  # noqa: PLC0415

    found: dict[str, Counter[str]] = {}
    for column, talk in evidence.talk.items():
        found[column] = Counter()
        for _, heard in talk:
            came = set()
            for one in heard:
                after, effects = advance(State(), one, known)
                question = after.job.question
                written = any(isinstance(effect, Write) for effect in effects)
                asked = question is not None and question.what == HEARD
                if effects:
                    came.add("asked" if asked or not written else "acted")
            found[column].update({"acted"} & came or {"asked"} & came)
    return found


def shares(evidence: Evidence, known: Library) -> dict[str, dict[str, Share]]:
    """Return every measure by column, as how many of how many."""
    by_column, talk = verdicts(evidence, known), talk_taken(evidence, known)
    table: dict[str, dict[str, Share]] = {}
    for outcome, told in zip(
        OUTCOMES, ("acted on rightly", "asked about", "let pass", "wrong act"), strict=True
    ):
        table[f"commands: {told}"] = {
            column: (sum(one.outcome == outcome for one in found), len(found))
            for column, found in by_column.items()
        }
    table["commands: right one offered, of those asked about"] = {
        column: (sum(one.offered for one in found), sum(one.outcome == "asked" for one in found))
        for column, found in by_column.items()
    }
    table["commands: wrong number accepted"] = {
        column: (sum(one.wrong_number for one in found), len(found))
        for column, found in by_column.items()
    }
    for came in ("acted", "asked"):
        table[f"people, not for us: {came} {'on' if came == 'acted' else 'about'}"] = {
            column: (counted[came], len(evidence.talk[column])) for column, counted in talk.items()
        }
    table["digit strings by people: right, free loop"] = dict(evidence.digits)
    return table
