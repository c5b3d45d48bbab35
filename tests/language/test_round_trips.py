"""Words to numbers and back: every value of the trade, and every way of saying it.

The way out (`say_…`) and the way in (`readings`) are two pieces of code over one grammar; each
checks the other, and the general libraries of `test_cross_checks` check both.
"""

from __future__ import annotations

import csv
import re
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from handsfree.language.numbers import readings
from handsfree.language.sizes import sizes
from handsfree.language.speaking import Form, say_decimal, say_figures, say_integer, say_reading
from handsfree.language.tokens import tokenise
from handsfree.language.units import settle
from handsfree.quantity import Kind, Reading, units, written

ROOT = Path(__file__).parents[2]
SIXTEENTHS_TO_100_FEET = 100 * 12 * 16
THIRTY_SECONDS_TO_10_FEET = 10 * 12 * 32
MOST_EXHAUSTIVE = 9_999


def _back(text: str, kind: Kind, unit: str) -> object:
    rule = "number" if unit == "one" else kind.replace(" ", "_")
    return settle(readings(tokenise(text), rule), kind, unit)


def _length_holds(value: Fraction, form: Form) -> None:
    reading = Reading(value, "inch", Kind.LENGTH)
    said = say_reading(reading, form)
    found = _back(said, Kind.LENGTH, "inch")
    assert isinstance(found, Reading), (said, found)
    assert found.to("inch").value == value, said
    assert say_reading(found.to("inch"), form) == said


@pytest.mark.parametrize("form", ["plain", "feet"])
def test_every_sixteenth_to_a_hundred_feet(form: Form) -> None:
    for count in range(1, SIXTEENTHS_TO_100_FEET + 1):
        _length_holds(Fraction(count, 16), form)


@pytest.mark.parametrize("form", ["plain", "feet"])
def test_every_thirty_second_to_ten_feet(form: Form) -> None:
    for count in range(1, THIRTY_SECONDS_TO_10_FEET + 1):
        _length_holds(Fraction(count, 32), form)


def test_every_sixteenth_to_a_hundred_feet_as_written() -> None:
    for count in range(1, SIXTEENTHS_TO_100_FEET + 1):
        reading = Reading(Fraction(count, 16), "inch", Kind.LENGTH)
        assert _back(written(reading), Kind.LENGTH, "inch") == reading


def test_every_integer_in_full() -> None:
    for value in range(MOST_EXHAUSTIVE + 1):
        words = say_integer(value)
        found = readings(tokenise(words), "number")
        assert [spoken.value for spoken in found] == [value]
        assert say_integer(int(found[0].value)) == words


def _tens(value: int) -> str:
    return say_integer(value)


def _other_ways(value: int) -> set[str]:
    """Return further ways in which people say a whole number from 1 to 9,999."""
    ways: set[str] = set()
    hundreds, rest = divmod(value, 100)
    if 1 <= hundreds <= 9 and rest >= 10:
        ways.add(f"{_tens(hundreds)} {_tens(rest)}")  # one fifty
    if 1 <= hundreds <= 9 and 1 <= rest <= 9:
        ways.add(f"{_tens(hundreds)} oh {_tens(rest)}")  # one oh five
    if hundreds == 1 or 11 <= hundreds <= 99:
        first = ["a", ""] if hundreds == 1 else [_tens(hundreds)]
        tails = [""] if rest == 0 else [f" {_tens(rest)}", f" and {_tens(rest)}"]
        ways.update(f"{head} hundred{tail}".strip() for head, tail in product(first, tails))
    if value >= 10:
        ways.add(say_figures(value))
    if 11 <= value <= 99 and value % 11 == 0:
        ways.add(f"double {_tens(value % 10)}")
    return ways


def test_every_other_way_of_saying_an_integer() -> None:
    for value in range(1, MOST_EXHAUSTIVE + 1):
        for words in _other_ways(value):
            found = [spoken.value for spoken in readings(tokenise(words), "number")]
            assert found == [value], words


def test_every_decimal_to_ten_by_thousandths() -> None:
    for count in range(10_001):
        value = Fraction(count, 1000)
        found = readings(tokenise(say_decimal(value)), "number")
        assert [spoken.value for spoken in found] == [value]


@pytest.mark.parametrize("unit", ["fahrenheit", "celsius"])
def test_every_half_degree_from_minus_forty_to_a_hundred_and_forty(unit: str) -> None:
    for count in range(-80, 281):
        reading = Reading(Fraction(count, 2), unit, Kind.TEMPERATURE)
        assert _back(say_reading(reading), Kind.TEMPERATURE, unit) == reading
        assert _back(written(reading), Kind.TEMPERATURE, unit) == reading


def test_every_half_ounce_to_fifty_pounds() -> None:
    for count in range(1, 50 * 16 * 2 + 1):
        reading = Reading(Fraction(count, 2), "ounce", Kind.MASS)
        for form in ("plain", "pounds"):
            found = _back(say_reading(reading, form), Kind.MASS, "ounce")
            assert isinstance(found, Reading)
            assert found.to("ounce").value == reading.value


