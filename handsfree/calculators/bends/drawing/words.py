"""The words and the numbers on a drawing."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Any, Literal

from handsfree.quantity import Kind, Number, Reading, fraction_text, number_text, rounded

LengthUnit = Literal["inch", "millimetre"]
STEPS: Mapping[LengthUnit, Fraction] = {"inch": Fraction(1, 16), "millimetre": Fraction(1)}
"""A mark is drawn to the nearest of these, a cut up to the next: as it is told."""
ANGLE_STEP = Fraction(1, 2)
FINEST = Fraction(1, 64)
SIZE_STEPS: Mapping[LengthUnit, Fraction] = {
    "inch": Fraction(1, 1000),
    "millimetre": Fraction(1, 10),
}
"""Diameters, walls and radii that are no tape fraction are written to these."""


@cache
def words() -> Mapping[str, Any]:
    """Return the words of `data/drawing.toml`."""
    text = (resources.files("handsfree") / "data" / "drawing.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def say(key: str, **values: object) -> str:
    """Return the words of this key, filled in."""
    template: str = words()[key]
    return template.format(**values)


@dataclass(frozen=True, slots=True)
class Tape:
    """How lengths are written: in inches and tape fractions, or in millimetres."""

    unit: LengthUnit = "inch"

    def _told(self, inches: Number) -> Number:
        reading = Reading(inches, "inch", Kind.LENGTH)
        return inches if self.unit == "inch" else reading.to(self.unit).value

    def length(self, inches: Number) -> str:
        """Return a length to the nearest step of the tape."""
        return fraction_text(rounded(self._told(inches), STEPS[self.unit]))

    def cut(self, inches: Number) -> str:
        """Return a length up to the next step of the tape."""
        return fraction_text(rounded(self._told(inches), STEPS[self.unit], "up"))

    def size(self, inches: Number) -> str:
        """Return a diameter, a wall or a radius as it is written: a fraction where it is one."""
        told = self._told(inches)
        if self.unit == "inch" and rounded(told, FINEST) == Fraction(told):
            return fraction_text(Fraction(told))
        return number_text(rounded(told, SIZE_STEPS[self.unit]))

    @property
    def step(self) -> str:
        """Return the step of the tape, as written."""
        return fraction_text(STEPS[self.unit])


def angle_text(angle: Number) -> str:
    """Return an angle to the nearest half degree."""
    return number_text(rounded(angle, ANGLE_STEP)) + "°"
