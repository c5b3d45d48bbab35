"""Slips of recognisers, put right where the sentence shows that it is about tube."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from handsfree.language.expansions import words
from handsfree.language.numbers import number_rules
from handsfree.language.numerals import numeral

_NUMBER, _ALWAYS = "number", "always"


@dataclass(frozen=True, slots=True)
class Slip:
    """What is written, what was said, and which words show that it was."""

    heard: tuple[str, ...]
    meant: tuple[str, ...]
    near: frozenset[str]


@cache
def slips() -> tuple[Slip, ...]:
    """Return the known slips, the longest first."""
    place = resources.files("handsfree") / "data" / "slips.toml"
    table = tomllib.loads(place.read_text(encoding="utf-8"))
    found = [
        Slip(
            tuple(row["heard"].split()),
            tuple(row["meant"].split()),
            frozenset(row.get("near", table["tube"])),
        )
        for row in table["slip"]
    ]
    return tuple(sorted(found, key=lambda slip: -len(slip.heard)))


@cache
def _number_words() -> frozenset[str]:
    """Return the words that are part of a number or a unit, without those of any sentence."""
    rules = number_rules()
    said = (
        words(rules["length"], rules) | words(rules["torque"], rules) | words(rules["mass"], rules)
    )
    return said - {"a", "an", "of", "and", "to", "the"}


def normalised(tokens: tuple[str, ...]) -> tuple[str, ...]:
    """Return the tokens with slips put right where their context shows them, else unchanged.

    A word put right can be the context of the next ("ate eights"). Put the question to the tokens
    as heard first: a slip is a second try.
    """
    before: tuple[str, ...] | None = None
    while before != tokens:
        before = tokens
        for slip in slips():
            tokens = _put_right(tokens, slip)
    return tokens


def _put_right(tokens: tuple[str, ...], slip: Slip) -> tuple[str, ...]:
    length = len(slip.heard)
    start = 0
    while start + length <= len(tokens):
        end = start + length
        if tokens[start:end] == slip.heard and _in_context(tokens, start, end, slip):
            tokens = (*tokens[:start], *slip.meant, *tokens[end:])
            start += len(slip.meant)
        else:
            start += 1
    return tokens


def _in_context(tokens: tuple[str, ...], start: int, end: int, slip: Slip) -> bool:
    rest = {*tokens[:start], *tokens[end:]}
    if rest & slip.near or _ALWAYS in slip.near:
        return True
    beside = (*tokens[max(start - 1, 0) : start], *tokens[end : end + 1])
    if tokens[end : end + 2] == ("and", "a"):
        beside = (*beside, *tokens[end + 2 : end + 3])
    return _NUMBER in slip.near and any(_is_number(token) for token in beside)


def _is_number(token: str) -> bool:
    return token in _number_words() or numeral(token) is not None


__all__ = ["Slip", "normalised", "slips"]
