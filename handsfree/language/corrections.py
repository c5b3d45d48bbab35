"""Corrections of a misheard number: what is new, what it replaces. Recognition only.

The correction replaces the last number of the same kind; where two could be meant the engine
asks. Nothing here knows the state of the conversation.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

from handsfree.language.grammar import (
    Bound,
    Choice,
    Expansion,
    Parse,
    Parser,
    Rule,
    bind,
    parse_rules,
)
from handsfree.language.numbers import (
    SLOT_RULES,
    number_evaluators,
    number_rules,
    number_terminals,
)
from handsfree.language.spoken import LONGEST_NUMBER, Spoken
from handsfree.language.tokens import tokenise

Tokens = tuple[str, ...]
Which = Literal[
    "first", "second", "third", "last", "left", "right", "length", "angle", "height", "radius",
    "size", "pressure", "temperature", "torque", "mass", "start", "end", "time",
]  # fmt: skip
_VALUE_RULES = tuple(rule for rule in SLOT_RULES if rule != "decimal_inch")
_ANY_VALUE = "said_value"


@dataclass(frozen=True, slots=True)
class Correction:
    """A number put right: the tokens of the new one and, where they were said, of the old one.

    `which` names the slot that is meant. Without `new` the last value is only taken back.
    """

    new: Tokens | None
    old: Tokens | None = None
    which: Which | None = None


@dataclass(frozen=True, slots=True)
class Repair:
    """A sentence in which the speaker put a number right: the sentence that was meant.

    `certain` is false where only a pause shows it, and then it must be asked.
    """

    tokens: Tokens
    new: Tokens
    old: Tokens
    certain: bool


@cache
def correction_rules() -> Mapping[str, Expansion]:
    """Return the rules of `data/grammar/corrections.jsgf`, `<new>` and `<old>` left open."""
    place = resources.files("handsfree") / "data" / "grammar" / "corrections.jsgf"
    text = place.read_text(encoding="utf-8")
    return parse_rules(text, "corrections.jsgf")


def correction_of(slot_rule: str) -> Expansion:
    """Return everything that corrects a number of a slot's rule, to be listened for."""
    slots = {"new": slot_rule, "old": slot_rule, "which": "which"}
    rules = correction_rules()
    return Choice((bind(rules["replace"], slots), rules["retract"]))


@cache
def _parser() -> Parser:
    rules = {
        **number_rules(),
        **correction_rules(),
        _ANY_VALUE: Choice(tuple(Rule(rule) for rule in _VALUE_RULES)),
    }
    for name in ("replace", "retract"):
        del rules[name]
    return Parser(rules, number_evaluators(), number_terminals())


@cache
def _any_correction() -> Expansion:
    return correction_of(_ANY_VALUE)


def corrections(tokens: Tokens) -> list[Correction]:
    """Return the corrections that tokens can be, best first; mostly none or one.

    "not fifteen fifty five" can be 55 for 15, or 5 for 1550: the value that is there decides.
    """
    found: list[Correction] = []
    for values in _parser().readings(_any_correction(), tokens):
        parts: dict[str, Any] = dict(part for part in values if isinstance(part, Bound))
        correction = Correction(
            new=_words(parts.get("new")), old=_words(parts.get("old")), which=parts.get("which")
        )
        if correction not in found:
            found.append(correction)
    return found


def _words(value: Any) -> Tokens | None:
    return value.words if isinstance(value, Spoken) else None


# ---------------------------------------------------------------------------- inside a sentence


@cache
def _repairs() -> tuple[tuple[Tokens, ...], re.Pattern[str]]:
    """Return the marker words, the longest first, and the pattern of a pause."""
    place = resources.files("handsfree") / "data" / "repairs.toml"
    table = tomllib.loads(place.read_text(encoding="utf-8"))
    markers = sorted((tuple(text.split()) for text in table["markers"]), key=len, reverse=True)
    return tuple(markers), re.compile("|".join(re.escape(mark) for mark in table["pauses"]))


def repaired(text: str) -> Repair | None:
    """Return the sentence that was meant where the speaker put a number right in it, or None.

    "at twelve inches, no, fourteen" is "at fourteen inches"; a pause alone ("at twenty to half
    inch… twenty two") is no certain sign, and takes back what was begun with the same word.
    """
    tokens = tokenise(text)
    parse = _parser().session(tokens)
    for start, end in _markers(tokens):
        old = _ending_at(parse, start)
        new = _starting_at(parse, end)
        if old is not None and new is not None:
            return _repair(tokens, old, start, (end, new), certain=True)
    return _after_pause(text)


def _markers(tokens: Tokens) -> Iterator[tuple[int, int]]:
    taken = 0
    for start in range(1, len(tokens)):
        for marker in _repairs()[0]:
            end = start + len(marker)
            if start >= taken and tokens[start:end] == marker:
                yield start, end
                taken = end
                break


def _starting_at(parse: Parse, start: int) -> int | None:
    """Return where the longest number from a place ends, or None."""
    return max((end for end, _ in parse.rule(_ANY_VALUE, start)), default=None)


def _ending_at(parse: Parse, end: int) -> int | None:
    """Return where the longest number that ends at a place starts, or None."""
    for start in range(max(0, end - LONGEST_NUMBER), end):
        if any(found == end for found, _ in parse.rule(_ANY_VALUE, start)):
            return start
    return None


def _repair(
    tokens: Tokens, old: int, old_end: int, new: tuple[int, int], *, certain: bool
) -> Repair:
    new_start, new_end = new
    said = tokens[new_start:new_end]
    kept = () if _has_unit(said) else _unit_of(tokens[old:old_end])
    whole = (*tokens[:old], *said, *kept, *tokens[new_end:])
    return Repair(whole, (*said, *kept), tokens[old:old_end], certain)


def _values(tokens: Tokens) -> list[Spoken]:
    found = _parser().readings(Rule(_ANY_VALUE), tokens)
    return [part for values in found for part in values if isinstance(part, Spoken)]


def _has_unit(tokens: Tokens) -> bool:
    found = _values(tokens)
    return bool(found) and all(spoken.unit not in (None, "one") for spoken in found)


def _unit_of(tokens: Tokens) -> Tokens:
    """Return the unit's words at the end of a number: those after the longest bare number."""
    if not _has_unit(tokens):
        return ()
    bare = (end for end, _ in _parser().session(tokens).rule("amount", 0))
    return tokens[max(bare, default=len(tokens)) :]


def _after_pause(text: str) -> Repair | None:
    """Return the repair after the last pause: a number begun again with the same word."""
    pauses = list(_repairs()[1].finditer(text))
    if not pauses:
        return None
    before, after = tokenise(text[: pauses[-1].start()]), tokenise(text[pauses[-1].end() :])
    tokens = (*before, *after)
    new_end = _starting_at(_parser().session(after), 0)
    if new_end is None or not before:
        return None
    again = [place for place, token in enumerate(before) if token == after[0]]
    start = again[-1] if again else _ending_at(_parser().session(before), len(before))
    if start is None:
        return None
    new = (len(before), len(before) + new_end)
    return _repair(tokens, start, len(before), new, certain=False)


__all__ = [
    "Correction",
    "Repair",
    "Which",
    "correction_of",
    "correction_rules",
    "corrections",
    "repaired",
]
