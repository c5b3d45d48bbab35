"""Entries about what was asked, answered and put right, and how the talk goes on."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from handsfree.record.entries.forms import Base, Value


class Asked(Base):
    """Something was asked back; the half-filled request is kept.

    `what` is a calculator's id, `procedure:<id>` for a fact that a procedure needs first, or
    `heard` where two sentences (`choices`) may have been meant. `bare` are numbers that were said
    without a unit, by slot.
    """

    kind: Literal["asked"] = "asked"
    what: str
    slots: dict[str, Value] = Field(default_factory=dict)
    missing: tuple[str, ...] = ()
    question: str
    choices: tuple[str, ...] = ()
    words: str = ""
    tries: int = 1
    bare: dict[str, str] = Field(default_factory=dict)


class AskedDropped(Base):
    """The open question was let go."""

    kind: Literal["question dropped"] = "question dropped"
    what: str


class Calculated(Base):
    """A calculator answered. Inputs and the formula's name let a later reader recompute it.

    `words` are those of the request, and of every answer that was asked for it.
    """

    kind: Literal["calculated"] = "calculated"
    calculator: str
    words: str
    inputs: dict[str, Value]
    answers: dict[str, Value]
    sentence: str = ""
    sources: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


class Refused(Base):
    """Something was asked that the tool does not do or does not know."""

    kind: Literal["refused"] = "refused"
    what: str
    reason: str
    words: str


class Corrected(Base):
    """A value of an earlier entry was wrong; `corrects` is that entry's number, counted from 1."""

    kind: Literal["corrected"] = "corrected"
    corrects: int
    name: str
    value: Value
    words: str


class Paused(Base):
    """The person asked for quiet."""

    kind: Literal["paused"] = "paused"
    reason: str = ""


class Resumed(Base):
    """The conversation goes on: after a pause, or in a new process (`restart`)."""

    kind: Literal["resumed"] = "resumed"
    restart: bool = False


class Stopped(Base):
    """Somebody called stop, or a danger: nothing goes on until the person says so."""

    kind: Literal["stopped"] = "stopped"
    danger: str
    words: str


class SettingChanged(Base):
    """How the tool speaks to this person: one step by its word, `slower` or `shorter`."""

    kind: Literal["setting changed"] = "setting changed"
    name: str
    value: str
