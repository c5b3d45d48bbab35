"""What a turn came to, as plain data: for scripts, for `--json`, for tests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from handsfree.dialogue.effects import Effect, Say, Write
from handsfree.dialogue.meanings import (
    Answer,
    Begin,
    Danger,
    Do,
    Facts,
    HandBack,
    Like,
    Meaning,
    Nothing,
    Over,
    Pick,
    Request,
    Several,
    StageDone,
    Take,
    Tell,
)
from handsfree.dialogue.state import State
from handsfree.dialogue.understand import understand
from handsfree.library import Library
from handsfree.quantity import Reading, written
from handsfree.record import entries as record
from handsfree.record.entries import Entry, Value

_MOVES = (
    record.StepClosed,
    record.StepAwaits,
    record.Reworked,
    record.Reopened,
    record.ProcedureStarted,
    record.ProcedureEnded,
)
_TO_A_STEP = ("done", "loose_done", "yes", "no", "wrong", "failed", "skip")


@dataclass(frozen=True, slots=True)
class Told:
    """What was heard, what it was taken for, what came of it, and what was said."""

    heard: str
    outcome: str
    what: str | None
    slots: Mapping[str, Any]
    answers: Sequence[Mapping[str, Any]]
    say: Sequence[str]
    at: str | None
    sources: Sequence[str]

    def plain(self) -> dict[str, Any]:
        """Return it as JSON data."""
        return {name: getattr(self, name) for name in self.__slots__}


def tell(
    text: str, before: State, after: State, effects: Sequence[Effect], library: Library
) -> Told:
    """Return what a line of text came to: `did`, `asked`, `refused` or `ignored`."""
    entries = [effect.entry for effect in effects if isinstance(effect, Write)]
    said = [effect.text for effect in effects if isinstance(effect, Say)]
    meaning = understand(text, before, library)
    calculated = next((e for e in entries if isinstance(e, record.Calculated)), None)
    asked = next((e for e in entries if isinstance(e, record.Asked)), None)
    slots: Mapping[str, Value] = {}
    if calculated is not None:
        slots = calculated.inputs
    elif asked is not None:
        slots = asked.slots
    place = after.job.place
    return Told(
        heard=text,
        outcome=_outcome(meaning, entries, said, before),
        what=_what(meaning, entries, before),
        slots={name: _slot(value) for name, value in slots.items()},
        answers=[] if calculated is None else _answers(calculated, library),
        say=said,
        at=f"{place[-1].procedure}/{place[-1].step}" if place else None,
        sources=list(calculated.sources) if calculated is not None else [],
    )


def _outcome(meaning: Meaning, entries: list[Entry], said: list[str], before: State) -> str:
    if any(isinstance(entry, record.Refused) for entry in entries):
        return "refused"
    if any(isinstance(entry, record.Asked) for entry in entries):
        return "asked"
    if not entries and (not said or isinstance(meaning, Nothing)):
        return "ignored" if not said else "asked"
    to_step = isinstance(meaning, Do) and meaning.name in _TO_A_STEP and before.job.place
    if to_step and not any(isinstance(entry, _MOVES) for entry in entries):
        return "asked"
    return "did"


def _what(meaning: Meaning, entries: list[Entry], before: State) -> str | None:
    for entry in entries:
        if isinstance(entry, record.Calculated):
            return entry.calculator
        if isinstance(entry, record.Asked | record.Refused):
            return entry.what
    match meaning:
        case Request(name) | Begin(name) | Do(name) | Danger(name) | HandBack(name):
            return name
        case Take(name) | Tell(name) | Over(name) | StageDone(name):
            return name
        case Facts(values):
            return next(iter(values))
        case Answer() | Pick() if before.job.question is not None:
            return before.job.question.what
        case Nothing() | Like() | Several():
            return None
        case _:
            return before.job.place[-1].procedure if before.job.place else None


def _slot(value: Value) -> Any:
    if isinstance(value, tuple):
        return [_slot(one) for one in value]
    if isinstance(value, Reading):
        return {"value": float(value.value), "unit": value.unit}
    return {"value": value, "unit": None}


def _answers(calculated: record.Calculated, library: Library) -> list[dict[str, Any]]:
    rules = {
        result.name: result.rounding for result in library.cards[calculated.calculator].results
    }
    found: list[dict[str, Any]] = []
    for name, value in calculated.answers.items():
        if not isinstance(value, Reading):
            continue
        told = library.rounded(rules[name], value.unit, value.value)
        found.append(
            {
                "name": name,
                "value": float(value.value),
                "unit": value.unit,
                "rounded": written(Reading(told, value.unit, value.kind)),
            }
        )
    return found
