"""Whether we are being spoken to: asleep, attentive, or waiting at a step.

Right after a sentence of ours, and where nothing is in hand, anything may be meant for us. While
hands are busy at a step people talk to each other, so only what answers the step or steers it is
taken then; the wake words open everything again.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from enum import StrEnum

from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.meanings import (
    Begin,
    Do,
    Facts,
    HandBack,
    Like,
    Meaning,
    Nothing,
    Request,
    Several,
    StageDone,
    Tell,
    Unreadable,
    Value,
)
from handsfree.dialogue.state import State
from handsfree.language.numbers import readings
from handsfree.library import Library

LISTENS = timedelta(seconds=8)
"""How long after a sentence of ours anything may be an answer to it. Common practice, no source."""
WAITING_KINDS = ("stop", "emergency", "command", "take", "batch", "done with", "off")
"""The kinds of phrase that are taken while a step waits."""


class Attention(StrEnum):
    """How much of what is said may be meant for us."""

    ASLEEP = "asleep"
    ATTENTIVE = "attentive"
    WAITING = "waiting"


def attention(state: State, at: datetime, library: Library) -> Attention:
    """Return how much of what is said at this time may be meant for us.

    During a hold nobody's hands are at the step, so nothing is dropped.
    """
    if state.job.paused:
        return Attention.ASLEEP
    step = step_in_hand(state, library)
    ended, called = state.moment.prompt_ended, state.moment.called
    if step is None or step.kind == "hold" or ended is None:
        return Attention.ATTENTIVE
    since = ended if called is None else max(ended, called)
    return Attention.ATTENTIVE if at - since <= LISTENS else Attention.WAITING


def taken(meaning: Meaning, state: State, library: Library) -> Meaning:
    """Return what a sentence that was heard while a step waits means to us; `Nothing` to let pass.

    A reading, and a time for a timer, then must carry its unit: a bare number may be for somebody
    else, and "enter" before one sounds like "set".
    """
    to_others = Begin | Facts | HandBack | Like | Request | Several | StageDone | Tell | Unreadable
    if isinstance(meaning, to_others) and state.job.question is None:
        return Nothing()
    if isinstance(meaning, Do) and meaning.bare:
        return Nothing()
    if isinstance(meaning, Value):
        step = step_in_hand(state, library)
        rule = step.value.grammar_rule if step is not None and step.value is not None else ""
        if rule and all(one.unit is None for one in readings(meaning.heard, rule)):
            return Nothing()
    return meaning
