"""What turns the parts of a number rule into its value, by rule.

The parts of a rule are what its words are tagged with (text: a number such as `12` or `1/2`, a
unit's name, a mark such as `heavy`) and the values of the rules inside it. Everything is exact.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from handsfree.language.grammar import REJECT, Evaluator, Values
from handsfree.language.sizes import as_sold
from handsfree.language.spoken import Band, Sense, Spoken, Thread
from handsfree.quantity import units

INCHES_IN_A_FOOT = 12
OUNCES_IN_A_POUND = 16
_NUMBER = re.compile(r"[0-9]+(?:[/.][0-9]+)?")
_TAPE = (4, 8, 16, 32, 64)
_BASES = frozenset(("gauge", "absolute", "outside", "nominal"))
_TOUCHES = frozenset(("heavy", "light"))


def _value(part: Any) -> Fraction | None:
    """Return the number that a part is, or None for a unit or a mark."""
    if isinstance(part, Spoken):
        return part.value
    if isinstance(part, str):
        return Fraction(part) if _NUMBER.fullmatch(part) else None
    return Fraction(part)


def _numbers(values: Values) -> list[Fraction]:
    return [number for number in map(_value, values) if number is not None]


def _total(values: Values) -> Fraction:
    return sum(_numbers(values), Fraction(0))


def _around(values: Values, unit: str) -> tuple[Fraction, Fraction]:
    """Return the sums before and after the name of a unit; nothing before it is one."""
    place = values.index(unit)
    before = _numbers(values[:place])
    return (sum(before, Fraction(0)) if before else Fraction(1)), _total(values[place + 1 :])


def _cardinal(values: Values) -> int:
    total = current = 0
    for part in values:
        if isinstance(part, str) and part.startswith("x"):
            current = max(current, 1) * int(part[1:])
            if int(part[1:]) > 100:  # noqa: PLR2004 - hundreds stay open for what follows
                total, current = total + current, 0
        else:
            current += int(part)
    return total + current


def _clipped(values: Values) -> int:
    head, *rest = (int(part) for part in values)
    return head * 100 + sum(rest)


def _joined(values: Values) -> str:
    return "".join(str(part) for part in values)


def _figures(values: Values) -> Spoken:
    return Spoken(Fraction(_joined(values)), sense=Sense.FIGURES)


def _decimals(values: Values) -> Fraction:
    return Fraction("0." + _joined(values))


def _fraction(values: Values) -> Fraction:
    """Value of a numerator, if one was said, and a denominator; or of a typed fraction."""
    if isinstance(values[-1], Fraction):
        return values[-1]
    return (_total(values[:-1]) or Fraction(1)) / int(values[-1])


def _measure(values: Values) -> Spoken:
    """Value of a number, and whether it was told in fractions of the tape."""
    total = _total(values)
    return Spoken(total, sense=Sense.FRACTION if total.denominator in _TAPE else Sense.SAID)


def _slot(values: Values) -> Spoken:
    """Value of a number with what was said around it: unit, heavy or light, gauge, below."""
    found = next((part for part in values if isinstance(part, Spoken)), None)
    if found is None:
        found = Spoken(_total(values))
    for part in values:
        if not isinstance(part, str) or not part or _NUMBER.fullmatch(part):
            continue
        if part == "minus":
            found = replace(found, value=-found.value)
        elif part in _BASES:
            found = replace(found, basis=part)
        elif part in _TOUCHES:
            found = replace(found, touch=part)
        else:
            found = replace(found, unit=part)
    return found


BENCH_ANGLES = frozenset(
    map(Fraction, ("10", "15", "45/2", "30", "45", "60", "75", "90", "120", "135", "180"))
)
"""The angles, in degrees, that benders are marked for and offsets bent at: common practice."""


def _bench_angle(values: Values) -> Any:
    """Return an angle that a bender is marked for, or one that was said with its unit."""
    spoken = _slot(values)
    return spoken if spoken.unit is not None or spoken.value in BENCH_ANGLES else REJECT


def _temperature(values: Values) -> Spoken:
    """Value of a temperature: "degrees" alone names no scale."""
    return _slot(tuple(part for part in values if part != "degree"))


def _plain(values: Values) -> Spoken:
    return replace(_slot(values), unit="one")


def _point_one(values: Values) -> Spoken:
    *whole, tenth = _numbers(values)
    return Spoken(sum(whole) + tenth / 10, sense=Sense.POINT_ONE)


def _point_two(values: Values) -> Spoken:
    whole, *rest = _numbers(values)
    return Spoken(whole + sum(rest) / Fraction(100), sense=Sense.POINT_TWO)


def _point_three(values: Values) -> Spoken:
    return Spoken(Fraction(int(_joined(values)), 1000), "inch", sense=Sense.THOUSANDTHS)


def _inches_and(values: Values) -> Spoken:
    whole, more = _around(values, "inch")
    return replace(_slot(values), value=whole + more)


def _feet_and_inches(values: Values) -> Spoken:
    feet, more = _around(values, "foot")
    marked = _slot(tuple(part for part in values if part in _TOUCHES))
    return replace(marked, value=feet * INCHES_IN_A_FOOT + more, unit="inch")


def _feet_and_part(values: Values) -> Spoken:
    feet, more = _around(values, "foot")
    return Spoken(feet + more, "foot")


def _route(values: Values) -> Spoken:
    *feet, more = _numbers(values)
    return Spoken(sum(feet) * INCHES_IN_A_FOOT + more, "inch", sense=Sense.ROUTE)


def _count_of(values: Values) -> Fraction:
    """Value of how many of a unit; nothing said is one."""
    return _total(values) or Fraction(1)


def _parts_of(unit: str, share: int) -> Evaluator:
    """Return the evaluator of a count and a part that stands for so many of its shares."""

    def evaluate(values: Values) -> Spoken:
        whole, more = _numbers(values)
        return Spoken(whole + more / share, unit)

    return evaluate


_MILLIMETRES = {"millimetre": 1, "centimetre": 10}


def _metres_and_unit(values: Values) -> Spoken:
    whole, more = _numbers(values)
    return Spoken(whole * 1000 + more * _MILLIMETRES[values[-1]], "millimetre")


def _inch_size(values: Values) -> Spoken:
    return replace(_slot(values), unit="inch")


def _size(values: Values) -> Spoken:
    return as_sold(_slot(values))


def _pair(values: Values) -> tuple[Spoken, ...]:
    return tuple(part for part in values if isinstance(part, Spoken))


def _thread(values: Values) -> Thread:
    numbers = _numbers(values)
    return Thread(numbers[0], int(numbers[-1]))


def _pounds_and_ounces(values: Values) -> Spoken:
    pounds, more = _around(values, "pound")
    return Spoken(pounds * OUNCES_IN_A_POUND + more, "ounce")


def _unit_and_part(values: Values) -> Spoken:
    """Value of "a pound and a half": the part is of the unit before it."""
    unit = next(part for part in values if isinstance(part, str) and part in units())
    whole, more = _around(values, unit)
    return Spoken(whole + more, unit)


def _sixties(unit: str, of: str) -> Evaluator:
    """Return the evaluator of hours and minutes, or of minutes and seconds."""

    def evaluate(values: Values) -> Spoken:
        whole, more = _around(values, of)
        return Spoken(whole * 60 + more, unit)

    return evaluate


def _clock(values: Values) -> Spoken:
    """Value of "two thirty": minutes, and the seconds after them."""
    whole, *rest = _numbers(values)
    return Spoken(whole * 60 + sum(rest), "second", sense=Sense.CLOCK)


def _one_in(values: Values) -> Spoken:
    return Spoken(Fraction(100) / _total(values), "percent")


def _mil_in_metre(values: Values) -> Spoken:
    return Spoken(_numbers(values)[0] / 10, "percent")


def _inches_in_feet(values: Values) -> Spoken:
    inches, feet = _numbers(values)
    return Spoken(inches / feet, "inch_per_foot")


def _slope_in_foot(values: Values) -> Spoken:
    return Spoken(_total(values), "inch_per_foot")


def _band(values: Values) -> Band:
    low, high = _pair(values)
    if low.unit is None and high.unit is not None:
        low = replace(low, unit=high.unit)
    if high.unit is None and low.unit is not None:
        high = replace(high, unit=low.unit)
    return Band(low, high)


def _of(evaluator: Evaluator, names: str) -> dict[str, Evaluator]:
    return dict.fromkeys(names.split(), evaluator)


EVALUATORS: Mapping[str, Evaluator] = {
    **_of(
        _cardinal,
        "two_figures below_hundred hundreds long_hundreds below_thousand thousands millions "
        "natural over_eleven",
    ),
    **_of(
        _total,
        "to_seven to_fifteen to_nineteen to_thirty_one to_sixty_three "
        "odd_to_fifteen odd_to_nine odd_to_thirty_one odd_to_sixty_three and_part "
        "decimal below_foot foot_part route_ones route_teens below_pound some_ounces to_fifty_nine "
        "dozen",
    ),
    **_of(_measure, "fraction mixed"),
    **_of(_fraction, "counted part on_tape size_fraction"),
    **_of(_joined, "figure"),
    **_of(lambda values: _joined(values) * 2, "double double_ones"),
    **_of(lambda values: _joined(values) * 3, "triple"),
    **_of(
        _slot,
        "measure amount some signed bare_length unit_length heavy_part part_of clipped_length "
        "length decimal_inch angle half_pressure pressure gauge_pressure absolute_pressure vacuum "
        "torque part_of_mass clipped_mass mass mass_per_length volume flow force energy power "
        "part_of_time "
        "time_amount time "
        "slope ratio decimal_size metric_size",
    ),
    **_of(_plain, "number integer count"),
    **_of(_temperature, "temperature temperature_difference"),
    **_of(_count_of, "metre_count kilo_count"),
    **_of(_unit_and_part, "mass_and_part time_and_part"),
    **_of(
        _band,
        "length_band angle_band gauge_pressure_band vacuum_band temperature_band torque_band "
        "mass_band time_band",
    ),
    "bench_angle": _bench_angle,
    "clipped": _clipped,
    "paired": _clipped,
    "figures": _figures,
    "decimals": _decimals,
    "point_one": _point_one,
    "point_two": _point_two,
    "point_three": _point_three,
    "inches_and": _inches_and,
    "feet_and_inches": _feet_and_inches,
    "feet_and_part": _feet_and_part,
    "route": _route,
    "metres_and_hundredths": _parts_of("metre", 100),
    "metres_and_tenths": _parts_of("metre", 10),
    "metres_and_thousandths": _parts_of("metre", 1000),
    "metres_and_unit": _metres_and_unit,
    "inch_size": _inch_size,
    "size": _size,
    "thread": _thread,
    "pounds_and_ounces": _pounds_and_ounces,
    "kilos_and_grams": _parts_of("kilogram", 1000),
    "kilos_and_few_grams": _parts_of("kilogram", 1000),
    "kilos_and_hundredths": _parts_of("kilogram", 100),
    "kilos_and_tenths": _parts_of("kilogram", 10),
    "hours_and_minutes": _sixties("minute", "hour"),
    "minutes_and_seconds": _sixties("second", "minute"),
    "clock": _clock,
    "one_in": _one_in,
    "mil_in_metre": _mil_in_metre,
    "inches_in_feet": _inches_in_feet,
    "slope_in_foot": _slope_in_foot,
}
"""The evaluator of each rule of `data/grammar/numbers.jsgf` that has a value of its own."""
