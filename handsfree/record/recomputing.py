"""Every computed value of a record, worked out again from its inputs; and what differs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import isclose
from typing import Protocol

from handsfree.errors import HandsfreeError
from handsfree.quantity import Reading
from handsfree.record.entries import Calculated, Entry, Value
from handsfree.record.text import told

NEARLY = 1e-9
"""Two floats of one sum may differ by so much, relative, between machines."""


class Reckoner(Protocol):
    """Who works sums out: the calculators."""

    def answers(
        self, calculator: str, inputs: Mapping[str, Value]
    ) -> tuple[str, Mapping[str, Value]]:
        """Return the sentence that tells an answer, and its unrounded values.

        Raises a `HandsfreeError` where there is none, or no such calculator.
        """

    def rounded(self, calculator: str, answers: Mapping[str, Value]) -> Mapping[str, Value]:
        """Return answers rounded as they are told."""

    def title(self, calculator: str) -> str:
        """Return what a calculator is called."""

    def procedure(self, name: str) -> str:
        """Return what a procedure is called."""

    def step(self, procedure: str, step: str) -> str:
        """Return what a step is called, with its procedure."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A computed value that does not follow from its inputs: entry (from 1), name, both values."""

    entry: int
    calculator: str
    name: str
    recorded: str
    recomputed: str

    def __str__(self) -> str:
        """Return it as a sentence."""
        return (
            f"Entry {self.entry}: {self.calculator.replace('_', ' ')}, "
            f"{self.name.replace('_', ' ')} is recorded as {self.recorded}, "
            f"and its inputs give {self.recomputed}."
        )


def differences(entries: Iterable[Entry], reckoner: Reckoner) -> Iterator[Difference]:
    """Yield every computed value that does not follow from its inputs."""
    for number, entry in enumerate(entries, start=1):
        if isinstance(entry, Calculated):
            yield from differences_of(number, entry, reckoner)


def differences_of(number: int, entry: Calculated, reckoner: Reckoner) -> Iterator[Difference]:
    """Yield what differs in one computed entry; `number` is its place, from 1."""
    try:
        sentence, answers = reckoner.answers(entry.calculator, entry.inputs)
    except (HandsfreeError, ArithmeticError, ValueError, TypeError) as error:
        yield Difference(number, entry.calculator, "answer", "an answer", f"none ({error})")
        return
    if entry.sentence not in ("", sentence):
        yield Difference(number, entry.calculator, "verdict", entry.sentence, sentence)
    for name in sorted({*answers, *entry.answers}):
        recorded, again = entry.answers.get(name), answers.get(name)
        if recorded is None or again is None or not _same(recorded, again):
            yield Difference(number, entry.calculator, name, _told(recorded), _told(again))


def _told(value: Value | None) -> str:
    return "nothing" if value is None else told(value)


def _same(first: Value, second: Value) -> bool:
    if isinstance(first, tuple) and isinstance(second, tuple):
        pairs = zip(first, second, strict=False)
        return len(first) == len(second) and all(_same(one, other) for one, other in pairs)
    if isinstance(first, Reading) and isinstance(second, Reading):
        return (
            first.kind is second.kind
            and first.unit == second.unit
            and isclose(first.value, second.value, rel_tol=NEARLY, abs_tol=NEARLY)
        )
    return first == second