def test_every_test_pressure_in_psi_and_in_bar() -> None:
    for count in range(651):
        reading = Reading(Fraction(count), "psi", Kind.GAUGE_PRESSURE)
        assert _back(say_reading(reading), Kind.GAUGE_PRESSURE, "psi") == reading
        assert _back(say_reading(reading, "figures"), Kind.GAUGE_PRESSURE, "psi") == reading
    for count in range(451):
        reading = Reading(Fraction(count, 10), "bar", Kind.GAUGE_PRESSURE)
        assert _back(say_reading(reading), Kind.GAUGE_PRESSURE, "psi") == reading


@pytest.mark.parametrize("form", ["plain", "decimal"])
def test_every_tube_size_that_is_sold(form: Form) -> None:
    told = [(value, "inch") for value in sizes().inch]
    if form == "plain":
        told += [(value, "millimetre") for value in sizes().millimetre]
    for value, unit in told:
        reading = Reading(value, unit, Kind.LENGTH)
        said = say_reading(reading, form)
        (found,) = readings(tokenise(said), "size")
        settled = settle([found], Kind.LENGTH, None)
        assert isinstance(settled, Reading), said
        assert settled.to(unit).value == value, said


def test_every_name_in_millimetres_is_the_inch_size_that_it_is_sold_as() -> None:
    for name, value in sizes().named.items():
        said = say_reading(Reading(name, "millimetre", Kind.LENGTH))
        (found,) = readings(tokenise(said), "size")
        assert (found.value, found.unit) == (value, "inch"), said


@pytest.mark.parametrize(
    ("unit", "most", "step"),
    [
        ("newton_metre", 150, Fraction(1, 2)),
        ("foot_pound", 110, Fraction(1, 2)),
        ("inch_pound", 1300, Fraction(1)),
        ("kilogram_centimetre", 1500, Fraction(1)),
    ],
)
def test_every_torque_to_beyond_the_largest_nut(unit: str, most: int, step: Fraction) -> None:
    for count in range(1, int(most / step) + 1):
        reading = Reading(count * step, unit, Kind.TORQUE)
        for form in ("plain", "decimal"):
            assert _back(say_reading(reading, form), Kind.TORQUE, "newton_metre") == reading


@pytest.mark.parametrize(
    ("unit", "kind", "most"),
    [
        ("psi", Kind.GAUGE_PRESSURE, 4000),
        ("kilopascal", Kind.GAUGE_PRESSURE, 5000),
        ("psi", Kind.ABSOLUTE_PRESSURE, 700),
        ("micron", Kind.VACUUM, 5000),
    ],
)
def test_every_pressure_of_a_line_and_every_vacuum_of_a_gauge(
    unit: str, kind: Kind, most: int
) -> None:
    for count in range(1, most + 1):
        reading = Reading(Fraction(count), unit, kind)
        assert _back(say_reading(reading), kind, unit) == reading


_VALUE = re.compile(r"(-?[0-9]+(?:-[0-9]+/[0-9]+|/[0-9]+|\.[0-9]+)?) ([a-z_]+)")


def _published() -> set[tuple[Fraction, str]]:
    """Return every value with a unit of the published rows and of the data tables."""
    found: set[tuple[Fraction, str]] = set()
    files = [
        *(ROOT / "tests" / "published").glob("*.csv"),
        *(ROOT / "handsfree" / "data" / "tables").glob("*.csv"),
    ]
    for file in files:
        with file.open(encoding="utf-8", newline="") as text:
            for row in csv.DictReader(text):
                for column, cell in row.items():
                    for number, unit in _VALUE.findall(cell or ""):
                        if unit in units():
                            found.add((_exact(number), unit))
                    found.update(_table_value(str(column), cell or ""))
    return found


COLUMN_UNITS = {
    "_in": "inch",
    "_mm": "millimetre",
    "_newton_metre": "newton_metre",
    "_psi": "psi",
    "_bar": "bar",
}


def _table_value(column: str, cell: str) -> set[tuple[Fraction, str]]:
    for ending, unit in COLUMN_UNITS.items():
        if column.endswith(ending) and re.fullmatch(r"[0-9]+(?:-[0-9]+/[0-9]+|[/.][0-9]+)?", cell):
            return {(_exact(cell), unit)}
    return set()


def _exact(text: str) -> Fraction:
    whole, dash, part = text.rpartition("-")
    return Fraction(whole) + Fraction(part) if dash and whole else Fraction(text)


PUBLISHED = sorted(_published())
FOUR_DECIMALS = 10_000


def test_there_are_published_values() -> None:
    told = {unit for _, unit in PUBLISHED}
    assert {"inch", "newton_metre", "millimetre"} <= told


@pytest.mark.parametrize(("value", "unit"), PUBLISHED)
def test_every_published_value_can_be_said_and_read(value: Fraction, unit: str) -> None:
    if value == 0 or (unit != "inch" and FOUR_DECIMALS % value.denominator):
        return  # nothing is never told as a size; more than four decimals are never spoken
    kind = units()[unit].kinds[0]
    if value < 0 and kind is not Kind.TEMPERATURE:
        return
    reading = Reading(value, unit, kind)
    found = _back(say_reading(reading), kind, unit)
    assert isinstance(found, Reading)
    tolerance = Fraction(1, 2 * FOUR_DECIMALS)
    assert abs(Fraction(found.to(unit).value) - value) <= tolerance
