"""Every file of tests/conversations is played and must go as it says.

After a `>` line: each `<` line must be said, in that order (`…` stands for anything);
`! key=value` must hold for its outcome: intent, outcome, at, or an answer as rounded (spaces
written as `_`). A file whose name ends in `_restart` is also played through a record that is read
back after every line.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from handsfree.dialogue.effects import Write
from handsfree.dialogue.folding import fold, folded
from handsfree.dialogue.state import State
from handsfree.dialogue.telling import Told
from handsfree.edge.replay import Line, Player, read_script
from handsfree.library import Library
from handsfree.record.entries import entry_from, entry_to

FOLDER = Path(__file__).parent / "conversations"
FILES = sorted(FOLDER.glob("*.txt"))


def _said(line: Line, told: Told | None, sentences: list[str]) -> None:
    pattern = ".*".join(re.escape(part.strip()) for part in line.text.split("…"))
    for position, sentence in enumerate(sentences):
        if re.fullmatch(pattern, sentence):
            del sentences[: position + 1]
            return
    pytest.fail(f"line {line.number}: not said: {line.text!r}; said: {told and told.say}")


def _holds(line: Line, told: Told) -> None:
    answers = {answer["name"]: answer["rounded"] for answer in told.answers}
    facts = {"intent": told.what, "outcome": told.outcome, "at": told.at, **answers}
    for pair in line.text.split():
        name, _, value = pair.partition("=")
        assert str(facts.get(name)).replace(" ", "_") == value, (
            f"line {line.number}: {name} is {facts.get(name)!r}; {told.say}"
        )


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_conversation(file: Path, known: Library) -> None:
    player = Player(known)
    told: Told | None = None
    sentences: list[str] = []
    for line in read_script(file.read_text(encoding="utf-8")):
        match line.mark:
            case "@":
                effects = player.set(line)
                sentences = [e.text for e in effects if hasattr(e, "text")]
            case ">":
                told, _ = player.hear(line.text)
                sentences = list(told.say)
            case "<":
                _said(line, told, sentences)
            case _:
                assert told is not None
                _holds(line, told)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_state_is_the_fold_of_the_record(file: Path, known: Library) -> None:
    player = Player(known)
    entries = []
    for line in read_script(file.read_text(encoding="utf-8")):
        if line.mark == ">":
            if not entries:
                start = player.state.job
            _, effects = player.hear(line.text)
            entries.extend(e.entry for e in effects if isinstance(e, Write))
        elif line.mark == "@" and not line.text.startswith("clock"):
            if entries:
                pytest.skip("this file sets facts between its lines")
            player.set(line)
        elif line.mark == "@":
            entries.extend(e.entry for e in player.set(line) if isinstance(e, Write))
    if not entries:
        return
    job = start
    for entry in entries:
        job = fold(job, entry_from(entry_to(entry)))
    assert job == player.state.job


def test_there_are_conversations() -> None:
    assert len(FILES) >= 8
    assert State(folded([])) == State()
