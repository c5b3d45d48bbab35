"""Wordings that are heard for each other: `data/confusions.tsv`."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib import resources

from handsfree.errors import DataError

_FILE = "confusions.tsv"


class ToldApart(StrEnum):
    """How a pair is told apart."""

    FIGURES = "figures"
    DECIMAL = "decimal"
    ASKED = "asked"
    PLACE = "place"


@dataclass(frozen=True, slots=True)
class Pair:
    """Two wordings that are heard for each other, and how they are told apart.

    None where only the ear weighs one against the other.
    """

    words: tuple[tuple[str, ...], tuple[str, ...]]
    told_apart: ToldApart | None


@cache
def pairs() -> tuple[Pair, ...]:
    """Return the pairs of wordings that are heard for each other; raises `DataError`."""
    text = (resources.files("handsfree") / "data" / _FILE).read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    found: list[Pair] = []
    for row in csv.DictReader(lines, delimiter="\t"):
        one, other = tuple((row["one"] or "").split()), tuple((row["other"] or "").split())
        where = f"the row of {row['one']!r}"
        if not one or not other or one == other:
            raise DataError(_FILE, where, "a row needs two different wordings")
        told_apart = row["told_apart"]
        if told_apart not in {"", *map(str, ToldApart)}:
            raise DataError(_FILE, where, f"told_apart is one of {', '.join(ToldApart)}")
        if not row["source"]:
            raise DataError(_FILE, where, "a row says where it is from")
        found.append(Pair((one, other), ToldApart(told_apart) if told_apart else None))
    return tuple(found)


@cache
def _alike() -> frozenset[tuple[str, str]]:
    """Return the pairs of single words that both may be meant where they stand."""
    sides = [
        (pair.words[0][0], pair.words[1][0])
        for pair in pairs()
        if pair.told_apart not in {None, ToldApart.PLACE}
        and len(pair.words[0]) == 1
        and len(pair.words[1]) == 1
    ]
    return frozenset((*sides, *((other, one) for one, other in sides)))


def heard_for_each_other(one: str, other: str) -> bool:
    """Return whether two sentences differ, and only by words that are heard for each other."""
    first, second = one.split(), other.split()
    if len(first) != len(second) or first == second:
        return False
    return all(a == b or (a, b) in _alike() for a, b in zip(first, second, strict=True))


@cache
def _figure_words() -> frozenset[str]:
    return frozenset(
        side[0] for pair in pairs() if pair.told_apart is ToldApart.FIGURES for side in pair.words
    )


_AFTER = frozenset(("hundred", "thousand", "million"))


def wants_figures(tokens: tuple[str, ...]) -> bool:
    """Return whether a number in these words ends, or has a scale after, a teen or a round ten.

    "fifty" and "five hundred and fifteen" do; "fifty four" does not, as nobody says
    "fifteen four".
    """
    return any(
        token in _figure_words() and (following is None or following in _AFTER)
        for token, following in zip(tokens, (*tokens[1:], None), strict=True)
    )


def swaps(tokens: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], ToldApart]]:
    """Yield the tokens with one wording exchanged for what it is heard for, and how to tell."""
    for pair in pairs():
        if pair.told_apart is not None:
            for other in _exchanged(tokens, pair):
                yield other, pair.told_apart


def neighbours(tokens: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Yield what else may have been said where these tokens were heard.

    That is: one wording exchanged for what it is heard for, one word less, or one said twice.
    """
    for pair in pairs():
        yield from _exchanged(tokens, pair)
    for start in range(len(tokens)):
        if len(tokens) > 1:
            yield tokens[:start] + tokens[start + 1 :]
        yield tokens[: start + 1] + tokens[start:]


def _exchanged(tokens: tuple[str, ...], pair: Pair) -> Iterator[tuple[str, ...]]:
    for mine, other in (pair.words, pair.words[::-1]):
        length = len(mine)
        for start in range(len(tokens) - length + 1):
            if tokens[start : start + length] == mine:
                yield (*tokens[:start], *other, *tokens[start + length :])


__all__ = [
    "Pair",
    "ToldApart",
    "heard_for_each_other",
    "neighbours",
    "pairs",
    "swaps",
    "wants_figures",
]
