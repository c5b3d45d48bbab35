"""Units: the same reading in another unit, exact and then rounded as the trade reads it."""

from __future__ import annotations

from fractions import Fraction

from handsfree.calculators.card import (
    Answer,
    Condition,
    Option,
    Parameter,
    Result,
    UpTo,
    calculator,
)
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Reading, is_metric

TAPE = 32
"""The finest parts of an inch that a tape is read to."""
CALLIPER = 2
"""Inches below which a length is told in tenths of a millimetre. Common practice, no source."""


@calculator(
    "convert_length",
    parameters=(
        Parameter("value", Kind.LENGTH, ""),
        Option("written", ("in a unit", "decimal", "fraction"), default="in a unit"),
        Option(
            "to",
            units_of=(Kind.LENGTH,),
            optional=True,
            only_if=Condition("written", ("in a unit",)),
        ),
    ),
    results=(
        Result("result", Kind.LENGTH, "", "length_conversion"),
        Result("decimal", Kind.LENGTH, "inch", "decimal"),
        Result("close", Kind.LENGTH, "millimetre", "fine"),
        Result("sixteenth", Kind.LENGTH, "inch", "mark"),
    ),
    sources=("units",),
)
def convert_length(value: Reading, written: str, to: str | None) -> Answer:
    """Return a length in another unit: inches for metric and millimetres for inches unless said.

    Or, in inches, as a decimal or as fractions of the tape. What a calliper spans is also told in
    tenths of a millimetre: 3/8 in is no 10 mm tube.

    Raises `Refusal` where both units are the same. Source: the inch is 25.4 mm exactly (1959).
    """
    inches = value.to("inch")
    if written == "decimal":
        return Answer({"decimal": inches.value}, sentence="decimal")
    if written == "fraction":
        if TAPE % Fraction(inches.value).denominator == 0:
            return Answer({"result": inches}, sentence="exact_fraction")
        return Answer({"result": inches, "sixteenth": inches.value}, sentence="fraction")
    target = to or ("inch" if is_metric(value.unit) else "millimetre")
    if target == value.unit:
        raise Refusal("same_unit")
    result = value.to(target)
    if target == "millimetre" and inches.value < CALLIPER:
        return Answer({"result": result, "close": result.value}, sentence="close")
    if target != "inch":
        return Answer({"result": result}, sentence="plain")
    return Answer({"result": result, "decimal": result.value}, sentence="tape")


def _other(value: Reading, target: str) -> Reading:
    """Return a reading in another unit; raises `Refusal` where it is the same one."""
    if target == value.unit:
        raise Refusal("same_unit")
    return value.to(target)


def _converted(value: Reading, target: str) -> Answer:
    return Answer({"result": _other(value, target)})


@calculator(
    "convert_pressure",
    parameters=(
        Parameter("value", Kind.GAUGE_PRESSURE, "", assume=None),
        Option("to", units_of=(Kind.GAUGE_PRESSURE,), optional=True),
    ),
    results=(Result("result", Kind.GAUGE_PRESSURE, "", "pressure"),),
    sources=("units",),
)
def convert_pressure(value: Reading, to: str | None) -> Answer:
    """Return a gauge pressure in another unit; gauge stays gauge. psi for metric unless said.

    Source: the pound-force per square inch by its exact definition.
    """
    return _converted(value, to or ("bar" if value.unit == "psi" else "psi"))


@calculator(
    "convert_vacuum",
    parameters=(
        Option("gauge", ("micron gauge", "compound gauge"), default="micron gauge"),
        Parameter(
            "value",
            Kind.VACUUM,
            "",
            assume=None,
            only_if=Condition("gauge", ("micron gauge",)),
        ),
        Option("to", units_of=(Kind.VACUUM,), optional=True),
    ),
    results=(Result("result", Kind.VACUUM, "", "vacuum"),),
    sources=("nist_sp_811",),
)
def convert_vacuum(gauge: str, value: Reading | None, to: str | None) -> Answer:
    """Return a vacuum (absolute) in another unit: microns unless said, pascals for microns.

    Raises `Refusal` for inches on a compound gauge, which cannot show the last part.
    Source: conventional millimetre of mercury, 133.3224 Pa.
    """
    if gauge == "compound gauge" or value is None:
        raise Refusal("compound_gauge")
    return _converted(value, to or ("pascal" if value.unit == "micron" else "micron"))


CLEARLY_A_READING = 20
"""A temperature above this, in its own unit, is a reading unless a difference was said."""


@calculator(
    "convert_temperature",
    parameters=(
        Parameter("value", Kind.TEMPERATURE, "", assume=None),
        Option("meaning", ("reading", "difference"), only_if=UpTo("value", CLEARLY_A_READING)),
        Option("to", units_of=(Kind.TEMPERATURE_DIFFERENCE,), optional=True),
    ),
    results=(Result("result", Kind.TEMPERATURE, "", "temperature_conversion"),),
    sources=("units",),
)
def convert_temperature(value: Reading, meaning: str | None, to: str | None) -> Answer:
    """Return a temperature, or a difference of temperatures, in another unit.

    Raises `Refusal` where both units are the same, and for a reading in kelvin, which gauges do
    not show. Source: K = °C + 273.15, °F = 1.8 °C + 32, exact.
    """
    target = to or ("fahrenheit" if value.unit == "celsius" else "celsius")
    if meaning == "difference":
        between = Reading(value.value, value.unit, Kind.TEMPERATURE_DIFFERENCE)
        return Answer({"result": _other(between, target)}, sentence="difference")
    if target == "kelvin":
        raise Refusal("kelvin_reading")
    return Answer({"result": _other(value, target)})


@calculator(
    "convert_weight",
    parameters=(
        Parameter("value", Kind.MASS, "", assume=None),
        Option("to", units_of=(Kind.MASS,), optional=True),
    ),
    results=(
        Result("ounces", Kind.MASS, "ounce", "scale"),
        Result("result", Kind.MASS, "", "scale"),
    ),
    sources=("units",),
)
def convert_weight(value: Reading, to: str | None) -> Answer:
    """Return a mass in another unit: pounds and ounces for metric, metric for those unless said.

    Raises `Refusal` where both units are the same. Source: the pound is 0.45359237 kg exactly.
    """
    target = to or {"kilogram": "pound", "gram": "ounce", "ounce": "gram"}.get(
        value.unit, "kilogram"
    )
    result = _other(value, target)
    if target not in ("pound", "ounce"):
        return Answer({"result": result})
    return Answer({"ounces": value.to("ounce"), "result": result}, sentence="both_ways")


@calculator(
    "convert_torque",
    parameters=(
        Parameter("value", Kind.TORQUE, "", assume=None),
        Parameter("upper", Kind.TORQUE, "", assume=None, optional=True),
        Option("to", units_of=(Kind.TORQUE,), optional=True),
    ),
    results=(
        Result("result", Kind.TORQUE, "", "torque"),
        Result("low", Kind.TORQUE, "", "torque"),
        Result("high", Kind.TORQUE, "", "torque"),
    ),
    sources=("units",),
)
def convert_torque(value: Reading, upper: Reading | None, to: str | None) -> Answer:
    """Return a torque in another unit: foot pounds for newton metres, the reverse otherwise.

    With the `upper` end of a band, both of its ends. Source: the pound-force and the foot by their
    exact definitions.
    """
    target = to or ("foot_pound" if value.unit == "newton_metre" else "newton_metre")
    if upper is None:
        return _converted(value, target)
    return Answer({"low": _other(value, target), "high": _other(upper, target)}, sentence="band")
