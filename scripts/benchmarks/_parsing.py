"""How long one utterance takes to read: a number in its slot, and a whole sentence.

The numbers are the rows of `tests/published/utterances.tsv`, the sentences those that the
conversations of the tests hear. Each is read once to warm up, and is then timed alone.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterable
from pathlib import Path

from handsfree.language.numbers import readings
from handsfree.language.tokens import tokenise
from handsfree.library import library

Row = tuple[str, float, str]

TESTS = Path(__file__).resolve().parents[2] / "tests"
ROUNDS = 5
"""Each utterance counts once, with the median of its rounds, so that no other process counts."""


def run() -> list[Row]:
    """Return (name, value, unit): the median and the 99th percentile of each, in milliseconds."""
    book = library().book
    return [
        *_told("number in its slot", (_number(*row) for row in _numbers())),
        *_told("sentence, all phrases", (_sentence(book.matches, text) for text in _sentences())),
    ]


def _numbers() -> list[tuple[str, str]]:
    """Return the rule and the words of each utterance of the published file."""
    lines = (TESTS / "published" / "utterances.tsv").read_text(encoding="utf-8").splitlines()
    head, *rows = [line.split("\t") for line in lines if line and not line.startswith("#")]
    rule, words = head.index("rule"), head.index("utterance")
    return [(row[rule], row[words]) for row in rows]


def _sentences() -> list[str]:
    """Return the sentences that the conversations of the tests hear, each once."""
    texts = (file.read_text(encoding="utf-8") for file in (TESTS / "conversations").glob("*.txt"))
    heard = (line[2:] for text in texts for line in text.splitlines() if line.startswith("> "))
    return list(dict.fromkeys(heard))


def _number(rule: str, text: str) -> Callable[[], object]:
    return lambda: readings(tokenise(text), rule)


def _sentence(matches: Callable[[tuple[str, ...]], object], text: str) -> Callable[[], object]:
    return lambda: matches(tokenise(text))


def _told(name: str, parses: Iterable[Callable[[], object]]) -> list[Row]:
    times = sorted(map(_milliseconds, parses))
    return [
        (f"parsing a {name}, {len(times)} utterances, median", statistics.median(times), "ms"),
        (f"parsing a {name}, 99 %", times[int(len(times) * 0.99)], "ms"),
    ]


def _milliseconds(parse: Callable[[], object]) -> float:
    parse()
    times = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        parse()
        times.append((time.perf_counter() - begun) * 1000)
    return statistics.median(times)
