"""The form of a calculator: declared once, read by everything.

A calculator is a pure function on plain numbers, in the units that its parameters declare, with a
`Card` around it. The card says which readings it needs, where each may come from, what is
plausible, what comes out and how that is rounded. Its words (phrases, questions, sentences,
refusals) stand in `data/phrases/` under the same id, and the library joins the two.

    @calculator(
        "cut_length",
        parameters=(Parameter("leg", Kind.LENGTH, "inch", low=Fraction(1, 4), high=600), …),
        results=(Result("cut", Kind.LENGTH, "inch", rounding="cut"),),
        sources=("geometry",),
    )
    def cut_length(leg: Number, …) -> Answer: …
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Literal, Protocol

from handsfree.errors import Refusal, WrongKind
from handsfree.quantity import Kind, Number, Reading, told_in, units

Origin = Literal["said", "fact", "bender", "earlier"]
Slot = Reading | str | tuple[Reading, ...]
Slots = Mapping[str, Slot]
Guard = Callable[[Slots], None]
"""Raises `Refusal` on what is known so far: a plain no comes before any question."""


@dataclass(frozen=True, slots=True)
class Condition:
    """A parameter is needed only while another one has one of these values.

    It is not while all of `except_for` hold, each a parameter and its value.
    """

    parameter: str
    values: tuple[str, ...]
    except_for: tuple[tuple[str, str], ...] = ()

    def holds(self, slots: Slots) -> bool:
        """Return whether the condition is met; an unknown value of the other leaves it open."""
        if slots.get(self.parameter) not in self.values:
            return False
        return not self.except_for or any(slots.get(n) != v for n, v in self.except_for)


@dataclass(frozen=True, slots=True)
class UpTo:
    """A parameter is needed only while a reading is at most so much, in its own unit."""

    parameter: str
    most: Number
    values: tuple[str, ...] = ()

    def holds(self, slots: Slots) -> bool:
        """Return whether the condition is met; an unknown reading leaves it open."""
        given = slots.get(self.parameter)
        return isinstance(given, Reading) and given.value <= self.most


@dataclass(frozen=True, slots=True)
class Parameter:
    """A reading that a calculator needs.

    `unit` is the unit in which the function works; `low` and `high` are what is plausible, in that
    unit (outside: "say again?" once, then refused). `assume` is the unit meant when none was said:
    a unit's name, `tape` for the job's tape (inch or millimetre), or None: then it is asked.
    `origins` says where the value may come from besides the sentence itself: a job fact of the
    same name, or the bender profile of the tube size. `rule` is the grammar rule that reads it
    """

    name: str
    kind: Kind
    unit: str
    low: Number | None = None
    high: Number | None = None
    assume: str | None = "tape"
    origins: tuple[Origin, ...] = ("said",)
    only_if: Condition | UpTo | None = None
    optional: bool = False
    rule: str | None = None
    many: bool = False
    least: int = 1

    @property
    def grammar_rule(self) -> str:
        """Return the name of the grammar rule that reads this parameter."""
        return self.rule or self.kind.replace(" ", "_")

    @property
    def band(self) -> tuple[Reading | None, Reading | None]:
        """Return the lowest and the highest reading that is plausible, None where nothing is."""
        low, high = (
            None if end is None else Reading(end, self.unit, self.kind)
            for end in (self.low, self.high)
        )
        return low, high


@dataclass(frozen=True, slots=True)
class Option:
    """A choice between a few words. Words for each option stand with the card's phrases.

    `units_of` makes the options the units of those kinds (for conversions). Of `many`, the options
    said are kept in a row, with a space between.
    """

    name: str
    options: tuple[str, ...] = ()
    units_of: tuple[Kind, ...] = ()
    default: str | None = None
    origins: tuple[Origin, ...] = ("said",)
    only_if: Condition | UpTo | None = None
    optional: bool = False
    many: bool = False

    @property
    def grammar_rule(self) -> str:
        """Return the name of the grammar rule that reads this choice."""
        if self.units_of:
            return "unit_of_" + self.units_of[0].replace(" ", "_")
        return "choice_" + self.name


@dataclass(frozen=True, slots=True)
class Result:
    """A reading that comes out. `rounding` names a rule of `data/rounding.toml`.

    `follows` names the parameter whose measuring system (inch or metric) the result is told in.
    A result without a fixed unit (`unit` empty) is given by the function as a `Reading`. One that
    `keeps` goes into the bender profile of the tube size: always, or if there is none yet.
    """

    name: str
    kind: Kind
    unit: str
    rounding: str
    follows: str | None = None
    keeps: Literal["", "always", "if_new"] = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a calculator's function gives back.

    `values` are the results by name, unrounded, in the declared units (or whole readings, or
    several of them);
    `sentence` names the sentence that tells them; `words` fill the sentence besides the results;
    `warnings` name sentences said before it; `sources` are added to the card's.
    """

    values: Mapping[str, Number | Reading | tuple[Reading, ...]]
    sentence: str = "answer"
    words: Mapping[str, str] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    """The answers of a card as readings, with everything a record needs to recompute them."""

    card: Card
    inputs: Slots
    answers: Mapping[str, Reading | tuple[Reading, ...]]
    sentence: str
    words: Mapping[str, str]
    warnings: tuple[str, ...]
    sources: tuple[str, ...]


