"""The vacuum after the pump is shut off: a leak rises steadily, moisture and oil level off."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from math import exp
from typing import NamedTuple

from handsfree.calculators.card import Answer, Option, Parameter, Result, Slots, calculator
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number

SHORTEST_HOLD = 5
LEVELLED, STEADY = Fraction(1, 4), Fraction(3, 4)
"""The last slope against the first: at most so much is levelling, at least so much is steady."""
MEASURED_TWICE, FITTED = 2, 4
"""Readings of one interval, and readings from which the rise is fitted."""
NOISE_MICRON, NOISE_SHARE = 2.0, 0.03
STEPS = 60
SIMPLER = 2.5
"""A rise is taken as the simpler one unless that misses by so much more."""
MICRON_PER_ATMOSPHERE = 759_999.8917
CUBIC_INCH_IN_MILLILITRES = 16.387064


class Fit(NamedTuple):
    """A fitted rise: microns a minute at its start and end, how far it misses, and if it leaks."""

    first: float
    last: float
    miss: float
    leaks: bool


def _least_squares(
    columns: Sequence[Sequence[float]], wanted: Sequence[float]
) -> tuple[list[float], float]:
    """Return the weights that fit best, and the root of the mean square of what is left."""
    import numpy as np  # noqa: PLC0415 - only a hold of many readings needs it

    matrix = np.array(columns, dtype=float).T
    weights = np.linalg.lstsq(matrix, np.array(wanted, dtype=float), rcond=None)[0]
    miss = float(np.sqrt(np.mean((matrix @ weights - np.array(wanted)) ** 2)))
    return [float(weight) for weight in weights], miss


def fitted(minutes: Sequence[float], microns: Sequence[float]) -> Fit:
    """Return the simplest rise that fits: steady, levelling, or both.

    Levelling is A·(1 - exp(-t/τ)), with τ sought on a grid; a leak adds a steady rise. Neither is
    ever negative.
    """
    start, end = minutes[0], minutes[-1]
    ones = [1.0] * len(minutes)
    times = [minute - start for minute in minutes]
    span = end - start
    (_, slope), straight = _least_squares([ones, times], microns)
    allowed = NOISE_MICRON + NOISE_SHARE * (max(microns) - min(microns))
    steady = Fit(slope, slope, straight, leaks=True)
    if straight <= allowed / 2:
        return steady
    best_level, best_both = steady, steady
    for step in range(STEPS):
        tau = span * 0.05 * (60.0 ** (step / (STEPS - 1)))
        curve = [1 - exp(-time / tau) for time in times]
        (_, height), miss = _least_squares([ones, curve], microns)
        if height >= 0 and miss < best_level.miss:
            best_level = Fit(height / tau, height / tau * exp(-span / tau), miss, leaks=False)
        (_, leak, height), miss = _least_squares([ones, times, curve], microns)
        if height >= 0 and leak >= 0 and miss < best_both.miss:
            first, last = leak + height / tau, leak + height / tau * exp(-span / tau)
            best_both = Fit(first, last, miss, leaks=leak > 0)
    enough = max(NOISE_MICRON, best_both.miss * SIMPLER)
    return best_level if best_level.miss <= enough else best_both


def shape(minutes: Sequence[Number], microns: Sequence[Number]) -> tuple[str, str]:
    """Return what a rise is (`unclear`, `leak`, `moisture`, `both`) and how sure that is."""
    if len(microns) <= MEASURED_TWICE:
        return "unclear", "one interval"
    leaks = False
    if len(microns) < FITTED:
        first = Fraction(microns[1] - microns[0]) / Fraction(minutes[1] - minutes[0])
        last = Fraction(microns[-1] - microns[-2]) / Fraction(minutes[-1] - minutes[-2])
        sure = "likely"
    else:
        fit = fitted([float(one) for one in minutes], [float(one) for one in microns])
        first, last = Fraction(fit.first), Fraction(fit.last)
        allowed = NOISE_MICRON + NOISE_SHARE * float(max(microns) - min(microns))
        sure = "clear" if fit.miss <= allowed else "likely"
        leaks = fit.leaks
    if first <= 0:
        return ("leak" if last > 0 else "moisture"), sure
    share = last / first
    if share >= STEADY:
        return "leak", sure
    return ("both" if leaks or share > LEVELLED else "moisture"), sure


def pump_must_be_shut_off(slots: Slots) -> None:
    """Raise `Refusal` while the pump is still connected and open."""
    if slots.get("pump") == "open":
        raise Refusal("pump_open")


@calculator(
    "vacuum_decay",
    parameters=(
        Parameter(
            "readings",
            Kind.VACUUM,
            "micron",
            low=1,
            high=760_000,
            assume="micron",
            many=True,
            least=2,
        ),
        Parameter("minutes", Kind.TIME, "minute", low=0, high=4320, assume="minute", many=True),
        Parameter(
            "vacuum_limit",
            Kind.VACUUM,
            "micron",
            low=1,
            high=5000,
            assume="micron",
            origins=("said", "fact"),
        ),
        Option("trend", ("stopped", "climbing"), optional=True),
        Option("pump", ("shut off", "open"), default="shut off"),
        Parameter("volume", Kind.VOLUME, "cubic_inch", assume="cubic_inch", optional=True),
    ),
    results=(
        Result("leak", Kind.FLOW, "millilitre_per_minute", "flow"),
        Result("end", Kind.VACUUM, "micron", "vacuum"),
        Result("rise", Kind.VACUUM, "micron", "vacuum"),
    ),
    sources=("vacuum_decay",),
    guard=pump_must_be_shut_off,
)
def vacuum_decay(  # noqa: PLR0913 - readings with their times, and what they are held against
    readings: tuple[Number, ...],
    minutes: tuple[Number, ...],
    vacuum_limit: Number,
    trend: str | None,
    pump: str,
    volume: Number | None,
) -> Answer:
    """Return a verdict on a rise, and the rise a minute, microns; `minutes` from the first reading.

    With a volume, cubic inches, also the leak as air at the atmosphere, millilitres a minute.
    Raises `Refusal` for a hold under five minutes, for times that do not fit the readings, and
    while the pump is open. Source: physics and usual practice.
    """
    if pump == "open":
        raise Refusal("pump_open")
    times = minutes if len(minutes) == len(readings) else (Fraction(0), *minutes)
    if len(times) != len(readings) or any(a >= b for a, b in pairwise(times)):
        raise Refusal("times")
    if times[-1] - times[0] < SHORTEST_HOLD:
        raise Refusal("too_short")
    span = times[-1] - times[0]
    rise = (Fraction(readings[-1]) - Fraction(readings[0])) / Fraction(span)
    values: dict[str, Number] = {"end": readings[-1], "rise": max(rise, Fraction(0))}
    if volume is not None:
        millilitres = float(volume) * CUBIC_INCH_IN_MILLILITRES
        values = {"leak": millilitres * float(rise) / MICRON_PER_ATMOSPHERE, **values}
    if readings[-1] <= vacuum_limit:
        return Answer(values, sentence="passes")
    verdict, sure = shape(times, readings)
    if verdict == "unclear" and trend is not None:
        verdict, sure = ("moisture" if trend == "stopped" else "leak"), "by what you saw"
    return Answer(values, sentence=verdict, words={"sure": sure})
