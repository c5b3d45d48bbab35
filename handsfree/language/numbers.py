"""Words to numbers: every reading of what was said, exact.

The rules stand in `data/grammar/numbers.jsgf`; this module gives them their values. "twenty one"
is 21, or 20 and then 1, and both come back: the slots decide, and what stays open is asked.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Any

from handsfree.language.grammar import (
    REJECT,
    Choice,
    Evaluator,
    Expansion,
    Parser,
    Rule,
    Sequence,
    Terminal,
    Values,
    Word,
    parse_rules,
)
from handsfree.language.tokens import tokenise
from handsfree.quantity import Kind, units

INCHES_IN_A_FOOT = 12
OUNCES_IN_A_POUND = 16
MOST_INTEGER = 9_999_999


@dataclass(frozen=True, slots=True)
class Spoken:
    """A number as it was said: exact value, unit (None where none was said), heavy or light."""

    value: Fraction
    unit: str | None = None
    touch: str | None = None


def _typed(unit_kind: Kind) -> Terminal:
    """Return a terminal that reads a typed symbol of a unit of this kind."""
    table: dict[str, str] = {}
    for unit in units().values():
        if unit_kind in unit.kinds:
            for symbol in unit.typed:
                table.setdefault(symbol, unit.name)
    return table.get


_NUMERAL = re.compile(r"(-?)(?:(\d+)[- ])?(\d+)/(\d+)|(-?\d*\.\d+|-?\d+)")


def numeral(token: str) -> Fraction | None:
    """Return the value of a typed numeral (`14-1/4`, `3/8`, `0.63`), or None."""
    found = _NUMERAL.fullmatch(token)
    if found is None:
        return None
    if found[5] is not None:
        value = Fraction(found[5])
        return value if abs(value) <= MOST_INTEGER else None
    if int(found[4]) == 0:
        return None
    value = int(found[2] or 0) + Fraction(int(found[3]), int(found[4]))
    return -value if found[1] else value


def _total(values: Values) -> Fraction:
    return Fraction(sum(Fraction(value) for value in values))


def _scaled(scale: int) -> Evaluator:
    def evaluate(values: Values) -> Any:
        count = Fraction(values[0])
        return count * scale + (Fraction(values[1]) if len(values) > 1 else 0)

    return evaluate


def _clipped(values: Values) -> Any:
    return Fraction(values[0]) * 100 + values[1]


def _figure(values: Values) -> Any:
    return str(values[0])


def _doubled(values: Values) -> Any:
    return str(values[0]) * 2


def _figures(values: Values) -> Any:
    text = "".join(values)
    return Fraction(text) if len(text) <= len(str(MOST_INTEGER)) else REJECT


def _point(values: Values) -> Any:
    return Fraction("0." + "".join(str(value) for value in values))


def _counted(values: Values) -> Any:
    top, bottom = Fraction(values[0]), int(values[1])
    return top / bottom if top < bottom else REJECT


def _mixed(values: Values) -> Any:
    whole, part = Fraction(values[0]), Fraction(values[1])
    fits = whole > 0 and whole.denominator == 1 and 0 < part < 1
    return whole + part if fits else REJECT


def _exact(values: Values) -> Any:
    return Fraction(values[0])


def _signed(values: Values) -> Any:
    if len(values) == 1:
        return values[0]
    numbers = [value for value in values if value != "-1"]
    return -numbers[0]


def _spoken(values: Values) -> Any:
    """Value of `<amount> [unit]`."""
    unit = values[1] if len(values) > 1 else None
    return Spoken(Fraction(values[0]), unit)


def _bare_length(values: Values) -> Any:
    touch = [value for value in values if isinstance(value, str)]
    number = next(value for value in values if isinstance(value, Fraction))
    return Spoken(number, None, touch[0] if touch else None)


def _inch_length(values: Values) -> Any:
    return replace(_bare_length(values), unit="inch")


def _feet_and_inches(values: Values) -> Any:
    more = Fraction(values[1]) if len(values) > 1 else Fraction(0)
    if more >= INCHES_IN_A_FOOT:
        return REJECT
    return Spoken(Fraction(values[0]) * INCHES_IN_A_FOOT + more, "inch")


def _one_inch_and(values: Values) -> Any:
    return Spoken(1 + Fraction(values[0]), "inch")


def _inch_size(values: Values) -> Any:
    value = values[0]
    return value if isinstance(value, Spoken) else Spoken(Fraction(value), "inch")


def _first(values: Values) -> Any:
    return values[0]


def _angle(values: Values) -> Any:
    return Spoken(Fraction(values[0]), "degree" if len(values) > 1 else None)


def _pounds_and_ounces(values: Values) -> Any:
    if values[1] >= OUNCES_IN_A_POUND:
        return REJECT
    return Spoken(Fraction(values[0]) * OUNCES_IN_A_POUND + values[1], "ounce")


def _mass(values: Values) -> Any:
    return values[0] if isinstance(values[0], Spoken) else _spoken(values)


def _time(values: Values) -> Any:
    if len(values) == 1:
        return Spoken(Fraction(values[0]), "second")
    return Spoken(Fraction(values[0]), values[1])


def _number(values: Values) -> Any:
    return Spoken(Fraction(values[0]), "one")


def _typed_fraction(token: str) -> Fraction | None:
    """Return a typed fraction; a whole number is no tube size."""
    value = numeral(token)
    return value if value is not None and "/" in token else None


_EVALUATORS: Mapping[str, Evaluator] = {
    "below_hundred": _total,
    "hundreds": _scaled(100),
    "thousands": _scaled(1_000),
    "millions": _scaled(1_000_000),
    "integer": _exact,
    "clipped": _clipped,
    "two_figures": _total,
    "figure": _figure,
    "doubled": _doubled,
    "figures": _figures,
    "point": _point,
    "decimal": _total,
    "numerator": _exact,
    "counted": _counted,
    "bare_part": _exact,
    "mixed": _mixed,
    "signed": _signed,
    "number": _number,
    "count": _number,
    "bare_length": _bare_length,
    "inch_length": _inch_length,
    "metric_length": _spoken,
    "whole_feet": _exact,
    "feet_and_inches": _feet_and_inches,
    "one_inch_and": _one_inch_and,
    "inch_size": _inch_size,
    "length": _first,
    "size": _first,
    "angle": _angle,
    "gauge_pressure": _spoken,
    "absolute_pressure": _spoken,
    "vacuum": _spoken,
    "temperature": _spoken,
    "temperature_difference": _spoken,
    "torque": _spoken,
    "pounds_and_ounces": _pounds_and_ounces,
    "mass": _mass,
    "mass_per_length": _spoken,
    "volume": _spoken,
    "flow": _spoken,
    "time": _time,
    "slope": _spoken,
    "ratio": _spoken,
}


def unit_rule(kind: Kind) -> str:
    """Return the name of the rule that reads the units of a kind."""
    return "unit_of_" + kind.replace(" ", "_")


def symbol_rule(kind: Kind) -> str:
    """Return the name of the terminal that reads typed symbols of a kind's units."""
    return "symbol_of_" + kind.replace(" ", "_")


