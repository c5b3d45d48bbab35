"""Sentences: templates from the data, filled with readings, as written and as spoken."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from handsfree.language.readback import read_back, say_choices, say_each, written_back
from handsfree.language.speaking import say_band, say_reading
from handsfree.language.units import Ambiguous
from handsfree.quantity import (
    Reading,
    band_text,
    feet_text,
    is_metric,
    number_text,
    pounds_text,
    units,
    written,
)


class Band(NamedTuple):
    """From one reading to another of the same kind."""

    low: Reading
    high: Reading


@dataclass(frozen=True, slots=True)
class ReadBack:
    """A reading told in another form than it was said in, by the tokens that said it."""

    reading: Reading
    heard: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Given:
    """Values that were understood, said back: teens and round tens also figure by figure."""

    values: tuple[Reading | str, ...]


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence or a part of one: as it is written, and as it is spoken."""

    text: str
    speech: str


Filling = (
    Band | ReadBack | Given | Ambiguous | Sentence | Reading | tuple[Reading, ...] | str | bool
)

_PLACE = re.compile(r"\{(?P<name>[a-z][a-z0-9_]*)(?::(?P<form>[a-z]+))?\}")
_END = re.compile(r"(?<=[.?!])\s+")


def _written(value: Filling, form: str | None) -> str:
    match value:
        case Band(low, high):
            return band_text(low, high)
        case ReadBack(reading, heard):
            return written_back(reading, heard)
        case Given(values):
            return ", ".join(_written(one, form) for one in values)
        case Ambiguous((first, second)):
            return f"{written(first)}, or {written(second)}"
        case Sentence(text):
            return text
        case Reading():
            return _reading_written(value, form)
    if isinstance(value, tuple):
        return ", ".join(_written(one, form) for one in value)
    return str(value)


def _reading_written(reading: Reading, form: str | None) -> str:
    if form == "feet" and not is_metric(reading.unit):
        return feet_text(reading)
    if form == "decimal":
        return f"{number_text(reading.value)} {units()[reading.unit].symbol}".strip()
    if form == "pounds":
        return pounds_text(reading)
    return written(reading)


def _spoken(value: Filling, form: str | None) -> str:
    match value:
        case Band(low, high):
            return say_band(low, high)
        case ReadBack(reading, heard):
            return read_back(reading, heard)
        case Given(values):
            return ", ".join(
                say_reading(one, digits=True) if isinstance(one, Reading) else one for one in values
            )
        case Ambiguous():
            return say_choices(value)
        case Sentence(_, speech):
            return speech
        case Reading():
            return _reading_spoken(value, form)
    if isinstance(value, tuple):
        return ", ".join(_spoken(one, form) for one in value)
    return str(value)


def _reading_spoken(reading: Reading, form: str | None) -> str:
    if form == "feet" and not is_metric(reading.unit):
        return say_reading(reading, "feet")
    if form == "decimal":
        return say_reading(Reading(float(reading.value), reading.unit, reading.kind))
    if form == "pounds":
        return say_reading(reading, "pounds")
    return say_reading(reading)


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


def written_out(sentences: tuple[Sentence, ...]) -> str:
    """Return sentences as one written text."""
    return " ".join(one.text for one in sentences)


def as_it_stands(text: str) -> Sentence:
    """Return text that is spoken as it is written."""
    return Sentence(text, text)


def plain(text: str) -> tuple[Sentence, ...]:
    """Return text that needs no filling as sentences."""
    return tuple(as_it_stands(part) for part in _END.split(text.strip()) if part)


def choices_told(ambiguous: Ambiguous) -> tuple[Sentence, Sentence]:
    """Return the two readings that are asked between, each as written and as spoken."""
    first, second = ambiguous.choices
    speech = say_each(ambiguous)
    return Sentence(written(first), speech[0]), Sentence(written(second), speech[1])


def named(name: str, value: Filling) -> Sentence:
    """Return a value with the name of what it is: `distance 12 in`."""
    shown = name.replace("_", " ")
    return Sentence(f"{shown} {_written(value, None)}", f"{shown} {_spoken(value, None)}")


def difference(
    first: Mapping[str, Filling], second: Mapping[str, Filling]
) -> tuple[Sentence, Sentence]:
    """Return how two readings of one request differ, each in a few words."""
    names = [name for name in {**first, **second} if first.get(name) != second.get(name)]

    def side(slots: Mapping[str, Filling]) -> Sentence:
        said = [named(name, slots[name]) for name in names if name in slots]
        return Sentence(", ".join(one.text for one in said), ", ".join(one.speech for one in said))

    return side(first), side(second)
