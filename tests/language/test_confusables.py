"""Numbers that are heard for each other, and how they are read back and asked about."""

from __future__ import annotations

from fractions import Fraction

import pytest

from handsfree.language.confusables import ToldApart, neighbours, pairs, swaps, wants_figures
from handsfree.language.numbers import figures_value, readings
from handsfree.language.readback import confusable_with, read_back, say_choices
from handsfree.language.speaking import say_band, say_decimal, say_figures, say_number, say_reading
from handsfree.language.tokens import tokenise
from handsfree.language.units import Ambiguous
from handsfree.quantity import Kind, Reading, inches

TEENS = {13: 30, 14: 40, 15: 50, 16: 60, 17: 70, 18: 80, 19: 90}
GUARDED = [
    ("five", "nine"),
    ("sixteenth", "sixteen"),
    ("and a half", "a half"),
    ("two", "to"),
    ("two", "too"),
    ("four", "for"),
    ("eight", "ate"),
    ("one", "won"),
    ("half", "have"),
    ("eighths", "eights"),
]


def reading(value: str | int, unit: str, kind: Kind) -> Reading:
    return Reading(Fraction(value), unit, kind)


def newton_metres(value: str | int) -> Reading:
    return reading(value, "newton_metre", Kind.TORQUE)


@pytest.mark.parametrize("pair", GUARDED)
def test_the_pairs_of_the_trade_are_guarded(pair: tuple[str, str]) -> None:
    known = {frozenset(" ".join(side) for side in known.words) for known in pairs()}
    assert frozenset(pair) in known


@pytest.mark.parametrize(("teen", "ten"), TEENS.items())
def test_teens_and_tens_are_told_apart_by_figures(teen: int, ten: int) -> None:
    for value, other in ((teen, ten), (ten, teen)):
        found = {str(one.value): one.told_apart for one in confusable_with(Fraction(value))}
        assert found[str(other)] is ToldApart.FIGURES
        said = say_reading(newton_metres(value), digits=True)
        assert said == f"{say_number(Fraction(value))}, {say_figures(value)} newton metres"


def test_fifty_is_read_back_figure_by_figure() -> None:
    assert read_back(newton_metres(50)) == "fifty, five zero newton metres"
    assert read_back(newton_metres(15)) == "fifteen, one five newton metres"
    assert read_back(newton_metres(45)) == "forty-five newton metres"
    assert figures_value(("five", "zero")) == 50
    assert figures_value(("one", "five")) == 15
    assert figures_value(("banana",)) is None


def test_five_and_nine_are_heard_for_each_other() -> None:
    others = {one.value for one in confusable_with(Fraction(5, 16))}
    assert Fraction(9, 16) in others
    assert Fraction(9) in {one.value for one in confusable_with(Fraction(5))}


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("fifty", True),
        ("fifteen", True),
        ("five hundred and fifteen", True),
        ("fifteen hundred", True),
        ("fifty four", False),
        ("nine", False),
        ("one hundred", False),
    ],
)
def test_when_figures_are_said_too(words: str, wanted: bool) -> None:  # noqa: FBT001 - a row of the table
    assert wants_figures(tokenise(words)) is wanted


def test_swaps_change_one_place_at_a_time() -> None:
    found = {" ".join(tokens) for tokens, _ in swaps(tokenise("fifteen to fifty"))}
    assert {"fifty to fifty", "fifteen to fifteen", "fifteen two fifty"} <= found


def test_the_ear_weighs_every_pair_a_word_less_and_a_word_twice() -> None:
    found = {" ".join(tokens) for tokens in neighbours(tokenise("plus fifteen"))}
    assert {"less fifteen", "plus fifty", "plus sixteen"} <= found
    assert {"plus", "fifteen", "plus plus fifteen", "plus fifteen fifteen"} <= found
    assert "less fifty" not in found
    told = {" ".join(tokens) for tokens, _ in swaps(tokenise("plus fifteen"))}
    assert "plus sixteen" not in told


