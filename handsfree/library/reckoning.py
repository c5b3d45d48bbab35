"""The calculators as a record sees them: run anew from recorded inputs, rounded as told."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from handsfree.errors import HandsfreeError
from handsfree.library.joined import Library
from handsfree.quantity import Reading
from handsfree.record.entries import Value, as_slots

_PLACES = re.compile(r"\{[^}]*\}")


class NoSuchCalculator(HandsfreeError):
    """A record names a calculator that this release does not have."""


@dataclass(frozen=True)
class Reckoning:
    """A `Reckoner` of the record, with the calculators of a library."""

    library: Library

    def answers(
        self, calculator: str, inputs: Mapping[str, Value]
    ) -> tuple[str, Mapping[str, Value]]:
        """Return the sentence that tells an answer, and its unrounded values.

        Raises `NoSuchCalculator`, and what the calculator raises (`Refusal`, `WrongKind`).
        """
        card = self.library.cards.get(calculator)
        if card is None:
            raise NoSuchCalculator(f"there is no calculator '{calculator}' in this release")
        outcome = card.run(as_slots(inputs))
        return outcome.sentence, outcome.answers

    def rounded(self, calculator: str, answers: Mapping[str, Value]) -> Mapping[str, Value]:
        """Return answers rounded as they are told."""
        card = self.library.cards.get(calculator)
        if card is None:
            return answers
        known = {result.name for result in card.results}
        readings = {
            name: answer
            for name, answer in answers.items()
            if name in known and isinstance(answer, Reading | tuple)
        }
        return {**answers, **self.library.told(card, readings)}

    def title(self, calculator: str) -> str:
        """Return what a calculator is called."""
        words = self.library.words.get(calculator)
        return calculator.replace("_", " ") if words is None else words.title

    def procedure(self, name: str) -> str:
        """Return what a procedure is called."""
        found = self.library.procedures.get(name)
        return name.replace("_", " ") if found is None else found.title

    def step(self, procedure: str, step: str) -> str:
        """Return what a step is called, with its procedure."""
        found = self.library.procedures.get(procedure)
        one = None if found is None else found.by_id.get(step)
        told = "" if one is None else (one.title or one.say or one.check)
        title = _PLACES.sub("…", told)
        return f"{self.procedure(procedure)} {step}, {title.rstrip('.')}".rstrip(", ")
