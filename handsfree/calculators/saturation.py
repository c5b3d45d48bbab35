"""Superheat, subcooling, and where a refrigerant boils."""

from __future__ import annotations

from fractions import Fraction

from handsfree.calculators.card import Answer, Condition, Option, Parameter, Result, calculator
from handsfree.calculators.pressure_test import ALTITUDE, PASCAL_PER_PSI, kelvin
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number
from handsfree.reference import properties
from handsfree.reference.atmosphere import atmosphere

MOST_DEGREES = 80
_SIDES: tuple[properties.Side, properties.Side] = ("bubble", "dew")
REFRIGERANTS = (*properties.MODELS, "other")


def boiling_fahrenheit(
    refrigerant: str, psi: Number, altitude: Number | None, side: properties.Side
) -> float:
    """Return where a refrigerant boils under a gauge pressure, °F; raises `Refusal`."""
    if refrigerant not in properties.MODELS:
        raise Refusal("no_model")
    pascal = float(psi) * PASCAL_PER_PSI + float(atmosphere(altitude).to("pascal").value)
    found = properties.saturation_temperature(refrigerant, pascal, side)
    if found is None:
        raise Refusal("no_saturation")
    return found * 1.8 - 459.67


def _temperature(name: str, basis: str | None = None) -> Parameter:
    condition = Condition("basis", (basis,)) if basis is not None else None
    return Parameter(
        name,
        Kind.TEMPERATURE,
        "fahrenheit",
        low=-60,
        high=250,
        assume="system",
        only_if=condition,
    )


PRESSURE = Parameter(
    "pressure",
    Kind.GAUGE_PRESSURE,
    "psi",
    low=-14,
    high=700,
    assume="system",
    only_if=Condition("basis", ("pressure",)),
)
REFRIGERANT = Option(
    "refrigerant",
    REFRIGERANTS,
    origins=("said", "fact"),
    only_if=Condition("basis", ("pressure",)),
)
DIFFERENCE = Kind.TEMPERATURE_DIFFERENCE


def _told(name: str) -> Parameter:
    return Parameter(
        name,
        DIFFERENCE,
        "fahrenheit",
        low=-10,
        high=MOST_DEGREES,
        assume="system",
        only_if=Condition("basis", ("told",)),
    )


@calculator(
    "superheat",
    parameters=(
        Option("basis", ("saturation", "pressure", "told"), default="saturation"),
        Parameter(
            "suction",
            Kind.TEMPERATURE,
            "fahrenheit",
            low=-60,
            high=250,
            assume="system",
            only_if=Condition("basis", ("saturation", "pressure")),
        ),
        _temperature("saturation", "saturation"),
        PRESSURE,
        REFRIGERANT,
        ALTITUDE,
        _told("superheat_read"),
    ),
    results=(
        Result("boils", Kind.TEMPERATURE, "fahrenheit", "temperature", follows="suction"),
        Result("superheat", DIFFERENCE, "fahrenheit", "superheat", follows="suction"),
    ),
    sources=("geometry",),
)
def superheat(  # noqa: PLR0913 - a line, and one of three ways to know where it boils
    basis: str,
    suction: Number | None,
    saturation: Number | None,
    pressure: Number | None,
    refrigerant: str | None,
    altitude: Number | None,
    superheat_read: Number | None,
) -> Answer:
    """Return the superheat, °F: of the suction line above saturation, dew side for blends.

    Raises `Refusal` below zero, above what can be, and for a refrigerant without a model. Source:
    arithmetic; the reference equations where a pressure was given.
    """
    if basis == "told" and superheat_read is not None:
        return _judged_by_maker("superheat", superheat_read)
    above, boils, sources = _above(suction, saturation, pressure, refrigerant, altitude, "dew")
    if above < 0:
        raise Refusal("negative")
    if above > MOST_DEGREES:
        raise Refusal("too_much")
    values = {"superheat": above} if not sources else {"boils": boils, "superheat": above}
    return Answer(values, "from_pressure" if sources else "answer", sources=sources)


def _judged_by_maker(name: str, value: Number) -> Answer:
    if value < 0:
        raise Refusal("negative")
    return Answer({name: value}, sentence="told")


def _above(  # noqa: PLR0913 - as superheat
    line: Number | None,
    saturation: Number | None,
    pressure: Number | None,
    refrigerant: str | None,
    altitude: Number | None,
    side: properties.Side,
) -> tuple[Number, Number, tuple[str, ...]]:
    """Return the line above saturation and saturation, °F, and what that rests on."""
    at = Fraction(0) if line is None else line
    if saturation is not None:
        return at - saturation, saturation, ()
    boils = boiling_fahrenheit(refrigerant or "other", pressure or 0, altitude, side)
    return float(at) - boils, boils, ("refrigerant_equations",)


