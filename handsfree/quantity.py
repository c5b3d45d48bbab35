"""Readings: numbers with a unit and a kind, exact where they can be.

The only module that imports pint, and late, because the commands must answer at once. Dimension
alone is not enough: a difference of 10 °F is not a temperature, gauge pressure is not absolute,
and torque is not energy, so each `Reading` carries its `Kind`, and mixing kinds is `WrongKind`.

Values are `fractions.Fraction` where they are exact (anything said or typed) and float where they
were computed through a root or an angle. Conversions of exact values stay exact.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache
from importlib import resources
from math import floor
from typing import TYPE_CHECKING, Any, Literal

from handsfree.errors import WrongKind

if TYPE_CHECKING:
    import pint

Number = Fraction | float


class Kind(StrEnum):
    """What a reading measures. The value of a member is how it is named to the person."""

    LENGTH = "length"
    ANGLE = "angle"
    GAUGE_PRESSURE = "gauge pressure"
    ABSOLUTE_PRESSURE = "absolute pressure"
    VACUUM = "vacuum"
    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature difference"
    TORQUE = "torque"
    MASS = "mass"
    MASS_PER_LENGTH = "mass per length"
    VOLUME = "volume"
    FORCE = "force"
    ENERGY = "energy"
    POWER = "power"
    FLOW = "flow"
    TIME = "time"
    SLOPE = "slope"
    COUNT = "count"
    RATIO = "ratio"


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit as `data/units.toml` declares it; `metric` is itself where metric work keeps it."""

    name: str
    kinds: tuple[Kind, ...]
    pint: str
    difference: str
    system: str
    metric: str
    symbol: str
    say: tuple[str, str]
    also: tuple[str, ...]
    typed: tuple[str, ...]
    loose: tuple[str, ...]
    usual: tuple[Kind, ...]
    parts: str


@cache
def units() -> Mapping[str, Unit]:
    """Return every unit by its name, as `data/units.toml` declares them."""
    text = (resources.files("handsfree") / "data" / "units.toml").read_text(encoding="utf-8")
    table: dict[str, Any] = tomllib.loads(text)
    return {
        name: Unit(
            name=name,
            kinds=tuple(Kind(kind) for kind in row["kinds"]),
            pint=row["pint"],
            difference=row.get("difference", row["pint"]),
            system=row.get("system", ""),
            metric=row.get("metric", name),
            symbol=row["symbol"],
            say=(row["say"][0], row["say"][1]),
            also=tuple(row["also"]),
            typed=tuple(row["typed"]),
            loose=tuple(row.get("loose", ())),
            usual=tuple(Kind(kind) for kind in row.get("usual", ())),
            parts=row.get("parts", "decimals"),
        )
        for name, row in table.items()
    }


def is_metric(unit: str) -> bool:
    """Return whether a unit belongs to metric work and to no other."""
    return units()[unit].system == "metric"


def told_in(asked: str, declared: str) -> str:
    """Return the unit to tell a result in: as declared, or its metric like for metric work."""
    return units()[declared].metric if is_metric(asked) else declared


@cache
def _registry() -> pint.UnitRegistry[Any]:
    """Return the one pint registry, with exact numbers and the unit of vacuum gauges."""
    import pint  # noqa: PLC0415 - a quarter of a second that --help must not pay

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(non_int_type=Fraction)
    registry.define("micron_of_mercury = 0.001 * mmHg")
    registry.define("inch_of_vacuum = -1 * inHg")
    # The Btu of the International Table; pint's own is the rounded one of ISO 31-4.
    registry.define("table_btu = 1055.05585262 * joule")
    registry.define("refrigeration_ton = 12000 * table_btu / hour")
    return registry


