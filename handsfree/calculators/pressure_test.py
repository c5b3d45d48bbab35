"""Nitrogen: the pressure test and its verdict, what is left in the bottle, and the purge.

The verdict carries the uncertainty of the instruments. Each reading lies inside its band: the two
pressures, and the two temperatures through dP/dT. Inside the root of the sum of the squares there
is no leak to be seen; beyond the plain sum no error inside the bands explains it, and it is a
loss; between the two it cannot be told. Nor can it with coarse instruments, where a fall is larger
than what usual ones leave in doubt.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from math import hypot

from handsfree.calculators.card import (
    Answer,
    Option,
    Parameter,
    Result,
    Slots,
    calculator,
)
from handsfree.calculators.joints import SIZE
from handsfree.calculators.tubes import RUN, tube_of, volume_of
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number
from handsfree.reference import properties
from handsfree.reference.atmosphere import atmosphere

PASCAL_PER_PSI = 6894.757293168361
HIGHEST_TEST = 650
USUAL_GAUGE = 1.0
USUAL_THERMOMETER = 1.0
FULL_BOTTLE_PSI = 2200
CUBIC_INCHES_IN_A_CUBIC_FOOT = 1728
FEWEST_PURGES = 5
ATMOSPHERE_PSI = Fraction(147, 10)
ALTITUDE = Parameter(
    "altitude",
    Kind.LENGTH,
    "metre",
    low=0,
    high=6000,
    assume="run",
    origins=("said", "fact"),
    optional=True,
)


def kelvin(fahrenheit: Number) -> float:
    """Return a temperature in kelvin."""
    return (float(fahrenheit) + 459.67) / 1.8


def held_psi(
    start: Number, start_fahrenheit: Number, fahrenheit: Number, around_psi: float, law: str
) -> float:
    """Return what a closed system reads after a change of temperature, psi gauge.

    `law` is `real` (nitrogen at constant density) or `ideal`; `around_psi` is the air's pressure.
    """
    first = (float(start) + around_psi) * PASCAL_PER_PSI
    if law == "ideal":
        later = first * kelvin(fahrenheit) / kelvin(start_fahrenheit)
    else:
        dense = properties.density(first, kelvin(start_fahrenheit))
        later = properties.pressure(dense, kelvin(fahrenheit))
    return later / PASCAL_PER_PSI - around_psi


def _doubt(psi_per_fahrenheit: float, gauge: float, thermometer: float) -> float:
    """Return the root of the sum of the squares of two readings of each instrument, psi."""
    by_heat = psi_per_fahrenheit * thermometer
    return hypot(gauge, gauge, by_heat, by_heat)


def judged(
    expected: float, now: float, psi_per_fahrenheit: float, gauge: float, thermometer: float
) -> tuple[str, float, float]:
    """Return a verdict, the doubt inside which nothing is seen, and the loss that cannot hide.

    Verdicts: `no_leak`, `cannot_tell`, `loss`, `reads_high`. All in psi. A fall that usual
    instruments would have shown is never taken for no leak because these are coarser.
    """
    doubt = _doubt(psi_per_fahrenheit, gauge, thermometer)
    worst = 2 * (gauge + psi_per_fahrenheit * thermometer)
    under = expected - now
    if under > worst:
        verdict = "loss"
    elif under > min(doubt, _doubt(psi_per_fahrenheit, USUAL_GAUGE, USUAL_THERMOMETER)):
        verdict = "cannot_tell"
    else:
        verdict = "reads_high" if -under > doubt else "no_leak"
    return verdict, doubt, 2 * worst


def needs_temperatures(slots: Slots) -> None:
    """Raise `Refusal` where the temperatures are not known."""
    if slots.get("temperatures") == "unknown":
        raise Refusal("no_temperatures")


@calculator(
    "test_pressure_now",
    parameters=(
        Parameter("start", Kind.GAUGE_PRESSURE, "psi", low=0, high=HIGHEST_TEST, assume="system"),
        Parameter(
            "start_temperature",
            Kind.TEMPERATURE,
            "fahrenheit",
            low=-40,
            high=140,
            assume="system",
        ),
        Parameter(
            "now_temperature", Kind.TEMPERATURE, "fahrenheit", low=-40, high=140, assume="system"
        ),
        Parameter(
            "now",
            Kind.GAUGE_PRESSURE,
            "psi",
            low=0,
            high=HIGHEST_TEST,
            assume="system",
            optional=True,
        ),
        Parameter(
            "drop",
            Kind.GAUGE_PRESSURE,
            "psi",
            low=0,
            high=HIGHEST_TEST,
            assume="system",
            optional=True,
        ),
        ALTITUDE,
        Parameter(
            "gauge_error",
            Kind.GAUGE_PRESSURE,
            "psi",
            low=0,
            high=50,
            assume="system",
            origins=("said", "fact"),
            optional=True,
        ),
        Parameter(
            "thermometer_error",
            Kind.TEMPERATURE_DIFFERENCE,
            "fahrenheit",
            low=0,
            high=20,
            assume="system",
            origins=("said", "fact"),
            optional=True,
        ),
        Option("law", ("real", "ideal"), default="real"),
        Option("temperatures", ("known", "unknown"), default="known"),
    ),
    results=(
        Result("certain", Kind.GAUGE_PRESSURE, "psi", "test_pressure", follows="start"),
        Result("doubt", Kind.GAUGE_PRESSURE, "psi", "test_pressure", follows="start"),
        Result("off", Kind.GAUGE_PRESSURE, "psi", "test_pressure", follows="start"),
        Result("reads", Kind.GAUGE_PRESSURE, "psi", "test_pressure", follows="start"),
        Result("expected", Kind.GAUGE_PRESSURE, "psi", "test_pressure", follows="start"),
    ),
    sources=(),
    guard=needs_temperatures,
)
def test_pressure_now(  # noqa: PLR0913 - two states, and the instruments
    start: Number,
    start_temperature: Number,
    now_temperature: Number,
    now: Number | None,
    drop: Number | None,
    altitude: Number | None,
    gauge_error: Number | None,
    thermometer_error: Number | None,
    law: str,
    temperatures: str,
) -> Answer:
    """Return what a tight system reads now, psi gauge, and a verdict where it was read.

    Temperatures in °F, `altitude` in metres. Raises `Refusal` without the temperatures. Source:
    the reference equation of state of nitrogen; the measurement guide for the doubt.
    """
    if temperatures == "unknown":
        raise Refusal("no_temperatures")
    around = float(atmosphere(altitude).to("psi").value)
    expected = held_psi(start, start_temperature, now_temperature, around, law)
    warnings = () if altitude is not None else ("sea_level",)
    sources = ("geometry",) if law == "ideal" else ("nitrogen_equation",)
    reads = now if now is not None or drop is None else start - drop
    if reads is None:
        return Answer({"expected": expected}, law, warnings=warnings, sources=sources)
    warmer, colder = (
        held_psi(start, start_temperature, float(now_temperature) + step, around, law)
        for step in (0.5, -0.5)
    )
    verdict, doubt, certain = judged(
        expected,
        float(reads),
        warmer - colder,
        USUAL_GAUGE if gauge_error is None else float(gauge_error),
        USUAL_THERMOMETER if thermometer_error is None else float(thermometer_error),
    )
    values: Mapping[str, Number] = {
        "certain": certain,
        "doubt": doubt,
        "off": abs(expected - float(reads)),
        "reads": reads,
        "expected": expected,
    }
    return Answer(values, verdict, warnings=warnings, sources=(*sources, "gum"))


@calculator(
    "nitrogen_left",
    parameters=(
        Parameter("bottle", Kind.VOLUME, "cubic_foot", low=5, high=400, assume="cubic_foot"),
        Parameter("left", Kind.GAUGE_PRESSURE, "psi", low=0, high=4500, assume="system"),
        Parameter("system", Kind.VOLUME, "cubic_inch", low=1, high=100_000, assume="cubic_inch"),
        Parameter(
            "test_pressure",
            Kind.GAUGE_PRESSURE,
            "psi",
            low=0,
            high=HIGHEST_TEST,
            assume="system",
            origins=("said", "fact"),
        ),
        Parameter(
            "full",
            Kind.GAUGE_PRESSURE,
            "psi",
            low=500,
            high=4500,
            assume="system",
            optional=True,
        ),
    ),
    results=(
        Result("ends_at", Kind.GAUGE_PRESSURE, "psi", "pressure", follows="test_pressure"),
        Result("need", Kind.VOLUME, "cubic_foot", "volume"),
        Result("have", Kind.VOLUME, "cubic_foot", "volume"),
    ),
    sources=("geometry",),
)
def nitrogen_left(
    bottle: Number, left: Number, system: Number, test_pressure: Number, full: Number | None
) -> Answer:
    """Return whether a bottle holds enough gas for a test; free gas in cubic feet.

    `bottle` is its rated gas, cubic feet, at `full`; `system` is what the lines hold, cubic inches.
    The bottle must also end above the test pressure. Raises `Refusal` for a bottle above its full
    pressure. Source: Boyle's law.
    """
    filled = Fraction(FULL_BOTTLE_PSI if full is None else full)
    if left > filled:
        raise Refusal("above_full")
    have = Fraction(bottle) * Fraction(left) / filled
    inside = Fraction(system) / CUBIC_INCHES_IN_A_CUBIC_FOOT
    need = inside * (Fraction(test_pressure) + ATMOSPHERE_PSI) / ATMOSPHERE_PSI
    shell = Fraction(bottle) * ATMOSPHERE_PSI / filled
    ends_at = Fraction(left) - need * ATMOSPHERE_PSI / shell
    if need > have:
        return Answer({"need": need, "have": have}, sentence="not_enough")
    values = {"ends_at": ends_at, "need": need, "have": have}
    return Answer(values, "enough" if ends_at >= test_pressure else "too_low")


@calculator(
    "purge_time",
    parameters=(
        SIZE,
        RUN,
        Parameter(
            "flow",
            Kind.FLOW,
            "cubic_foot_per_hour",
            low=1,
            high=Fraction(32),
            assume="system",
        ),
        Parameter(
            "volumes",
            Kind.COUNT,
            "one",
            low=1,
            high=50,
            rule="count",
            assume="one",
            optional=True,
        ),
    ),
    results=(
        Result("held", Kind.VOLUME, "cubic_inch", "volume"),
        Result("time", Kind.TIME, "second", "seconds"),
    ),
    sources=("practice",),
)
def purge_time(size: Fraction, length: Number, flow: Number, volumes: Fraction | None) -> Answer:
    """Return how long nitrogen flows before heat, seconds; `length` in feet, `flow` in ft³/h.

    Raises `Refusal` for fewer than five volumes. Source: practice for the five; geometry.
    """
    times = FEWEST_PURGES if volumes is None else volumes
    if times < FEWEST_PURGES:
        raise Refusal("too_few_volumes")
    held = volume_of(size, "coil", length)
    seconds = float(times) * held / CUBIC_INCHES_IN_A_CUBIC_FOOT / float(flow) * 3600
    return Answer({"held": held, "time": seconds}, sources=(tube_of(size, "coil").source,))