@calculator(
    "subcooling",
    parameters=(
        Option("basis", ("saturation", "pressure", "told"), default="saturation"),
        Parameter(
            "liquid",
            Kind.TEMPERATURE,
            "fahrenheit",
            low=-60,
            high=250,
            assume="system",
            only_if=Condition("basis", ("saturation", "pressure")),
        ),
        _temperature("saturation", "saturation"),
        PRESSURE,
        REFRIGERANT,
        ALTITUDE,
        _told("subcooling_read"),
    ),
    results=(
        Result("boils", Kind.TEMPERATURE, "fahrenheit", "temperature", follows="liquid"),
        Result("subcooling", DIFFERENCE, "fahrenheit", "superheat", follows="liquid"),
    ),
    sources=("geometry",),
)
def subcooling(  # noqa: PLR0913 - as superheat
    basis: str,
    liquid: Number | None,
    saturation: Number | None,
    pressure: Number | None,
    refrigerant: str | None,
    altitude: Number | None,
    subcooling_read: Number | None,
) -> Answer:
    """Return the subcooling, °F: of the liquid line below saturation, bubble side for blends.

    Raises `Refusal` below zero, above what can be, and for a refrigerant without a model. Source:
    arithmetic; the reference equations where a pressure was given.
    """
    if basis == "told" and subcooling_read is not None:
        return _judged_by_maker("subcooling", subcooling_read)
    above, boils, sources = _above(liquid, saturation, pressure, refrigerant, altitude, "bubble")
    if above > 0:
        raise Refusal("negative")
    if -above > MOST_DEGREES:
        raise Refusal("too_much")
    values = {"subcooling": -above} if not sources else {"boils": boils, "subcooling": -above}
    return Answer(values, "from_pressure" if sources else "answer", sources=sources)


@calculator(
    "saturation",
    parameters=(
        Option("about", ("temperature", "pressure"), default="temperature"),
        Option("refrigerant", REFRIGERANTS, origins=("said", "fact")),
        Parameter(
            "pressure",
            Kind.GAUGE_PRESSURE,
            "psi",
            low=-14,
            high=1000,
            assume="system",
            only_if=Condition("about", ("temperature",)),
        ),
        Parameter(
            "temperature",
            Kind.TEMPERATURE,
            "fahrenheit",
            low=-60,
            high=200,
            assume="system",
            only_if=Condition("about", ("pressure",)),
        ),
        ALTITUDE,
    ),
    results=(
        Result("boils", Kind.TEMPERATURE, "fahrenheit", "temperature", follows="pressure"),
        Result("bubble", Kind.TEMPERATURE, "fahrenheit", "temperature", follows="pressure"),
        Result("dew", Kind.TEMPERATURE, "fahrenheit", "temperature", follows="pressure"),
        Result("gauge", Kind.GAUGE_PRESSURE, "psi", "pressure", follows="temperature"),
        Result("bubble_gauge", Kind.GAUGE_PRESSURE, "psi", "pressure", follows="temperature"),
        Result("dew_gauge", Kind.GAUGE_PRESSURE, "psi", "pressure", follows="temperature"),
    ),
    sources=("refrigerant_equations",),
)
def saturation(
    about: str,
    refrigerant: str,
    pressure: Number | None,
    temperature: Number | None,
    altitude: Number | None,
) -> Answer:
    """Return where a refrigerant boils under a gauge pressure, °F, or its pressure there, psi.

    Blends begin to boil at the bubble point and end at the dew point: both are given. Raises
    `Refusal` for a refrigerant without a model, and where it does not boil.
    """
    if refrigerant not in properties.MODELS:
        raise Refusal("no_model")
    warnings = () if altitude is not None else ("sea_level",)
    glides = refrigerant in properties.GLIDING
    if about == "pressure" and temperature is not None:
        around = float(atmosphere(altitude).to("pascal").value)
        pressures: list[Number] = []
        for side in _SIDES:
            found = properties.saturation_pressure(refrigerant, kelvin(temperature), side)
            if found is None:
                raise Refusal("no_saturation")
            pressures.append((found - around) / PASCAL_PER_PSI)
        if glides:
            values = {"bubble_gauge": pressures[0], "dew_gauge": pressures[1]}
            return Answer(values, "pressure_of_blend", warnings=warnings)
        return Answer({"gauge": pressures[0]}, "pressure", warnings=warnings)
    bubble, dew = (
        boiling_fahrenheit(refrigerant, pressure or 0, altitude, side) for side in _SIDES
    )
    if glides:
        return Answer({"bubble": bubble, "dew": dew}, "blend", warnings=warnings)
    return Answer({"boils": bubble}, warnings=warnings)