@dataclass(frozen=True, slots=True)
class Reading:
    """A value in a unit (a name of `data/units.toml`), and what it measures."""

    value: Number
    unit: str
    kind: Kind

    def __post_init__(self) -> None:
        if self.kind not in units()[self.unit].kinds:
            raise WrongKind(units()[self.unit].kinds[0], self.kind)

    def to(self, unit: str) -> Reading:
        """Return the same reading in another unit; raises `WrongKind` where that has no meaning."""
        if unit == self.unit:
            return self
        target = units()[unit]
        if self.kind not in target.kinds:
            raise WrongKind(self.kind, target.kinds[0])
        return Reading(_convert(self.value, self.unit, unit, self.kind), unit, self.kind)

    def of_kind(self, kind: Kind) -> Reading:
        """Return this reading if it is of that kind; raises `WrongKind` otherwise."""
        if self.kind is not kind:
            raise WrongKind(self.kind, kind)
        return self

    def plus(self, other: Reading) -> Reading:
        """Return the sum in this unit: of one kind, or a temperature and a difference.

        Raises `WrongKind`: two temperatures have no sum.
        """
        wanted = Kind.TEMPERATURE_DIFFERENCE if self.kind is Kind.TEMPERATURE else self.kind
        more = other.of_kind(wanted)._scaled_to(self.unit)  # noqa: SLF001 - the same class
        return Reading(self.value + more, self.unit, self.kind)

    def minus(self, other: Reading) -> Reading:
        """Return the difference in this unit; of two temperatures, a temperature difference.

        Raises `WrongKind` for two kinds that have no difference.
        """
        if self.kind is Kind.TEMPERATURE and other.kind is Kind.TEMPERATURE:
            value = self.value - other.to(self.unit).value
            return Reading(value, self.unit, Kind.TEMPERATURE_DIFFERENCE)
        return self.plus(Reading(-other.value, other.unit, other.kind))

    def _scaled_to(self, unit: str) -> Number:
        return _convert(self.value, self.unit, unit, self.kind)

    def absolute(self, atmosphere: Reading | None = None) -> Reading:
        """Return the absolute pressure; a gauge pressure needs the atmosphere around the gauge.

        A vacuum is absolute already. Raises `WrongKind` for a gauge pressure without the
        atmosphere, and for what is no pressure.
        """
        if self.kind is Kind.ABSOLUTE_PRESSURE:
            return self
        if self.kind is Kind.VACUUM:
            pascals = _convert(self.value, self.unit, "pascal", self.kind)
            return Reading(pascals, "pascal", Kind.ABSOLUTE_PRESSURE)
        around = self._around(atmosphere, Kind.GAUGE_PRESSURE, Kind.ABSOLUTE_PRESSURE)
        unit = self.unit if Kind.ABSOLUTE_PRESSURE in units()[self.unit].kinds else around.unit
        value = _convert(self.value, self.unit, unit, self.kind) + around.to(unit).value
        return Reading(value, unit, Kind.ABSOLUTE_PRESSURE)

    def gauge(self, atmosphere: Reading | None = None) -> Reading:
        """Return the gauge pressure under this atmosphere; raises `WrongKind` without it."""
        if self.kind is Kind.GAUGE_PRESSURE:
            return self
        around = self._around(atmosphere, Kind.ABSOLUTE_PRESSURE, Kind.GAUGE_PRESSURE)
        unit = self.unit if Kind.GAUGE_PRESSURE in units()[self.unit].kinds else around.unit
        value = _convert(self.value, self.unit, unit, self.kind) - around.to(unit).value
        return Reading(value, unit, Kind.GAUGE_PRESSURE)

    def _around(self, atmosphere: Reading | None, due: Kind, wanted: Kind) -> Reading:
        """Return the atmosphere, if this is of the kind due and the atmosphere is known."""
        if self.kind is not due or atmosphere is None:
            raise WrongKind(self.kind, wanted)
        return atmosphere.of_kind(Kind.ABSOLUTE_PRESSURE)

    def inside(self, low: Reading | None, high: Reading | None) -> bool:
        """Return whether this reading lies in a band, its ends included; None is an open end.

        In the units of the band, since inches of vacuum count the other way. Raises `WrongKind`
        for a band of another kind.
        """
        above = low is None or self.to(low.unit).value >= low.value
        return above and (high is None or self.to(high.unit).value <= high.value)


def _pint_name(unit: Unit, kind: Kind) -> str:
    return unit.difference if kind is Kind.TEMPERATURE_DIFFERENCE else unit.pint


