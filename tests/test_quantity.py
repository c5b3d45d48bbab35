"""Readings: published factors, kinds that do not mix, rounding, and how they are written."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.errors import WrongKind
from handsfree.quantity import (
    Kind,
    Reading,
    band_text,
    degrees,
    feet_and_inches,
    feet_text,
    fraction_text,
    inches,
    number_text,
    pounds_and_ounces,
    pounds_text,
    rounded,
    told_in,
    units,
    written,
)

FILE = Path(__file__).parent / "published" / "units.csv"
with FILE.open(encoding="utf-8", newline="") as text:
    ROWS = list(csv.DictReader(text))
ATMOSPHERE = Reading(Fraction("14.7"), "psi", Kind.ABSOLUTE_PRESSURE)


def reading(value: str | int, unit: str, kind: Kind) -> Reading:
    return Reading(Fraction(value), unit, kind)


# ------------------------------------------------------------------------------ published factors


@pytest.mark.parametrize("row", ROWS, ids=[f"{row['unit']} to {row['to']}" for row in ROWS])
def test_published_factors(row: dict[str, str]) -> None:
    assert row["source"]
    given_one = reading(row["value"], row["unit"], Kind(row["kind"]))
    value = given_one.to(row["to"]).value
    assert isinstance(value, Fraction), "exact values stay exact"
    assert abs(value - Fraction(row["expected"])) <= Fraction(row["tolerance"])


def test_every_unit_has_a_published_row() -> None:
    # An angle has one unit, so there is nothing to convert it to.
    assert {row["unit"] for row in ROWS} == set(units()) - {"degree"}


def test_every_kind_has_a_usual_unit() -> None:
    kinds = {kind for unit in units().values() for kind in unit.usual}
    assert kinds == set(Kind)
    for unit in units().values():
        assert set(unit.usual) <= set(unit.kinds)


@settings(deadline=None)
@given(st.fractions(-10_000, 10_000), st.sampled_from(sorted(units())), st.data())
def test_there_and_back_is_exact(value: Fraction, name: str, data: st.DataObject) -> None:
    kind = data.draw(st.sampled_from(units()[name].kinds))
    others = sorted(other for other, unit in units().items() if kind in unit.kinds)
    other = data.draw(st.sampled_from(others))
    start = Reading(value, name, kind)
    assert start.to(other).to(name) == start


# ------------------------------------------------------------------------- kinds that do not mix


def test_a_temperature_difference_is_no_temperature() -> None:
    warm = reading(10, "fahrenheit", Kind.TEMPERATURE_DIFFERENCE)
    with pytest.raises(WrongKind, match="temperature difference, and I need a temperature"):
        warm.of_kind(Kind.TEMPERATURE)
    # 5 °F of superheat is 2.78 K and not -15 °C: arithmetic.
    five = reading(5, "fahrenheit", Kind.TEMPERATURE_DIFFERENCE)
    assert five.to("kelvin").value == Fraction(25, 9)
    assert reading(5, "fahrenheit", Kind.TEMPERATURE).to("celsius").value == -15


def test_a_vacuum_is_no_length() -> None:
    with pytest.raises(WrongKind):
        reading(500, "micron", Kind.LENGTH)
    with pytest.raises(WrongKind):
        reading(500, "micron", Kind.VACUUM).to("millimetre")


def test_torque_is_no_energy_and_no_pressure() -> None:
    with pytest.raises(WrongKind):
        reading(45, "newton_metre", Kind.TORQUE).to("psi")
    with pytest.raises(WrongKind):
        reading(45, "foot_pound", Kind.MASS)


def test_gauge_is_not_absolute_without_an_atmosphere() -> None:
    gauge = reading(600, "psi", Kind.GAUGE_PRESSURE)
    with pytest.raises(WrongKind):
        gauge.absolute()
    with pytest.raises(WrongKind):
        gauge.of_kind(Kind.ABSOLUTE_PRESSURE)
    with pytest.raises(WrongKind):
        gauge.absolute(reading(14, "psi", Kind.GAUGE_PRESSURE))
    assert gauge.absolute(ATMOSPHERE).value == Fraction("614.7")
    assert gauge.absolute(ATMOSPHERE).gauge(ATMOSPHERE) == gauge


def test_an_absolute_pressure_needs_the_atmosphere_to_be_gauge() -> None:
    absolute = reading("14.7", "psi", Kind.ABSOLUTE_PRESSURE)
    with pytest.raises(WrongKind):
        absolute.gauge()
    assert absolute.gauge(ATMOSPHERE).value == 0
    assert absolute.absolute() == absolute


def test_a_vacuum_is_absolute_already() -> None:
    # 500 µmHg is 66.661 Pa: NIST SP 811 (2008), Appendix B.8.
    found = reading(500, "micron", Kind.VACUUM).absolute()
    assert found.kind is Kind.ABSOLUTE_PRESSURE
    assert float(found.to("pascal").value) == pytest.approx(66.661, abs=0.0005)


def test_sums_and_differences() -> None:
    twelve, nine = inches(Fraction(12)), inches(Fraction(9))
    assert twelve.plus(nine) == inches(Fraction(21))
    assert twelve.minus(Reading(Fraction(1), "foot", Kind.LENGTH)) == inches(Fraction(0))
    with pytest.raises(WrongKind):
        twelve.plus(degrees(Fraction(90)))
    liquid = reading(95, "fahrenheit", Kind.TEMPERATURE)
    saturation = reading(105, "fahrenheit", Kind.TEMPERATURE)
    drop = saturation.minus(liquid)
    assert drop == reading(10, "fahrenheit", Kind.TEMPERATURE_DIFFERENCE)
    assert liquid.plus(drop) == saturation
    assert saturation.minus(drop) == liquid
    # A difference of 10 °C is 18 °F, never 50 °F: arithmetic.
    ten = reading(10, "celsius", Kind.TEMPERATURE_DIFFERENCE)
    assert liquid.plus(ten).value == 113
    with pytest.raises(WrongKind):
        liquid.plus(saturation)


def test_the_error_tells_both_kinds() -> None:
    with pytest.raises(WrongKind) as found:
        degrees(Fraction(90)).of_kind(Kind.LENGTH)
    assert (found.value.got, found.value.wanted) == (Kind.ANGLE, Kind.LENGTH)
    assert str(found.value) == "That is an angle, and I need a length."


def test_a_band_of_what_is_plausible() -> None:
    low, high = degrees(Fraction(1)), degrees(Fraction(180))
    assert all(degrees(Fraction(value)).inside(low, high) for value in (1, 90, 180))
    assert not any(degrees(Fraction(value)).inside(low, high) for value in (0, 181))
    assert degrees(Fraction(181)).inside(low, None)
    assert degrees(Fraction(0)).inside(None, high)
    # 10 m is 393.7 in
    ten_metres = reading(10, "metre", Kind.LENGTH)
    assert not ten_metres.inside(inches(Fraction(1)), inches(Fraction(393)))
    assert ten_metres.inside(inches(Fraction(1)), inches(Fraction(394)))
    # 10 inches of vacuum are 4.9 psi below the atmosphere, and count downwards
    vacuum = reading(10, "inch_of_vacuum", Kind.GAUGE_PRESSURE)
    lowest, highest = (reading(end, "psi", Kind.GAUGE_PRESSURE) for end in (-15, 50))
    assert vacuum.inside(lowest, highest)
    assert not vacuum.inside(reading(-4, "psi", Kind.GAUGE_PRESSURE), highest)
    with pytest.raises(WrongKind):
        ten_metres.inside(low, high)


# ---------------------------------------------------------------------------- rounding to the tape


def test_half_a_step_goes_up() -> None:
    sixteenth = Fraction(1, 16)
    assert rounded(Fraction(1, 32), sixteenth) == sixteenth
    assert rounded(Fraction(3, 32), sixteenth) == Fraction(1, 8)
    assert rounded(Fraction(-1, 32), sixteenth) == 0
    assert rounded(Fraction(1, 33), sixteenth) == 0
    assert rounded(Fraction(1, 33), sixteenth, "up") == sixteenth
    assert rounded(Fraction(1, 8), sixteenth, "up") == Fraction(1, 8)
    assert rounded(Fraction(1, 8) - Fraction(1, 1000), sixteenth, "down") == sixteenth


def test_the_noise_of_floating_point_adds_no_sixteenth() -> None:
    assert rounded(11.0625000000001, Fraction(1, 16), "up") == Fraction(177, 16)
    assert rounded(11.0624999999999, Fraction(1, 16), "down") == Fraction(177, 16)


@settings(deadline=None)
@given(st.fractions(0, 10_000), st.sampled_from([2, 16, 32, 64]))
def test_rounding_never_moves_by_more_than_a_step(value: Fraction, parts: int) -> None:
    step = Fraction(1, parts)
    nearest, up, down = (rounded(value, step, way) for way in ("nearest", "up", "down"))
    assert down <= value <= up
    assert up - down in (0, step)
    assert abs(nearest - value) <= step / 2
    assert nearest in (up, down)


@settings(deadline=None)
@given(st.fractions(0, 10_000), st.sampled_from([2, 16, 32, 64]))
def test_rounding_twice_is_rounding_once(value: Fraction, parts: int) -> None:
    once = rounded(value, Fraction(1, parts))
    assert rounded(once, Fraction(1, parts)) == once


# -------------------------------------------------------------------------------------- as written


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (Fraction(177, 16), "11-1/16"),
        (Fraction(3, 8), "3/8"),
        (Fraction(12), "12"),
        (Fraction(0), "0"),
        (Fraction(-1, 2), "-1/2"),
        (Fraction(-3, 2), "-1-1/2"),
    ],
)
def test_tape_fractions(value: Fraction, expected: str) -> None:
    assert fraction_text(value) == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (Fraction(1, 3), "0.3333"),
        (Fraction("0.63"), "0.63"),
        (Fraction(551), "551"),
        (66.66119, "66.6612"),
        (-0.00001, "0"),
        (1000.0, "1000"),
    ],
)
def test_decimals(value: Fraction | float, expected: str) -> None:
    assert number_text(value) == expected


@pytest.mark.parametrize(
    ("one", "expected"),
    [
        (inches(Fraction(177, 16)), "11-1/16 in"),
        (inches(Fraction(1, 3)), "0.3333 in"),
        (degrees(Fraction(90)), "90°"),
        (degrees(Fraction("22.5")), "22.5°"),
        (reading(551, "psi", Kind.GAUGE_PRESSURE), "551 psi"),
        (reading(45, "newton_metre", Kind.TORQUE), "45 N·m"),
        (reading("-2.5", "celsius", Kind.TEMPERATURE), "-2.5°C"),
        (reading(2, "percent", Kind.SLOPE), "2%"),
        (reading(3, "one", Kind.COUNT), "3"),
    ],
)
def test_readings_on_paper(one: Reading, expected: str) -> None:
    assert written(one) == expected


def test_feet_and_inches() -> None:
    seventy_four = inches(Fraction(149, 2))
    assert feet_and_inches(seventy_four) == (6, Fraction(5, 2))
    assert feet_text(seventy_four) == "6 ft 2-1/2 in"
    assert feet_text(inches(Fraction(72))) == "6 ft"
    assert feet_text(inches(Fraction(9))) == "9 in"
    assert feet_text(inches(Fraction(0))) == "0 in"
    # 6 ft 2 in, 9 ft and 14 ft 7-1/2 in make 29 ft 9-1/2 in: arithmetic.
    legs = [inches(Fraction(value)) for value in ("74", "108", "351/2")]
    assert feet_text(legs[0].plus(legs[1]).plus(legs[2])) == "29 ft 9-1/2 in"


def test_pounds_and_ounces() -> None:
    eighteen = reading(18, "ounce", Kind.MASS)
    assert pounds_and_ounces(eighteen) == (1, 2)
    assert pounds_text(eighteen) == "1 lb 2 oz"
    assert pounds_text(reading(3, "pound", Kind.MASS)) == "3 lb"
    assert pounds_text(reading(9, "ounce", Kind.MASS)) == "9 oz"
    # 2.4 kg is 5 lb and 4.66 oz: NIST SP 811 (2008), Appendix B.8.
    pounds, ounces = pounds_and_ounces(reading("2.4", "kilogram", Kind.MASS))
    assert pounds == 5
    assert float(ounces) == pytest.approx(4.66, abs=0.005)


def test_bands() -> None:
    low, high = (reading(one, "millimetre", Kind.LENGTH) for one in ("12.8", "13.2"))
    assert band_text(low, high) == "12.8 to 13.2 mm"
    low, high = (reading(one, "newton_metre", Kind.TORQUE) for one in (45, 50))
    assert band_text(low, high) == "45 to 50 N·m"


def test_a_unit_that_metric_work_tells_otherwise_has_a_metric_like_of_its_kind() -> None:
    likes = {name: unit.metric for name, unit in units().items() if unit.metric != name}
    assert likes["inch"] == "millimetre"
    assert likes["psi"] == "bar"
    for name, like in likes.items():
        assert (units()[name].system, units()[like].system) == ("inch", "metric")
        assert set(units()[name].kinds) & set(units()[like].kinds)
        assert told_in("millimetre", name) == like
        assert told_in("inch", name) == name
