"""Sentences that sound like a sentence: what else she may have said."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from functools import cache
from importlib import resources

from handsfree.errors import DataError

__all__ = ["neighbours"]

_FILE = "confusions.tsv"
Words = tuple[str, ...]


@cache
def _table() -> tuple[tuple[Words, Words], ...]:
    """Return the pairs of the data file, each in both directions."""
    text = (resources.files("handsfree") / "data" / _FILE).read_text(encoding="utf-8")
    pairs: list[tuple[Words, Words]] = []
    for number, row in enumerate(csv.DictReader(text.splitlines(), delimiter="\t"), start=2):
        one, other = tuple((row["one"] or "").split()), tuple((row["other"] or "").split())
        if not one or not other or one == other:
            raise DataError(_FILE, f"line {number}", "a line needs two different wordings")
        pairs += [(one, other), (other, one)]
    return tuple(pairs)


def neighbours(words: Sequence[str]) -> Iterator[Words]:
    """Yield the sentences one confusion away, or with one word less, or one word said twice."""
    said = tuple(words)
    for start in range(len(said)):
        for one, other in _table():
            if said[start : start + len(one)] == one:
                yield said[:start] + other + said[start + len(one) :]
    for start in range(len(said)):
        if len(said) > 1:
            yield said[:start] + said[start + 1 :]
        yield said[: start + 1] + said[start:]