class Sketch(Protocol):
    """What an answer looks like."""

    def tape(self) -> str:
        """Return it as lines of text for a terminal."""

    def svg(self) -> str:
        """Return it as a picture."""


@dataclass(frozen=True, slots=True)
class Card:
    """A calculator: what it needs, what comes out, on whose word, and the function.

    `guard` looks at a request before anything is asked, and may refuse it. `sketch` draws an
    answer: it takes what the function takes, and the unit to write lengths in.
    """

    id: str
    parameters: tuple[Parameter | Option, ...]
    results: tuple[Result, ...]
    sources: tuple[str, ...]
    function: Callable[..., Answer]
    guard: Guard | None = None
    sketch: Callable[..., Sketch] | None = None

    @property
    def by_name(self) -> Mapping[str, Parameter | Option]:
        """Return the parameters by name."""
        return {parameter.name: parameter for parameter in self.parameters}

    def missing(self, slots: Slots) -> tuple[Parameter | Option, ...]:
        """Return the parameters that are still needed, in the order in which to ask for them."""
        return tuple(
            parameter
            for parameter in self.parameters
            if _too_few(parameter, slots) and self._needed(parameter, slots)
        )

    def _needed(self, parameter: Parameter | Option, slots: Slots) -> bool:
        if parameter.optional:
            return False
        if isinstance(parameter, Option) and parameter.default is not None:
            return False
        return parameter.only_if is None or parameter.only_if.holds(self._with_defaults(slots))

    def left_aside(self, slots: Slots) -> frozenset[str]:
        """Return the names of the values that the choices made in these slots have no use for."""
        full = self._with_defaults(slots)
        return frozenset(
            parameter.name
            for parameter in self.parameters
            if parameter.name in slots
            and parameter.only_if is not None
            and not parameter.only_if.holds(full)
        )

    def _with_defaults(self, slots: Slots) -> dict[str, Slot]:
        defaults: dict[str, Slot] = {
            p.name: p.default
            for p in self.parameters
            if isinstance(p, Option) and p.default is not None
        }
        return {**defaults, **slots}

    def preset_problem(self, name: str, value: str) -> str:
        """Return what is wrong with a value that a phrase implies, or nothing."""
        parameter = self.by_name.get(name)
        if parameter is None:
            return f"'{name}' is not one of its slots"
        if isinstance(parameter, Option):
            wrong = bool(parameter.options) and value not in parameter.options
            return f"'{name}' can't be '{value}'; write {', '.join(parameter.options)}" * wrong
        try:
            number, _, unit = value.partition(" ")
            Fraction(number)
        except (ValueError, ZeroDivisionError):
            return f"'{name}' is a number; write '{value}' as one, such as 90 or 22.5"
        if unit and unit not in units():
            return (
                f"'{unit}' is no unit of data/units.toml; write one of its names after the number"
            )
        return ""

    def implausible(self, slots: Slots) -> tuple[Parameter, ...]:
        """Return the parameters whose readings lie outside what is plausible."""
        wrong: list[Parameter] = []
        for parameter in self.parameters:
            if isinstance(parameter, Parameter) and parameter.name in slots:
                given = slots[parameter.name]
                readings = given if isinstance(given, tuple) else (given,)
                if not all(_plausible(parameter, reading) for reading in readings):
                    wrong.append(parameter)
        return tuple(wrong)

    def run(self, slots: Slots) -> Outcome:
        """Return the outcome for complete slots.

        Raises `Refusal` where the trade says no, `WrongKind` for a reading of another kind.
        """
        full = self._with_defaults(slots)
        answer = self.function(**self._arguments(full))
        used = {name: value for name, value in full.items() if name in self.by_name}
        return Outcome(
            card=self,
            inputs=used,
            answers={name: self._reading(name, answer, used) for name in answer.values},
            sentence=answer.sentence,
            words=answer.words,
            warnings=answer.warnings,
            sources=(*self.sources, *answer.sources),
        )

    def drawn(self, slots: Slots) -> Sketch | None:
        """Return the drawing of an answer, from its inputs; None where there is none.

        Raises `Refusal` as `run`.
        """
        if self.sketch is None:
            return None
        followed = next(
            (slots.get(result.follows) for result in self.results if result.follows), ()
        )
        first = followed[0] if isinstance(followed, tuple) and followed else followed
        unit = told_in(first.unit, "inch") if isinstance(first, Reading) else "inch"
        return self.sketch(unit, **self._arguments(self._with_defaults(slots)))

    def _arguments(self, full: Slots) -> dict[str, Any]:
        arguments: dict[str, Any] = {}
        for parameter in self.parameters:
            given = full.get(parameter.name)
            if isinstance(parameter, Option):
                arguments[parameter.name] = given
            elif isinstance(given, tuple):
                arguments[parameter.name] = tuple(_argument(parameter, one) for one in given)
            else:
                arguments[parameter.name] = None if given is None else _argument(parameter, given)
        return arguments

    def _reading(self, name: str, answer: Answer, inputs: Slots) -> Reading | tuple[Reading, ...]:
        value = answer.values[name]
        if isinstance(value, Reading):
            return value
        result = next(result for result in self.results if result.name == name)
        if isinstance(value, tuple):
            return tuple(self._followed(result, one, inputs) for one in value)
        return self._followed(result, Reading(value, result.unit, result.kind), inputs)

    def _followed(self, result: Result, reading: Reading, inputs: Slots) -> Reading:
        followed = inputs.get(result.follows) if result.follows else None
        if isinstance(followed, tuple):
            followed = followed[0]
        if not isinstance(followed, Reading):
            return reading
        if followed.kind is reading.kind and followed.kind is not Kind.LENGTH:
            return reading.to(followed.unit)
        return reading.to(told_in(followed.unit, result.unit))


