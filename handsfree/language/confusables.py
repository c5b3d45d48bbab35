"""Words that are heard for each other: `data/confusables.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib import resources


class ToldApart(StrEnum):
    """How a pair is told apart."""

    FIGURES = "figures"
    DECIMAL = "decimal"
    ASKED = "asked"
    PLACE = "place"


@dataclass(frozen=True, slots=True)
class Pair:
    """Two wordings that are heard for each other, and how they are told apart."""

    words: tuple[tuple[str, ...], tuple[str, ...]]
    told_apart: ToldApart


@cache
def pairs() -> tuple[Pair, ...]:
    """Return the pairs of words that are heard for each other."""
    place = resources.files("handsfree") / "data" / "confusables.toml"
    table = tomllib.loads(place.read_text(encoding="utf-8"))
    return tuple(
        Pair(
            (tuple(row["words"][0].split()), tuple(row["words"][1].split())),
            ToldApart(row["told_apart"]),
        )
        for row in table["pair"]
    )


@cache
def _alike() -> frozenset[tuple[str, str]]:
    """Return the pairs of single words that both may be meant where they stand."""
    sides = [
        (pair.words[0][0], pair.words[1][0])
        for pair in pairs()
        if pair.told_apart is not ToldApart.PLACE
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
        for mine, other in (pair.words, pair.words[::-1]):
            length = len(mine)
            for start in range(len(tokens) - length + 1):
                if tokens[start : start + length] == mine:
                    yield (*tokens[:start], *other, *tokens[start + length :]), pair.told_apart


__all__ = ["Pair", "ToldApart", "pairs", "swaps", "wants_figures"]
