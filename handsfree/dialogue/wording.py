"""Sentences: templates from the data, filled with readings, as written and as spoken."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from handsfree.language.speaking import say_band, say_reading
from handsfree.quantity import (
    Reading,
    band_text,
    feet_text,
    number_text,
    pounds_text,
    units,
    written,
)


class Band(NamedTuple):
    """From one reading to another of the same kind."""

    low: Reading
    high: Reading


Filling = Band | Reading | tuple[Reading, ...] | str | bool

_PLACE = re.compile(r"\{(?P<name>[a-z_]+)(?::(?P<form>[a-z]+))?\}")
_COMPOSITES: Mapping[str | None, Callable[[Reading], str]] = {
    "feet": feet_text,
    "pounds": pounds_text,
}
_END = re.compile(r"(?<=[.?!])\s+")


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence: as it is written, and as it is spoken."""

    text: str
    speech: str


def _written(value: Filling, form: str | None) -> str:
    if isinstance(value, Band):
        return band_text(value.low, value.high)
    if isinstance(value, tuple):
        return ", ".join(_written(one, form) for one in value)
    if isinstance(value, Reading):
        if form == "decimal":
            return f"{number_text(value.value)} {units()[value.unit].symbol}".strip()
        if form in _COMPOSITES:
            return _COMPOSITES[form](value)
        return written(value)
    return str(value)


def _spoken(value: Filling, form: str | None) -> str:
    if isinstance(value, Band):
        return say_band(value.low, value.high)
    if isinstance(value, tuple):
        return ", ".join(_spoken(one, form) for one in value)
    if isinstance(value, Reading):
        if form == "decimal":
            return say_reading(Reading(float(value.value), value.unit, value.kind))
        if form == "feet":
            return say_reading(value, "feet")
        if form == "pounds":
            return say_reading(value, "pounds")
        return say_reading(value)
    return str(value)


def as_written(value: Filling) -> str:
    """Return a value as written in a sentence."""
    return _written(value, None)


def render(template: str, values: Mapping[str, Filling]) -> tuple[Sentence, ...]:
    """Return the sentences of a template with its places filled; a name without value stays out."""
    found: list[Sentence] = []
    for part in _END.split(template.strip()):
        forms = []
        for fill in (_written, _spoken):
            text = _PLACE.sub(
                lambda place, fill=fill: fill(values.get(place["name"], ""), place["form"]),
                part,
            )
            forms.append(_tidy(text))
        if forms[0]:
            found.append(Sentence(forms[0], forms[1]))
    return tuple(found)


def _tidy(text: str) -> str:
    text = " ".join(text.split())
    return text[:1].upper() + text[1:]


def plain(text: str) -> tuple[Sentence, ...]:
    """Return text that needs no filling as sentences."""
    return tuple(Sentence(part, part) for part in _END.split(text.strip()) if part)


def difference(first: Mapping[str, Filling], second: Mapping[str, Filling]) -> tuple[str, str]:
    """Return how two readings of one request differ, each in a few words."""
    names = [name for name in {**first, **second} if first.get(name) != second.get(name)]

    def side(slots: Mapping[str, Filling]) -> str:
        said = [
            f"{name.replace('_', ' ')} {_written(slots[name], None)}"
            for name in names
            if name in slots
        ]
        return ", ".join(said)

    return side(first), side(second)
