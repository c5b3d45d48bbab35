"""The table in tests/README.md: every rule of conversation has a conversation, and all are listed.

Run as a script, it prints the table.
"""

from __future__ import annotations

import re
import sys
from collections import defaultdict
from pathlib import Path

HERE = Path(__file__).parent
RULES = {
    "4.01": "one action a sentence, the person owns the pace, silence is no consent",
    "4.02": "what done means: actions, checks, readings, challenges; twice is once; batches",
    "4.03": "readings are read back",
    "4.04": "challenges: only the words, no negation, no guess, no skip",
    "4.05": "corrections, what rests on the old number, undo and redo",
    "4.06": "navigation words, settings for each person",
    "4.07": "interruptions: short, long, until tomorrow",
    "4.08": "two procedures, two people, holds and timers",
    "4.09": "stop and danger beat everything",
    "4.10": "not for us: asleep, attentive, waiting; numbers to a mate",
    "4.11": "how it speaks: units, short forms, rate",
    "4.12": "numbers as the trade says them",
    "4.13": "one question, two choices; unfinished questions",
    "4.14": "when a step fails; accepted in a name",
    "4.15": "technician and apprentice",
    "4.16": "why, show me, questions in between",
}
ENOUGH = 150
"""How many conversations there are at least."""


def conversations() -> dict[str, list[str]]:
    """Return the names of the conversations by the rule that they show."""
    found: dict[str, list[str]] = defaultdict(list)
    for file in sorted((HERE / "conversations").glob("rule_*.txt")):
        numbered = re.fullmatch(r"rule_(\d)_(\d\d)_(\w+)", file.stem)
        assert numbered, f"{file.name}: name it rule_4_09_what_it_shows.txt"
        found[f"{numbered[1]}.{numbered[2]}"].append(numbered[3].replace("_", " "))
    return found


def table() -> list[str]:
    """Return the lines of the table."""
    lines = ["| rule | what it says | conversations |", "| --- | --- | --- |"]
    for number, names in sorted(conversations().items()):
        lines.append(f"| {number} | {RULES[number]} | {len(names)}: {', '.join(names)} |")
    return lines


def test_every_rule_has_a_conversation_and_the_table_is_fresh() -> None:
    assert set(conversations()) == set(RULES)
    text, _, _ = (HERE / "README.md").read_text(encoding="utf-8").partition("\n## Section 5\n")
    written = text.splitlines()
    assert [line for line in written if line.startswith("|")] == table()


def test_there_are_enough_conversations() -> None:
    assert len(list((HERE / "conversations").glob("*.txt"))) >= ENOUGH


if __name__ == "__main__":
    sys.stdout.write("\n".join((*table(), "")))
