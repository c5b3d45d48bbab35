"""Every calculator against the world: each row of tests/published/*.csv names its source.

Inputs are `name=value unit` or `name=word`, several values of one name joined by ` + `; the
expected answers are compared unrounded, within the row's tolerance (half the last printed digit).
"""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest

from handsfree.calculators.card import Parameter, Slot
from handsfree.library import Library
from handsfree.quantity import Reading

FOLDER = Path(__file__).parent / "published"
COLUMNS = ["calculator", "inputs", "expected", "tolerance", "source", "page", "note"]


def _rows() -> list[tuple[str, int, dict[str, str]]]:
    found = []
    for file in sorted(FOLDER.glob("*.csv")):
        with file.open(encoding="utf-8", newline="") as text:
            reader = csv.DictReader(text)
            if reader.fieldnames != COLUMNS:
                continue
            found.extend((file.name, line, row) for line, row in enumerate(reader, start=2))
    return found


ROWS = _rows()


def _number(text: str) -> Fraction:
    """Read `11-3/4`, `3/8`, `30.98` or `-12`."""
    whole, dash, part = text.rpartition("-")
    return Fraction(whole) + Fraction(part) if dash and whole else Fraction(text)


def _slots(library: Library, name: str, text: str) -> dict[str, Slot]:
    card = library.cards[name]
    slots: dict[str, Slot] = {}
    for pair in text.split(";"):
        key, _, value = pair.strip().partition("=")
        parameter = card.by_name[key]
        if not isinstance(parameter, Parameter):
            slots[key] = value
            continue
        readings = []
        for one in value.split(" + "):
            number, _, unit = one.strip().partition(" ")
            readings.append(Reading(_number(number), unit, parameter.kind))
        slots[key] = tuple(readings) if parameter.many else readings[0]
    return slots


@pytest.mark.parametrize(
    ("file", "line", "row"), ROWS, ids=[f"{file}:{line}" for file, line, _ in ROWS]
)
def test_published(file: str, line: int, row: dict[str, str], known: Library) -> None:
    assert row["source"], f"{file}:{line} names no source"
    if row["calculator"] not in known.cards:
        pytest.fail(f"{file}:{line}: no calculator {row['calculator']}")
    outcome = known.cards[row["calculator"]].run(_slots(known, row["calculator"], row["inputs"]))
    for pair in row["expected"].split(";"):
        name, _, value = pair.strip().partition("=")
        number, _, unit = value.partition(" ")
        got = outcome.answers[name].to(unit).value
        assert abs(float(got) - float(_number(number))) <= float(row["tolerance"]) + 1e-12


OWN_WORK = ("job practice", "arithmetic", "geometry", "common practice", "from memory", "ideal gas")
BENDS = "bends.csv"


def test_most_of_it_is_from_outside() -> None:
    outside = [
        row
        for file, _, row in ROWS
        if file != BENDS
        and not row["source"].startswith(OWN_WORK)
        and "from memory" not in row["note"]
    ]
    assert len(outside) >= 300
