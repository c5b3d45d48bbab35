"""Tube sizes: which are sold, and the inch size behind a maker's name in millimetres."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from importlib import resources

from handsfree.language.numerals import mixed
from handsfree.language.spoken import Spoken


@dataclass(frozen=True, slots=True)
class Sizes:
    """What `data/tube_sizes.toml` lists: inch sizes, metric sizes, names in mm of inch sizes."""

    inch: frozenset[Fraction]
    millimetre: frozenset[Fraction]
    named: Mapping[Fraction, Fraction]
    over_nominal: Fraction


@cache
def sizes() -> Sizes:
    """Return the tube sizes that are sold."""
    text = (resources.files("handsfree") / "data" / "tube_sizes.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    return Sizes(
        inch=frozenset(mixed(size) for size in table["inch"]),
        millimetre=frozenset(Fraction(size) for size in table["millimetre"]),
        named={
            Fraction(name): mixed(size) for size, names in table["named"].items() for name in names
        },
        over_nominal=Fraction(table["over_nominal"]),
    )


def as_sold(spoken: Spoken) -> Spoken:
    """Return a tube size as its outside diameter, in inches where it is an inch size.

    "Nominal" adds an eighth; 9.52 mm is the maker's name for three eighths. A decimal without a
    unit is looked for in both lists. What is in neither is marked as unsold.
    """
    known = sizes()
    value, unit = spoken.value, spoken.unit
    if spoken.basis == "nominal" and unit == "inch":
        value += known.over_nominal
    if unit in ("inch", None) and value in known.inch:
        return replace(spoken, value=value, unit="inch")
    if unit in ("millimetre", None):
        if value in known.named:
            return replace(spoken, value=known.named[value], unit="inch")
        if value in known.millimetre:
            return replace(spoken, unit="millimetre")
    return replace(spoken, unsold=True)
