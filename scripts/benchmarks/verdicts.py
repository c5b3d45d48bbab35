"""`scripts/bench verdicts [--json]`: how often the pressure test's and the vacuum's verdicts err.

Pressure: a tight system of real nitrogen is read by a gauge and a thermometer whose errors lie
evenly inside their stated bands; then the same with a leak. Vacuum: rises made from a leak, from
moisture, or both, read with noise. Chance is seeded, so that a figure can be had again.
"""

from __future__ import annotations

import argparse
import json
import random
from math import exp

from handsfree.calculators.pressure_test import test_pressure_now as pressure_card
from handsfree.calculators.vacuum import vacuum_decay
from handsfree.quantity import Kind, Reading

HOLDS = 1000
LEAKS_PSI = (2.0, 4.0, 6.0, 8.0, 10.0, 15.0)
GAUGE_PSI, THERMOMETER_FAHRENHEIT = 1.0, 1.0
NOISE = 0.01
MINUTES = (0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 15.0)


def pressure_verdict(chance: random.Random, leak_psi: float) -> str:
    """Return the verdict on one hold: true states, then what the instruments show of them."""
    start, first, later = (
        chance.uniform(100, 640),
        chance.uniform(30, 110),
        chance.uniform(30, 110),
    )
    true = pressure_card.run(
        {
            "start": Reading(start, "psi", Kind.GAUGE_PRESSURE),
            "start_temperature": Reading(first, "fahrenheit", Kind.TEMPERATURE),
            "now_temperature": Reading(later, "fahrenheit", Kind.TEMPERATURE),
        }
    ).answers["expected"]
    if isinstance(true, tuple):
        raise TypeError("one pressure was expected")
    now = float(true.value) - leak_psi

    def shown(value: float, band: float, kind: Kind, unit: str) -> Reading:
        return Reading(value + chance.uniform(-band, band), unit, kind)

    return pressure_card.run(
        {
            "start": shown(start, GAUGE_PSI, Kind.GAUGE_PRESSURE, "psi"),
            "start_temperature": shown(
                first, THERMOMETER_FAHRENHEIT, Kind.TEMPERATURE, "fahrenheit"
            ),
            "now": shown(now, GAUGE_PSI, Kind.GAUGE_PRESSURE, "psi"),
            "now_temperature": shown(later, THERMOMETER_FAHRENHEIT, Kind.TEMPERATURE, "fahrenheit"),
        }
    ).sentence


def vacuum_verdict(chance: random.Random, cause: str) -> str:
    """Return the verdict on one rise that ends over the limit."""
    start = chance.uniform(100, 300)
    leak = chance.uniform(60, 300) if cause in ("leak", "both") else 0.0
    height = chance.uniform(900, 2000) if cause in ("moisture", "both") else 0.0
    tau = chance.uniform(2.0, 4.0)
    readings = tuple(
        Reading(
            (start + leak * minute + height * (1 - exp(-minute / tau)))
            * (1 + chance.uniform(-NOISE, NOISE)),
            "micron",
            Kind.VACUUM,
        )
        for minute in MINUTES
    )
    minutes = tuple(Reading(minute, "minute", Kind.TIME) for minute in MINUTES[1:])
    limit = Reading(500, "micron", Kind.VACUUM)
    found = vacuum_decay.run({"readings": readings, "minutes": minutes, "vacuum_limit": limit})
    return found.sentence


def counted(verdicts: list[str]) -> dict[str, float]:
    """Return the share of each verdict."""
    return {name: verdicts.count(name) / len(verdicts) for name in sorted(set(verdicts))}


def measured(holds: int = HOLDS, seed: int = 1) -> dict[str, dict[str, float]]:
    """Return the shares of the verdicts, by what was true."""
    chance = random.Random(seed)  # noqa: S311 - measurements, not secrets
    found = {
        f"leak {leak:g} psi" if leak else "tight": counted(
            [pressure_verdict(chance, leak) for _ in range(holds)]
        )
        for leak in (0.0, *LEAKS_PSI)
    }
    for cause in ("leak", "moisture", "both"):
        found[f"vacuum {cause}"] = counted([vacuum_verdict(chance, cause) for _ in range(holds)])
    return found


def main(arguments: list[str]) -> int:
    """Print the shares."""
    parser = argparse.ArgumentParser(prog="scripts/bench verdicts", description=__doc__)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    found = measured()
    if options.json:
        print(json.dumps(found))
        return 0
    print(
        f"{HOLDS} holds each; gauge ±{GAUGE_PSI:g} psi, thermometer ±{THERMOMETER_FAHRENHEIT:g} °F"
    )
    for truth, shares in found.items():
        told = ", ".join(f"{name} {share:.1%}" for name, share in shares.items())
        print(f"{truth:16} {told}")
    return 0
