"""A value that a step asks for: its unit settled or asked, read back in another form, confirmed.

Which values must be confirmed, and that the form differs from what was heard: common practice of
read-back. Decimals of a quarter and of sixteenths: arithmetic.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest

from handsfree.dialogue.effects import Effect, Say, Write
from handsfree.dialogue.folding import fold
from handsfree.edge.replay import Line, Player
from handsfree.library import Library, read_library
from handsfree.quantity import Kind, Reading
from handsfree.record import entries as record

STEPS = """
id = "readings"
title = "Readings"
goal = "Three readings are written down."
names = ["readings"]
phrases = ["start the readings"]
sources = ["practice"]

[[step]]
id = "1"
kind = "value"
title = "Mark."
say = "Measure the mark."
check = "How far is the mark?"
why = "A mark is measured before it is cut."
[step.value]
name = "mark"
kind = "length"
unit = "inch"
must = true

[[step]]
id = "2"
kind = "value"
title = "Pressure."
say = "Read the gauge."
check = "What is the pressure?"
why = "The test starts from it."
[step.value]
name = "pressure"
kind = "gauge pressure"
unit = "psi"
must = true

[[step]]
id = "3"
kind = "value"
title = "Torque."
say = "Torque the nut."
check = "What did the wrench say?"
why = "By feel is too loose or too tight."
[step.value]
name = "torque"
kind = "torque"
unit = "newton_metre"
must = true
"""


@cache
def readings_known() -> Library:
    return read_library({"readings": STEPS})


def at(step: str) -> Player:
    player = Player(readings_known())
    player.set(Line(1, "@", f"at readings/{step}"))
    player.hear("done")
    return player


def spoken(effects: Sequence[Effect]) -> list[str]:
    return [effect.speech for effect in effects if isinstance(effect, Say)]


def values(effects: Sequence[Effect]) -> list[record.ValueRead]:
    entries = [effect.entry for effect in effects if isinstance(effect, Write)]
    return [entry for entry in entries if isinstance(entry, record.ValueRead)]


@pytest.mark.parametrize(
    ("step", "heard", "text", "speech"),
    [
        (
            "1",
            "fourteen and a quarter",
            "14-1/4 in (14.25 in).",
            "Fourteen and a quarter, fourteen point two five inches.",
        ),
        ("1", "six foot two", "6 ft 2 in (74 in).", "Six feet two inches, seventy-four inches."),
        (
            "2",
            "five hundred and fifty psi",
            "550 psi.",
            "Five hundred and fifty, five five zero psi.",
        ),
        ("3", "fifty newton metres", "50 N·m.", "Fifty, five zero newton metres."),
        ("3", "fifty newtons", "50 N·m.", "Fifty, five zero newton metres."),
    ],
)
def test_a_value_is_read_back_before_it_is_written(
    step: str, heard: str, text: str, speech: str
) -> None:
    player = at(step)
    told, effects = player.hear(heard)
    assert told.say[0] == text
    assert spoken(effects)[0] == speech
    assert values(effects) == []
    _, effects = player.hear("yes")
    assert len(values(effects)) == 1


@pytest.mark.parametrize(
    ("step", "heard", "question", "answer", "unit"),
    [
        ("3", "fifty", "50 N·m, or 50 lbf·ft?", "foot pounds", "foot_pound"),
        ("3", "fifty", "50 N·m, or 50 lbf·ft?", "the first", "newton_metre"),
        ("2", "forty", "40 psi, or 40 bar?", "bar", "bar"),
        ("2", "thirty kilos", "30 kPa, or 30 kgf/cm²?", "second", "kilogram_per_square_centimetre"),
        ("3", "forty pounds", "40 lbf·ft, or 40 lbf·in?", "inch pounds", "inch_pound"),
    ],
)
def test_a_unit_that_is_open_is_asked(
    step: str, heard: str, question: str, answer: str, unit: str
) -> None:
    player = at(step)
    told, effects = player.hear(heard)
    assert told.say == [question]
    assert values(effects) == []
    player.hear(answer)
    _, effects = player.hear("yes")
    (read,) = values(effects)
    assert isinstance(read.value, Reading)
    assert read.value.unit == unit


@pytest.mark.parametrize(
    ("step", "heard", "why"),
    [
        (
            "2",
            "six hundred psi absolute",
            "That is an absolute pressure, and I need a gauge pressure.",
        ),
        ("3", "fifty five psi", "That is a gauge pressure, and I need a torque."),
        (
            "1",
            "twenty twelve inches",
            "I heard two numbers, twenty, then twelve inches; say just the length.",
        ),
        ("1", "zero", "That is nothing at all; say the length."),
        (
            "1",
            "one twenty inches three mil",
            "That mixes inches and millimetres; say it in one of them.",
        ),
    ],
)
def test_a_value_that_does_not_fit_is_refused_with_its_reason(
    step: str, heard: str, why: str
) -> None:
    player = at(step)
    told, effects = player.hear(heard)
    assert told.say[0] == why
    assert values(effects) == []
    assert told.at == f"readings/{step}"


def test_a_yes_to_a_choice_of_two_confirms_no_value_that_was_being_put_right() -> None:
    """A "no" was heard with one of two numbers: the one before it must not be written by a yes."""
    player = at("3")
    player.hear("nineteen newton metres")
    place = player.state.job.place
    asked = record.Asked(
        at=player.at,
        what="heard",
        question="No, thirteen, or no, thirty?",
        choices=("no, thirteen newton metres", "no, thirty newton metres"),
        words="no thirteen newton metres",
    )
    player.state = replace(player.state, job=fold(player.state.job, asked))
    told, effects = player.hear("yes")
    assert (values(effects), told.say) == ([], ["No, thirteen, or no, thirty?"])
    told, effects = player.hear("done")
    assert values(effects) == []
    assert told.say[-1] == "Say the reading again."
    _, effects = player.hear("yes")
    assert values(effects) == []
    assert player.state.job.place[:-1] == place[:-1]
    player.hear("thirteen newton metres")
    _, effects = player.hear("yes")
    assert [read.value for read in values(effects)] == [
        Reading(Fraction(13), "newton_metre", Kind.TORQUE)
    ]
