"""What is said round a request: courtesy and openings, which change nothing of what is meant."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

from handsfree.language.tokens import tokenise


@cache
def _padding() -> tuple[tuple[tuple[str, ...], ...], tuple[tuple[str, ...], ...]]:
    """Return what may stand before and what after a request, the longest first."""
    place = resources.files("handsfree") / "data" / "padding.toml"
    table = tomllib.loads(place.read_text(encoding="utf-8"))
    before, after = (
        tuple(sorted(map(tokenise, table[name]), key=lambda words: -len(words)))
        for name in ("before", "after")
    )
    return before, after


def unpadded(tokens: tuple[str, ...]) -> tuple[str, ...]:
    """Return the tokens without one piece of padding, or as they are; never nothing at all."""
    before, after = _padding()
    for words in before:
        if tokens[: len(words)] == words and len(tokens) > len(words):
            return tokens[len(words) :]
    for words in after:
        if tokens[-len(words) :] == words and len(tokens) > len(words):
            return tokens[: -len(words)]
    return tokens
