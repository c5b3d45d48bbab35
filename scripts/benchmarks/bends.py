"""How fast bends are planned, diagnosed and drawn, and how truly they land.

Every figure is measured here and now; nothing is asserted. The pieces and the slips are those of
the tests, made from fixed seeds.
"""

from __future__ import annotations

import argparse
import json
import random
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

Row = tuple[str, float, str]
PLANS, MISTAKES, PIECES = 1_000, 1_000, 20_000
BENCH = Path(__file__).resolve().parents[2] / "tests" / "calculators" / "bends"


def _times(work: Callable[[], object], rounds: int) -> list[float]:
    """Return the processor time of each round, ms, the shortest first."""
    found = []
    for _ in range(rounds):
        begun = time.process_time()
        work()
        found.append((time.process_time() - begun) * 1000)
    return sorted(found)


def _plans() -> list[Row]:
    """Plan ten-bend pieces at tools with a handle, a bench and a wall, orders searched."""
    from handsfree.calculators.bends.piece import Bend, Bender, Body, Piece  # noqa: PLC0415
    from handsfree.calculators.bends.planner import Plan, plan  # noqa: PLC0415
    from handsfree.errors import Refusal  # noqa: PLC0415

    chance = random.Random(10)  # noqa: S311 - the same pieces each time
    times: dict[str, list[float]] = {"plain": [], "searched": [], "none": []}
    while sum(map(len, times.values())) < PLANS:
        body = Body(
            half_width=chance.uniform(0.3, 1.2),
            handle=chance.uniform(4, 14),
            handle_angle=chance.choice([0, 45, 90, 150]),
            bench=chance.choice([None, 1.5, 3]),
            clear=chance.choice([None, 60]),
        )
        tool = Bender(15 / 16, springback=0.97, between=1.25, grip=1, after=1.5, body=body)
        bends = tuple(
            Bend(chance.choice([30, 45, 60, 90]), chance.choice([0, 180, 90, 37]))
            for _ in range(10)
        )
        legs = tuple(chance.uniform(4, 20) for _ in range(11))
        piece = Piece(legs, bends, 0.375, tool)
        try:
            found = plan(piece)
        except Refusal:
            continue
        took = _times(lambda piece=piece: plan(replace(piece)), 3)[0]  # type: ignore[misc]
        if not isinstance(found, Plan):
            times["none"].append(took)
            continue
        order = [step.bend for step in found.steps]
        usual = order in (sorted(order), sorted(order)[::-1])
        times["plain" if usual else "searched"].append(took)
    rows: list[Row] = []
    for name, told in (
        ("plain", "ten bends planned, in the usual order"),
        ("searched", "ten bends planned, another order found"),
        ("none", "ten bends, no order: why, and what would help"),
    ):
        rows.append((f"{told}: pieces", float(len(times[name])), f"of {PLANS}"))
        rows.append((f"{told}: median", statistics.median(times[name]), "ms"))
        rows.append((f"{told}: worst", max(times[name]), "ms"))
    return rows


def _landing() -> list[Row]:
    """Bend pieces that hypothesis chooses on the virtual bench, and tell the worst miss."""
    from hypothesis import HealthCheck, given, settings  # noqa: PLC0415
    from hypothesis.strategies import randoms  # noqa: PLC0415
    from test_bends_walk import landing, random_plan  # noqa: PLC0415

    misses: list[float] = []

    @settings(
        max_examples=PIECES,
        database=None,
        deadline=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    @given(randoms(use_true_random=False))
    def bent(chance: random.Random) -> None:
        misses.append(landing(random_plan(chance)))

    bent()
    return [(f"worst miss over {len(misses):,} pieces chosen by hypothesis", max(misses), "in")]


def _diagnosis() -> list[Row]:
    """Diagnose slips made on the virtual bench, tape noise 1/32 in (one standard deviation)."""
    from bends_slips import random_slip  # noqa: PLC0415

    from handsfree.calculators.bends.diagnosis import Cause, diagnose  # noqa: PLC0415

    rows: list[Row] = []
    for told, with_angles in (("legs and angles", True), ("legs alone", False)):
        chance = random.Random(1)  # noqa: S311 - the same slips each time
        first = second = alike = 0
        times = []
        for _ in range(MISTAKES):
            slip = random_slip(chance)
            legs = [error + chance.gauss(0, 1 / 32) for error in slip.legs]
            angles = [error + chance.gauss(0, 0.5) for error in slip.angles] if with_angles else []
            begun = time.process_time()
            found = diagnose(slip.piece, legs, angles)
            times.append((time.process_time() - begun) * 1000)
            causes = [likely.cause for likely in found.causes[:2]]
            true = Cause(slip.name, slip.bend)  # type: ignore[arg-type]
            first += causes[0] == true
            second += true in causes
            alike += bool(found.alike)
        rows += [
            (f"diagnosis from {told}: the cause is first", 100 * first / MISTAKES, "%"),
            (f"diagnosis from {told}: first or second", 100 * second / MISTAKES, "%"),
            (f"diagnosis from {told}: another named as alike", 100 * alike / MISTAKES, "%"),
            (f"diagnosis from {told}: median", statistics.median(times), "ms"),
        ]
    return rows


def _drawing() -> list[Row]:
    """Draw a plain piece and one of ten bends."""
    from handsfree.calculators.bends.drawing.compose import draw  # noqa: PLC0415
    from handsfree.calculators.bends.piece import Bend, Bender, Piece  # noqa: PLC0415
    from handsfree.calculators.bends.planner import Plan, plan  # noqa: PLC0415

    rows: list[Row] = []
    for count in (2, 10):
        bends = tuple(Bend(90 if n % 3 == 0 else 45, 180) for n in range(count))
        made = plan(Piece((9,) * (count + 1), bends, 0.375, Bender(15 / 16)))
        if isinstance(made, Plan):
            times = _times(lambda made=made: draw(made), 10)  # type: ignore[misc]
            rows.append((f"drawing of {count} bends", statistics.median(times), "ms"))
            rows.append((f"drawing of {count} bends, size", len(draw(made)) / 1024, "KiB"))
    return rows


def main(arguments: list[str]) -> int:
    """Print the table, or JSON."""
    parser = argparse.ArgumentParser(prog="scripts/bench bends", description=__doc__)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    sys.path.insert(0, str(BENCH))
    rows = [row for part in (_plans, _landing, _diagnosis, _drawing) for row in part()]
    if options.json:
        print(json.dumps([{"measure": n, "value": v, "unit": u} for n, v, u in rows]))
        return 0
    from rich.console import Console  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415

    table = Table("measure", "value", "unit")
    for name, value, unit in rows:
        table.add_row(name, f"{value:.3g}", unit)
    Console().print(table)
    return 0
