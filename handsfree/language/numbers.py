"""Words to numbers: every reading of what was said, exact.

The rules stand in `data/grammar/numbers.jsgf`, their values in `evaluators`, what is only typed
in `numerals`. "twenty one" is 21, or 20 and then 1, and both come back: the slots decide, and
what stays open is asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from importlib import resources

from handsfree.language.evaluators import EVALUATORS
from handsfree.language.grammar import (
    Choice,
    Evaluator,
    Expansion,
    Parser,
    Rule,
    Sequence,
    Terminal,
    Word,
    parse_rules,
)
from handsfree.language.numerals import NUMERALS
from handsfree.language.spoken import Band, Sense, Spoken, Thread
from handsfree.language.tokens import tokenise
from handsfree.quantity import Kind, units

SLOT_RULES: tuple[str, ...] = (
    "number",
    "integer",
    "count",
    "length",
    "decimal_inch",
    "size",
    "angle",
    "gauge_pressure",
    "absolute_pressure",
    "vacuum",
    "temperature",
    "temperature_difference",
    "torque",
    "mass",
    "mass_per_length",
    "volume",
    "flow",
    "force",
    "energy",
    "power",
    "time",
    "slope",
    "ratio",
)
"""The rules that read one slot of a phrase, or the answer to one question."""
COMPOSED: tuple[str, ...] = (
    "inch",
    "foot",
    "metre",
    "millimetre",
    "pound",
    "ounce",
    "kilogram",
    "gram",
    "hour",
    "minute",
    "second",
)
"""The units whose typed symbols stand between two parts of one number (`6 ft 2 in`)."""


def unit_rule(kind: Kind) -> str:
    """Return the name of the rule that reads the units of a kind."""
    return "unit_of_" + kind.replace(" ", "_")


def symbol_rule(kind: Kind) -> str:
    """Return the name of the terminal that reads typed symbols of a kind's units."""
    return "symbol_of_" + kind.replace(" ", "_")


def _symbols(kind: Kind) -> Terminal:
    """Return a terminal that reads the typed symbols of the units of a kind."""
    table: dict[str, str] = {}
    for unit in units().values():
        if kind in unit.kinds:
            for symbol in unit.typed:
                table.setdefault(symbol, unit.name)
    return table.get


def _symbol(*tokens: str, value: str = "") -> Terminal:
    """Return a terminal that reads these typed tokens as a unit's name, or as no more than said."""
    return lambda token: value if token in tokens else None


def _unit_words(kind: Kind) -> Expansion:
    """Return the ways of saying each unit of a kind, tagged with the unit's name.

    A way that two units share ("kilos" of pressure) stands for both, and so is asked about.
    """
    ways: dict[tuple[tuple[str, ...], str], None] = {}
    for unit in units().values():
        if kind in unit.kinds:
            for way in (*unit.say, *unit.also, *unit.loose):
                words = tokenise(way)
                if words:
                    ways[words, unit.name] = None
    options: list[Expansion] = []
    for words, name in ways:
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
    return EVALUATORS


@cache
def number_terminals() -> Mapping[str, Terminal]:
    """Return the rules that read typed tokens: numerals, unit symbols, any word at all."""
    written = {unit.name: unit.typed for unit in units().values()}
    return {
        **NUMERALS,
        **{symbol_rule(kind): _symbols(kind) for kind in Kind},
        **{f"{name}_symbol": _symbol(*written[name], value=name) for name in COMPOSED},
        "to_symbol": _symbol("-"),
        "plural_symbol": _symbol("s"),
        "anything": lambda token: token,
    }


@cache
def number_parser() -> Parser:
    """Return a parser of the number words alone."""
    return Parser(number_rules(), number_evaluators(), number_terminals())


def readings(tokens: tuple[str, ...], rule: str) -> list[Spoken]:
    """Return every reading of a whole string of tokens under a slot's rule, or a kind's.

    None at all: it is no such number. Several: which was meant must be asked.
    """
    found = number_parser().readings(Rule(rule.replace(" ", "_")), tokens)
    return [values[0] for values in found]


def figures_value(tokens: tuple[str, ...]) -> Fraction | None:
    """Return what tokens are worth figure by figure ("one three" is 13), or None.

    This is how people answer "thirteen or thirty?".
    """
    found = [values[0] for values in number_parser().readings(Rule("figures"), tokens)]
    return found[0].value if found else None


__all__ = [
    "SLOT_RULES",
    "Band",
    "Sense",
    "Spoken",
    "Thread",
    "figures_value",
    "number_evaluators",
    "number_parser",
    "number_rules",
    "number_terminals",
    "readings",
    "symbol_rule",
    "unit_rule",
]