def _argument(parameter: Parameter, given: Reading | str) -> Number | Reading:
    """Return a slot as the function wants it; raises `WrongKind` for words or another kind."""
    if isinstance(given, str):
        raise WrongKind(f"word ({given})", parameter.kind)
    reading = given.of_kind(parameter.kind)
    return reading.to(parameter.unit).value if parameter.unit else reading


def _too_few(parameter: Parameter | Option, slots: Slots) -> bool:
    """Return whether a parameter has no value, or fewer than it takes."""
    given = slots.get(parameter.name)
    if isinstance(parameter, Parameter) and parameter.many and isinstance(given, tuple):
        return len(given) < parameter.least
    return parameter.name not in slots


def _plausible(parameter: Parameter, given: Reading | str) -> bool:
    if isinstance(given, str) or not parameter.unit:
        return True
    return given.of_kind(parameter.kind).inside(*parameter.band)


def calculator(  # noqa: PLR0913 - the fields of a card
    card_id: str,
    *,
    parameters: tuple[Parameter | Option, ...],
    results: tuple[Result, ...],
    sources: tuple[str, ...],
    guard: Guard | None = None,
    sketch: Callable[..., Sketch] | None = None,
) -> Callable[[Callable[..., Answer]], Card]:
    """Return a decorator that makes a function a card; checks the signature when it is defined.

    The last parameters may be taken together, by a function that ends in `**name`.
    """

    def make(function: Callable[..., Answer]) -> Card:
        wanted = [parameter.name for parameter in parameters]
        arguments = inspect.signature(function).parameters.values()
        have = [one.name for one in arguments if one.kind is not inspect.Parameter.VAR_KEYWORD]
        takes_all = len(have) == len(arguments)
        if have != (wanted if takes_all else wanted[: len(have)]):
            raise TypeError(f"{card_id}: the function takes {have}, the card declares {wanted}")
        for parameter in parameters:
            other = parameter.only_if.parameter if parameter.only_if else None
            if other is not None and other not in wanted:
                raise TypeError(
                    f"{card_id}: {parameter.name} depends on {other}, which is not there"
                )
        return Card(card_id, parameters, results, sources, function, guard, sketch)

    return make


__all__ = [
    "Answer",
    "Card",
    "Condition",
    "Guard",
    "Option",
    "Outcome",
    "Parameter",
    "Refusal",
    "Result",
    "Sketch",
    "Slots",
    "UpTo",
    "calculator",
]
