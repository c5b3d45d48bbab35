"""Which unit and which reading were meant: by the slot, or asked."""

from __future__ import annotations

from fractions import Fraction

import pytest

from handsfree.errors import WrongKind
from handsfree.language.grammar import Rule
from handsfree.language.numbers import number_parser, readings
from handsfree.language.spoken import Spoken
from handsfree.language.tokens import tokenise
from handsfree.language.units import Ambiguous, band_readings, settle, to_reading, usual_units
from handsfree.quantity import Kind, Reading, inches


def read(text: str, rule: str) -> list[Spoken]:
    return readings(tokenise(text), rule)


def test_pounds_are_pressure_in_a_pressure_and_weight_on_a_scale() -> None:
    pressure = settle(read("forty pounds", "gauge_pressure"), Kind.GAUGE_PRESSURE, None)
    weight = settle(read("forty pounds", "mass"), Kind.MASS, None)
    assert pressure == Reading(Fraction(40), "psi", Kind.GAUGE_PRESSURE)
    assert weight == Reading(Fraction(40), "pound", Kind.MASS)


def test_pounds_are_never_newton_metres() -> None:
    settled = settle(read("forty pounds", "torque"), Kind.TORQUE, "newton_metre")
    assert isinstance(settled, Ambiguous)
    assert {choice.unit for choice in settled.choices} == {"foot_pound", "inch_pound"}


def test_mil_is_a_millimetre_and_thou_a_thousandth() -> None:
    assert [spoken.unit for spoken in read("nineteen mil", "length")] == ["millimetre"]
    assert [spoken.unit for spoken in read("nineteen thou", "length")] == ["thou"]


def test_bare_newtons_are_newton_metres() -> None:
    (spoken,) = read("forty five newtons", "torque")
    assert to_reading(spoken, Kind.TORQUE, None) == Reading(
        Fraction(45), "newton_metre", Kind.TORQUE
    )


def test_without_any_unit_there_is_no_reading() -> None:
    (spoken,) = read("forty five", "torque")
    assert to_reading(spoken, Kind.TORQUE, None) is None


def test_heavy_and_light_keep_the_base_number() -> None:
    (spoken,) = read("a heavy sixteenth", "length")
    assert (spoken.value, spoken.touch) == (Fraction(1, 16), "heavy")
    (spoken,) = read("fourteen and a quarter shy", "length")
    assert (spoken.value, spoken.touch) == (Fraction(57, 4), "light")


def test_what_is_plausible_decides_between_readings() -> None:
    found = read("one fifty", "length")
    low, high = inches(Fraction(1, 4)), inches(Fraction(600))
    assert isinstance(settle(found, Kind.LENGTH, "inch", low, high), Ambiguous)
    small = settle(found, Kind.LENGTH, "inch", low, inches(Fraction(2)))
    assert small == inches(Fraction(3, 2))
    # A flare on half-inch tube is 0.575 to 0.825 in across: 1.15 to 1.65 times the tube.
    flare = settle(
        read("six thirty one", "decimal_inch"),
        Kind.LENGTH,
        "inch",
        inches(Fraction("0.575")),
        inches(Fraction("0.825")),
    )
    assert flare == inches(Fraction("0.631"))


def test_outside_what_is_plausible_a_lone_reading_still_comes_back() -> None:
    high = inches(Fraction(600))
    assert settle(read("seven hundred", "length"), Kind.LENGTH, "inch", None, high) == inches(
        Fraction(700)
    )


def test_one_value_in_two_units_is_no_question() -> None:
    zero = settle(read("zero", "gauge_pressure"), Kind.GAUGE_PRESSURE, None)
    assert zero == Reading(Fraction(0), "psi", Kind.GAUGE_PRESSURE)
    forty = settle(read("minus forty", "temperature"), Kind.TEMPERATURE, None)
    assert isinstance(forty, Reading), "-40 °F is -40 °C"


def test_no_number_is_no_reading() -> None:
    assert settle([], Kind.LENGTH, "inch") is None


@pytest.mark.parametrize(
    ("text", "rule", "kind", "unit"),
    [
        ("six foot two", "length", Kind.TORQUE, None),
        ("600 psia", "gauge_pressure", Kind.GAUGE_PRESSURE, None),
        ("one bar gauge", "absolute_pressure", Kind.ABSOLUTE_PRESSURE, None),
        ("zero psi", "absolute_pressure", Kind.ABSOLUTE_PRESSURE, None),
        ("nine sixteenths", "size", Kind.LENGTH, None),
    ],
)
def test_what_cannot_be_meant(text: str, rule: str, kind: Kind, unit: str | None) -> None:
    (spoken,) = read(text, rule)
    with pytest.raises(WrongKind):
        to_reading(spoken, kind, unit)


def test_nothing_but_a_temperature_a_count_or_a_ratio_is_below_zero() -> None:
    below = Spoken(Fraction(-1), "inch")
    with pytest.raises(WrongKind, match="below zero"):
        to_reading(below, Kind.LENGTH, None)
    cold = Spoken(Fraction(-1), "celsius")
    reading = to_reading(cold, Kind.TEMPERATURE, None)
    assert reading == Reading(Fraction(-1), "celsius", Kind.TEMPERATURE)


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_has_one_or_two_usual_units(kind: Kind) -> None:
    assert 1 <= len(usual_units(kind)) <= 2


def test_a_band_takes_its_unit_from_either_end() -> None:
    for text in ("forty five to fifty newton metres", "forty five newton metres to fifty"):
        ((band,),) = number_parser().readings(Rule("torque_band"), tokenise(text))
        low, high = band_readings(band, Kind.TORQUE, None)
        assert (low.value, high.value) == (45, 50)
        assert low.unit == high.unit == "newton_metre"


def test_a_band_in_two_units_is_told_in_the_first() -> None:
    words = tokenise("one inch to thirty millimetres")
    ((band,),) = number_parser().readings(Rule("length_band"), words)
    low, high = band_readings(band, Kind.LENGTH, None)
    assert low == inches(Fraction(1))
    assert high.value == Fraction(300, 254)
