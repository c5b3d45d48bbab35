"""A spoken number to a reading: which unit was meant, by the trade's rules.

The slot's kind has already decided between units of one name when the grammar read it: "pounds"
is psi in a pressure and lb on a scale. What is left here: no unit at all, gauge or absolute, feet
and inches in a metric job, and more than one reading of the same words. Nothing is guessed that
cuts, bends, pressurises, charges or torques: what stays open is a question with two choices.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from handsfree.errors import WrongKind
from handsfree.language.spoken import Band, Sense, Spoken
from handsfree.quantity import Kind, Reading, is_metric, units

ABOVE_ZERO = frozenset(
    (
        Kind.LENGTH,
        Kind.ANGLE,
        Kind.ABSOLUTE_PRESSURE,
        Kind.VACUUM,
        Kind.TORQUE,
        Kind.MASS_PER_LENGTH,
        Kind.VOLUME,
        Kind.FLOW,
        Kind.SLOPE,
    )
)
"""Kinds of which nobody measures nothing; no kind but temperature is ever below zero."""
SIGNED = frozenset((Kind.TEMPERATURE, Kind.TEMPERATURE_DIFFERENCE, Kind.COUNT, Kind.RATIO))
NO_TAPE_FRACTIONS = frozenset(("millimetre", "centimetre"))
"""Units that nobody tells in quarters to sixty-fourths."""
MOST_CHOICES = 2
_TENS_AND_ONES = 100


@dataclass(frozen=True, slots=True)
class Ambiguous:
    """What was said can be more than one reading: the two to ask between."""

    choices: tuple[Reading, Reading]


def to_reading(spoken: Spoken, kind: Kind, default_unit: str | None) -> Reading | None:
    """Return the reading, or None where no unit was said and none can be assumed.

    `default_unit` is the unit of a bare number: of the job's tape, or of the slot. Raises
    `WrongKind`, telling it in words, for what cannot be meant: a unit that does not measure this
    kind, absolute where gauge is due, zero or less, feet and inches in a metric job, a tube size
    that nobody sells.
    """
    _check(spoken, kind)
    unit = spoken.unit or default_unit
    if kind is Kind.LENGTH and spoken.sense is Sense.FRACTION:
        unit = spoken.unit or "inch"
    elif kind is Kind.LENGTH and default_unit is not None:
        unit = _length_unit(spoken, default_unit)
    return None if unit is None else Reading(spoken.value, unit, kind)


def _check(spoken: Spoken, kind: Kind) -> None:
    if spoken.unsold:
        raise WrongKind("tube size that nobody sells", "listed outside diameter")
    if kind is Kind.GAUGE_PRESSURE and spoken.basis == "absolute":
        raise WrongKind(Kind.ABSOLUTE_PRESSURE, kind)
    if kind is Kind.ABSOLUTE_PRESSURE and spoken.basis == "gauge":
        raise WrongKind(Kind.GAUGE_PRESSURE, kind)
    if spoken.sense is Sense.FRACTION and spoken.unit in NO_TAPE_FRACTIONS:
        raise WrongKind("fraction of an inch", "length in millimetres")
    if spoken.value == 0 and kind in ABOVE_ZERO:
        raise WrongKind("zero", f"{kind} above zero")
    if spoken.value < 0 and kind not in SIGNED:
        raise WrongKind("number below zero", f"{kind} above zero")


def _length_unit(spoken: Spoken, default_unit: str) -> str:
    """Return the unit of a length; raises `WrongKind` for a reading that this tape rules out."""
    metric = is_metric(default_unit)
    if spoken.sense is Sense.ROUTE and metric:
        raise WrongKind("length in feet and inches", "metric length")
    if spoken.unit is not None:
        return spoken.unit
    if spoken.sense in (Sense.POINT_ONE, Sense.POINT_TWO) and metric:
        return "metre"
    if spoken.sense is Sense.POINT_ONE or (_is_route(spoken) and not metric):
        raise WrongKind("number said figure by figure", "length in feet and inches")
    return default_unit


def _is_route(spoken: Spoken) -> bool:
    """Return whether two figures ("six two") are feet and inches on an inch tape."""
    return (
        spoken.sense is Sense.FIGURES
        and spoken.value < _TENS_AND_ONES
        and spoken.value % 10 != 0
        and "double" not in spoken.words
    )


def settle(
    found: Sequence[Spoken],
    kind: Kind,
    default_unit: str | None,
    low: Reading | None = None,
    high: Reading | None = None,
) -> Reading | Ambiguous | None:
    """Return the one reading that was meant, the two to ask between, or None for no number.

    Readings outside `low` to `high` (what is plausible in the slot) stand back behind those
    inside. A bare number without a default unit is asked between the two usual units of its kind,
    or is in the only usual one. Raises `WrongKind` where every reading is ruled out.
    """
    ruled_out: list[WrongKind] = []
    by_unit = [
        _plausible(_readings(found, kind, unit, ruled_out), low, high)
        for unit in ((default_unit,) if default_unit is not None else usual_units(kind))
    ]
    first_of_each = [readings[0] for readings in by_unit if readings]
    others = [reading for readings in by_unit for reading in readings]
    choices = _different([*first_of_each, *others])
    if not choices:
        if ruled_out:
            raise ruled_out[0]
        return None
    return choices[0] if len(choices) == 1 else Ambiguous((choices[0], choices[1]))


def _readings(
    found: Sequence[Spoken], kind: Kind, unit: str, ruled_out: list[WrongKind]
) -> list[Reading]:
    """Return the readings that can be meant where `unit` is meant by no unit, likeliest first."""
    order = list(Sense)
    readings: list[Reading] = []
    for spoken in sorted(found, key=lambda one: order.index(one.sense)):
        try:
            reading = to_reading(spoken, kind, unit)
        except WrongKind as error:
            ruled_out.append(error)
        else:
            readings.extend((reading,) if reading is not None else ())
    return readings


def _different(readings: Sequence[Reading]) -> list[Reading]:
    """Return the readings without those that are worth the same as one before."""
    different: list[Reading] = []
    for reading in readings:
        if not any(reading.value == other.to(reading.unit).value for other in different):
            different.append(reading)
    return different


def _plausible(readings: list[Reading], low: Reading | None, high: Reading | None) -> list[Reading]:
    """Return the readings inside the band, or all where none is."""
    return [reading for reading in readings if reading.inside(low, high)] or readings


def usual_units(kind: Kind) -> tuple[str, ...]:
    """Return the one or two units in which a kind is told when no unit is said."""
    return tuple(unit.name for unit in units().values() if kind in unit.usual)[:MOST_CHOICES]


def band_readings(band: Band, kind: Kind, default_unit: str | None) -> tuple[Reading, Reading]:
    """Return the two ends of a band in the unit of its first, low before high.

    Raises `WrongKind` where the unit is missing, an end is ruled out, or the band runs downhill.
    """
    low = to_reading(band.low, kind, default_unit)
    high = to_reading(band.high, kind, default_unit)
    if low is None or high is None:
        raise WrongKind("band without a unit", f"{kind} with its unit")
    high = high.to(low.unit)
    if low.value >= high.value:
        raise WrongKind("band that runs downhill", "low figure before the high one")
    return low, high