def _convert(value: Number, source: str, target: str, kind: Kind) -> Number:
    registry = _registry()
    quantity = registry.Quantity(value, _pint_name(units()[source], kind))
    magnitude: Number = quantity.to(_pint_name(units()[target], kind)).magnitude
    return magnitude


def inches(value: Number) -> Reading:
    """Return a length in inches."""
    return Reading(value, "inch", Kind.LENGTH)


def degrees(value: Number) -> Reading:
    """Return an angle in degrees."""
    return Reading(value, "degree", Kind.ANGLE)


Direction = Literal["nearest", "up", "down"]


def rounded(value: Number, step: Fraction, direction: Direction = "nearest") -> Fraction:
    """Return the multiple of `step` nearest to `value` (half goes up), or the next up or down.

    A float within a millionth of a step of a multiple counts as that multiple, so that the noise
    of floating point never adds a sixteenth to a cut.
    """
    count = Fraction(value) / step
    if isinstance(value, float):
        nearest = floor(count + Fraction(1, 2))
        if abs(count - nearest) < Fraction(1, 1_000_000):
            return nearest * step
    if direction == "nearest":
        return floor(count + Fraction(1, 2)) * step
    return (-floor(-count) if direction == "up" else floor(count)) * step


def fraction_text(value: Fraction) -> str:
    """Return a tape fraction as written: `11-1/16`, `3/8`, `12`, `-1/2`."""
    whole, rest = divmod(abs(value), 1)
    sign = "-" if value < 0 else ""
    if rest == 0:
        return f"{sign}{whole}"
    return f"{sign}{whole}-{rest}" if whole else f"{sign}{rest}"


def number_text(value: Number) -> str:
    """Return a number as written: no needless zeros, at most four decimals."""
    exact = Fraction(value)
    if exact.denominator == 1:
        return str(exact.numerator)
    text = f"{float(exact):.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


_FINEST_TAPE = 64


def written(reading: Reading) -> str:
    """Return the reading as written on paper: `11-1/16 in`, `551 psi`, `90°`."""
    unit = units()[reading.unit]
    exact = Fraction(reading.value)
    tape = unit.parts == "tape" and _FINEST_TAPE % exact.denominator == 0
    number = fraction_text(exact) if tape else number_text(reading.value)
    if not unit.symbol:
        return number
    return number + ("" if unit.symbol.startswith(("°", "%")) else " ") + unit.symbol


INCHES_IN_A_FOOT = 12
OUNCES_IN_A_POUND = 16


def feet_and_inches(reading: Reading) -> tuple[int, Number]:
    """Return a length as whole feet and the inches left over."""
    return _split(reading, "inch", INCHES_IN_A_FOOT)


def pounds_and_ounces(reading: Reading) -> tuple[int, Number]:
    """Return a mass as whole pounds and the ounces left over."""
    return _split(reading, "ounce", OUNCES_IN_A_POUND)


def _split(reading: Reading, unit: str, size: int) -> tuple[int, Number]:
    value = reading.to(unit).value
    whole = floor(value / size)
    return whole, value - whole * size


def feet_text(reading: Reading) -> str:
    """Return a length as written in feet and inches: `6 ft 2-1/2 in`, `6 ft`, `9 in`."""
    return _composite(feet_and_inches(reading), "foot", "inch", Kind.LENGTH)


def pounds_text(reading: Reading) -> str:
    """Return a mass as written in pounds and ounces: `1 lb 2 oz`, `3 lb`, `9 oz`."""
    return _composite(pounds_and_ounces(reading), "pound", "ounce", Kind.MASS)


def _composite(parts: tuple[int, Number], large: str, small: str, kind: Kind) -> str:
    whole, rest = parts
    texts = [written(Reading(Fraction(whole), large, kind))] if whole else []
    if rest or not whole:
        texts.append(written(Reading(rest, small, kind)))
    return " ".join(texts)


def band_text(low: Reading, high: Reading) -> str:
    """Return a band as written, its unit once: `12.8 to 13.2 mm`."""
    number = written(low)
    symbol = units()[low.unit].symbol
    return f"{number.removesuffix(symbol).rstrip()} to {written(high.to(low.unit))}"
