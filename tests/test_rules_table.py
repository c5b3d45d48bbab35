"""The tables in tests/README.md: each rule has a conversation or a test of its name, all listed.

Run as a script, it writes the tables anew.
"""

from __future__ import annotations

import re
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
RECORD_RULES = {
    "5.1": "what must be in it: each in its row, with who and when; what is missing, named",
    "5.2": "its shape: words, read-back, confirmation; corrections; sums; chain; open formats",
    "5.3.1": "flushed to the disk before it is said",
    "5.3.2": "a torn last line is dropped, and everything before it is good",
    "5.3.3": "the state is rebuilt by replay",
    "5.3.4": "holds run on while the device is dead",
    "5.3.5": "a clock that went back makes times uncertain",
    "5.3.6": "battery at 20, 10 and 5 %",
    "5.3.7": "a second copy, at the end of each stage",
    "5.3.8": "no audio is kept",
    "5.3.9": "after a restart a challenge is asked again, and whose lock is on",
    "5.3.10": "the form on paper, dictated in later as a late entry",
}
README = HERE / "README.md"
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


def record_tests() -> dict[str, dict[str, list[str]]]:
    """Return the names of the tests by the rule of section 5 that they show, and by their file."""
    found: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for file in sorted(HERE.rglob("test_*.py")):
        text = file.read_text(encoding="utf-8")
        for name in re.findall(r"^def test_rule_(\w+)\(", text, re.MULTILINE):
            numbered = re.fullmatch(r"(5_\d(?:_\d+)?)_([a-z]\w+)", name)
            assert numbered, f"{file.name}: name it test_rule_5_3_2_what_it_shows, not {name}"
            rule = numbered[1].replace("_", ".")
            found[rule][file.relative_to(HERE).as_posix()].append(numbered[2].replace("_", " "))
    return found


def table() -> list[str]:
    """Return the lines of the table of section 4."""
    lines = ["| rule | what it says | conversations |", "| --- | --- | --- |"]
    for number, names in sorted(conversations().items()):
        lines.append(f"| {number} | {RULES[number]} | {len(names)}: {', '.join(names)} |")
    return lines


def record_table() -> list[str]:
    """Return the lines of the table of section 5, in the order of its rules."""
    lines = ["| rule | what it says | tests |", "| --- | --- | --- |"]
    found = record_tests()
    for number, says in RECORD_RULES.items():
        files = [f"`{file}`: {', '.join(names)}" for file, names in found[number].items()]
        lines.append(f"| {number} | {says} | {'; '.join(files)} |")
    return lines


def written(text: str) -> tuple[list[str], list[str]]:
    """Return the lines of the two tables as they stand in the README."""
    before, _, after = text.partition("\n## Section 5\n")
    record, _, _ = after.partition("\n## ")
    first, second = (
        [line for line in part.splitlines() if line.startswith("|")] for part in (before, record)
    )
    return first, second


def test_every_rule_of_section_4_has_a_conversation_and_every_one_of_section_5_a_test() -> None:
    assert set(conversations()) == set(RULES)
    assert set(record_tests()) == set(RECORD_RULES)


def test_the_tables_are_fresh() -> None:
    assert written(README.read_text(encoding="utf-8")) == (table(), record_table())


def test_there_are_enough_conversations() -> None:
    assert len(list((HERE / "conversations").glob("*.txt"))) >= ENOUGH


if __name__ == "__main__":
    page = README.read_text(encoding="utf-8")
    for old, new in zip(written(page), (table(), record_table()), strict=True):
        page = page.replace("\n".join(old), "\n".join(new))
    README.write_text(page, encoding="utf-8")