def _unit_words(kind: Kind) -> Expansion:
    """Return the ways of saying each unit of a kind, tagged with the unit's name."""
    ways: dict[tuple[str, ...], str] = {}
    for unit in units().values():
        if kind in unit.kinds:
            for way in (*unit.say, *unit.also):
                words = tokenise(way)
                if words:
                    ways.setdefault(words, unit.name)
    options: list[Expansion] = []
    for words, name in ways.items():
        parts = (*(Word(word) for word in words[:-1]), Word(words[-1], name))
        options.append(parts[0] if len(parts) == 1 else Sequence(parts))
    options.append(Rule(symbol_rule(kind)))
    return Choice(tuple(options))


@cache
def number_rules() -> dict[str, Expansion]:
    """Return the rules of the number words, with those of the units of every kind."""
    place = resources.files("handsfree") / "data" / "grammar" / "numbers.jsgf"
    rules = parse_rules(place.read_text(encoding="utf-8"), "numbers.jsgf")
    rules.update({unit_rule(kind): _unit_words(kind) for kind in Kind})
    return rules


@cache
def number_evaluators() -> Mapping[str, Evaluator]:
    """Return what turns the parts of each rule into its value."""
    return _EVALUATORS


@cache
def number_terminals() -> Mapping[str, Terminal]:
    """Return the rules that read typed tokens: numerals, unit symbols, any word at all."""
    return {
        "numeral": numeral,
        "typed_fraction": _typed_fraction,
        "anything": lambda token: token,
        **{symbol_rule(kind): _typed(kind) for kind in Kind},
    }


@cache
def number_parser() -> Parser:
    """Return a parser of the number words alone."""
    return Parser(number_rules(), number_evaluators(), number_terminals())


def readings(tokens: tuple[str, ...], rule: str) -> list[Spoken]:
    """Return every reading of a whole string of tokens under a rule (`length`, `angle` …)."""
    found = number_parser().readings(Rule(rule), tokens)
    return [values[0] for values in found]
