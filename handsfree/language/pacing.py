"""Where a spoken answer makes a pause: before a number, and between the chunks of one."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from typing import NamedTuple

from handsfree.language.expansions import words
from handsfree.language.numbers import number_parser, number_rules, unit_rule
from handsfree.language.tokens import tokenise
from handsfree.quantity import Kind

_JOINT = "and"
_LONGEST_FRACTION = 6
"""Words of the longest fraction with its "and": "and twenty-one thirty-seconds" and room."""
_OF = frozenset(("of", "a", "an"))


class _Pacing(NamedTuple):
    """The marks of quiet, and the words that are spelled for the voice; the pattern finds those."""

    marks: Mapping[str, str]
    spelled: Mapping[str, str]
    pattern: re.Pattern[str]


@cache
def _pacing() -> _Pacing:
    place = resources.files("handsfree") / "data" / "pacing.toml"
    marks = tomllib.loads(place.read_text(encoding="utf-8"))
    spelled = {word.lower(): said for word, said in marks.pop("spelled").items()}
    pattern = re.compile(rf"\b(?:{'|'.join(map(re.escape, spelled))})\b", re.IGNORECASE)
    return _Pacing(marks, spelled, pattern)


@cache
def _part_words() -> frozenset[str]:
    """Return the words that begin or continue a number that we say."""
    rules = number_rules()
    return words(rules["some"], rules) - _OF - {_JOINT}


@cache
def _unit_words() -> frozenset[str]:
    """Return the words of every unit."""
    rules = number_rules()
    found = (words(rules[unit_rule(kind)], rules) for kind in Kind)
    return frozenset().union(*found) - _OF


def paced(sentence: str) -> str:
    """Return a sentence with a mark of quiet before each number, and between the chunks of one.

    "Mark at eleven and one sixteenth inches." is "Mark at, eleven, and one sixteenth inches." It
    stays one text, and so one clip: the voice makes the quiet. A number is one with a unit behind
    it, or one that ends the sentence: "one more time" is none.
    """
    said = sentence.split()
    marked = list(said)
    for start, end in _numbers(said):
        for place in range(max(start, 1), end):
            mark = "before_number" if place == start else "between_chunks"
            due = place == start or _parts_here(said, place, end)
            if due and said[place - 1][-1].isalnum():
                marked[place - 1] = said[place - 1] + _pacing().marks[mark]
    return " ".join(marked)


def spelled(sentence: str) -> str:
    """Return a sentence in which words that speech engines say wrongly are spelled for them."""
    pacing = _pacing()
    return pacing.pattern.sub(lambda word: pacing.spelled[word[0].lower()], sentence)


def _numbers(said: list[str]) -> Iterator[tuple[int, int]]:
    """Yield where each number starts and ends, its unit not counted."""
    place = 0
    while place < len(said):
        end = _end(said, place)
        if end > place and (end == len(said) or _is_unit(said[end])):
            yield place, end
        place = max(end, place + 1)


def _end(said: list[str], start: int) -> int:
    """Return where the words of a number that start here end; `start` where none do."""
    place = start
    while place < len(said):
        joint = place > start and said[place] in (_JOINT, "a")
        if not joint and not _all_in(said[place], _part_words()):
            break
        place += 1
        if re.search(r"[.?!;:]$", said[place - 1]):
            break
    while place > start and said[place - 1] in (_JOINT, "a"):
        place -= 1
    return place


def _parts_here(said: list[str], place: int, end: int) -> bool:
    """Return whether a chunk begins here: after a comma, or at the fraction of a mixed number."""
    if said[place - 1].endswith(","):
        return True
    if said[place] != _JOINT or end - place > _LONGEST_FRACTION:
        return False
    rest = tuple(token for word in said[place + 1 : end] for token in tokenise(word))
    return any(found == len(rest) for found, _ in number_parser().session(rest).rule("fraction", 0))


def _is_unit(word: str) -> bool:
    return word in _OF or _all_in(word, _unit_words())


def _all_in(word: str, known: frozenset[str]) -> bool:
    tokens = tokenise(word)
    return bool(tokens) and all(token in known for token in tokens)


__all__ = ["paced", "spelled"]