@pytest.mark.parametrize(
    ("one", "heard", "said"),
    [
        (
            inches(Fraction(57, 4)),
            "fourteen and a quarter",
            "fourteen and a quarter, fourteen point two five inches",
        ),
        (
            inches(Fraction(3, 8)),
            "three eighths",
            "three eighths, zero point three seven five inches",
        ),
        (inches(Fraction(12)), "twelve", "twelve inches"),
        (inches(Fraction(50)), "fifty", "four feet two inches, fifty, five zero inches"),
        (
            inches(Fraction(74)),
            "six foot two",
            "six feet two inches, seventy-four inches",
        ),
        (
            reading(18, "ounce", Kind.MASS),
            "one pound two",
            "one pound two ounces, eighteen, one eight ounces",
        ),
        (reading("1.2", "pound", Kind.MASS), "one point two pounds", "one point two pounds"),
        (reading(551, "psi", Kind.GAUGE_PRESSURE), "", "five hundred and fifty-one psi"),
    ],
)  # fmt: skip
def test_read_back_in_another_form(one: Reading, heard: str, said: str) -> None:
    assert read_back(one, tokenise(heard)) == said


def test_asking_between_two_makes_them_differ_to_the_ear() -> None:
    thirteen = Ambiguous((newton_metres(13), newton_metres(30)))
    assert (
        say_choices(thirteen)
        == "thirteen, one three newton metres, or thirty, three zero newton metres"
    )
    route = Ambiguous((inches(Fraction(74)), reading("6.2", "metre", Kind.LENGTH)))
    assert say_choices(route) == "six feet two inches, or six point two metres"


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (inches(Fraction(177, 16)), "eleven and one sixteenth inches"),
        (inches(Fraction(3, 8)), "three eighths of an inch"),
        (inches(Fraction(1, 2)), "half an inch"),
        (inches(Fraction(1)), "one inch"),
        (inches(Fraction(45, 4)), "eleven and a quarter inches"),
        (inches(Fraction("0.63")), "zero point six three inches"),
        (
            reading("538.5", "psi", Kind.GAUGE_PRESSURE),
            "five hundred and thirty-eight and a half psi",
        ),
        (reading("0.67", "millibar", Kind.VACUUM), "zero point six seven millibars"),
        (reading(500, "micron", Kind.VACUUM), "five hundred microns"),
        (reading("-2.5", "celsius", Kind.TEMPERATURE), "minus two point five degrees Celsius"),
        (reading("22.5", "degree", Kind.ANGLE), "twenty-two and a half degrees"),
        (reading(3, "one", Kind.COUNT), "three"),
    ],
)  # fmt: skip
def test_readings_in_words(one: Reading, said: str) -> None:
    assert say_reading(one) == said


def test_the_other_forms() -> None:
    assert say_reading(inches(Fraction(74)), "feet") == "six feet two inches"
    assert say_reading(inches(Fraction(149, 2)), "feet") == "six feet two and a half inches"
    assert say_reading(inches(Fraction(72)), "feet") == "six feet"
    assert say_reading(reading(18, "ounce", Kind.MASS), "pounds") == "one pound two ounces"
    pressure = reading(550, "psi", Kind.GAUGE_PRESSURE)
    assert say_reading(pressure, "figures") == "five five zero psi"
    assert say_reading(inches(Fraction(57, 4)), "decimal") == "fourteen point two five inches"
    assert say_decimal(Fraction("0.63")) == "zero point six three"


def test_bands_say_their_unit_once() -> None:
    low, high = (reading(one, "millimetre", Kind.LENGTH) for one in ("12.8", "13.2"))
    assert say_band(low, high) == "twelve point eight to thirteen point two millimetres"


def test_what_is_read_back_can_be_read() -> None:
    for value in (13, 15, 30, 50, 90, 113, 150):
        figures = say_figures(value)
        assert [one.value for one in readings(tokenise(figures), "number")] == [value]
