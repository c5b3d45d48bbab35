"""Each rule of procedure graphs, broken once: the message names file, step and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest

from handsfree.dialogue.engine import advance
from handsfree.dialogue.events import Typed
from handsfree.dialogue.state import State
from handsfree.edge.replay import START, Player
from handsfree.library import read_library

PROCEDURES = Path(__file__).parent.parent.parent / "handsfree" / "data" / "procedures"
HEAD = """id = "shim"
title = "Shim the foot"
goal = "The unit stands level."
names = ["shim"]
phrases = ["shim the foot"]
tools = ["level"]
sources = ["practice"]
"""
LOOK = """
[[step]]
id = "1"
kind = "seen"
title = "Level."
say = "Lay the level on the base."
check = "Bubble in the middle?"
"""
PUT = """
[[step]]
id = "2"
kind = "done"
title = "Shim in."
say = "Push the shim under the low foot."
"""
SOUND = HEAD + LOOK + PUT


def told(text: str, **others: str) -> list[str]:
    files = {"shim.toml": text, **{f"{name}.toml": other for name, other in others.items()}}
    return [str(fault) for fault in read_library(files).broken]


def test_the_sound_one_is_sound() -> None:
    assert told(SOUND) == []


@pytest.mark.parametrize(
    ("change", "to", "words"),
    [
        ('sources = ["practice"]\n', "", "it names no source"),
        ('say = "Push the', 'say = "Push 3 mm of the', "a figure without a source"),
        ('say = "Push', 'needs = ["drunk"]\nsay = "Push', "'drunk' is not a state of the work"),
        ('say = "Push', 'sets = ["sober"]\nsay = "Push', "'sober' is not a state of the work"),
        ('say = "Push', 'hazard = ["bears"]\nsay = "Push', "'bears' is not a moment of danger"),
        ('say = "Push', 'hazard = ["hammer"]\nsay = "Push', "round its caution 'hammer'"),
        ('say = "Push', 'warns = ["hammer"]\nsay = "Push', "its words do not warn of 'hammer'"),
        ('say = "Push', 'needs = ["tested"]\nsay = "Push', "on which 'tested' does not hold"),
        ('kind = "done"', 'kind = "hold"', "a 'hold' step needs a title, and minutes or lasts"),
        ('kind = "done"', 'kind = "hold"\nlasts = "lunch"', "'lunch' is no value or fact"),
        ('say = "Push', 'gives = { colour = "red" }\nsay = "Push', "'colour' is not a fact"),
        (
            'sources = ["practice"]',
            'sources = ["practice"]\nneeds_unless = { tube_known = ["sober"] }',
            "'sober' is not a state of the work",
        ),
        (
            'kind = "done"',
            'kind = "value"\nvalue = { name = "gap", kind = "length", at_most = "gapp" }',
            "'gapp' is not a fact",
        ),
        ('say = "Push', 'calls = "shim"\nsay = "Push', "'shim' calls itself in a ring"),
        ('say = "Push', 'calls = "cut/99"\nsay = "Push', "calls 'cut/99', which is not here"),
        ('say = "Push', 'next = "2"\nsay = "Push', "no way leads from here to the end"),
        (
            'sources = ["practice"]',
            'sources = ["practice"]\nneeds_while = { recovered = ["sober"] }',
            "'sober' is not a state of the work",
        ),
    ],
)  # fmt: skip
def test_a_broken_rule_is_told_with_its_place(change: str, to: str, words: str) -> None:
    assert change in SOUND
    found = told(SOUND.replace(change, to))
    assert any(words in fault and fault.startswith("shim.toml") for fault in found), found


COUNT = """
[[step]]
id = "3"
kind = "seen"
title = "Turn."
check = "Do you agree?"
why = "A foot that turns is loose."
sources = ["geometry"]
[step.verdict]
calculator = "twist"
takes = { lift = "%s", leg = "deburr/1" }
faults = { lift_over_leg = "drunk" }
without = "I can't count it."
"""


def test_what_a_counting_step_takes_and_shows_must_be_there() -> None:
    shown = told(SOUND + COUNT % "cut/99")
    assert any("'drunk' is not a fault of this step" in fault for fault in shown)
    taken = told(SOUND + COUNT % "lift")
    assert any("'lift' is no value read here and no fact" in fault for fault in taken)
    sound = (COUNT % "bend_lever/leg").replace("drunk", "loose").replace("deburr/1", "no/leg")
    named = sound + '[[step.fault]]\nname = "loose"\nwords = ["loose"]\ngoto = "1"\n'
    (first, second) = told(SOUND + named)
    assert "'bend_lever/leg' is not a value read there" in first
    assert "'no/leg' is not a value read there" in second


def test_a_state_that_later_steps_need_is_not_ended_before_them() -> None:
    early = SOUND.replace('sources = ["practice"]', 'sources = ["practice"]\nneeds = ["ppe"]')
    (fault,) = told(early.replace('say = "Lay', 'clears = ["ppe"]\nsay = "Lay'))
    assert "it ends 'ppe', which the steps after it need" in fault


def test_an_unknown_calculator_is_told_with_a_caret() -> None:
    number = (
        '[step.numbers.mark]\ncalculator = "bend_marc"\nanswers = ["mark"]\nwithout = "nothing"\n'
    )
    (fault,) = told(SOUND.replace("under the low foot", "under {mark}") + number)
    assert "shim.toml, step \"2\": 'bend_marc' is not a calculator" in fault
    assert "Did you mean 'bend_mark'?" in fault
    assert "^" in fault


def test_a_rework_that_counts_needs_words_for_the_third_pass() -> None:
    rework = '[[step.fault]]\nname = "low"\nwords = ["too low"]\ngoto = "2"\ncounts = true\n'
    (fault,) = told(SOUND + rework)
    assert "it counts passes and has no third" in fault


def test_two_holds_of_one_name_are_told() -> None:
    hold = 'kind = "hold"\nminutes = "3"\ntimer = "Purge"\nsources = ["practice"]'
    (fault,) = told(SOUND.replace('kind = "done"', hold))
    assert "the hold 'Purge' is at" in fault


def test_a_state_that_its_setter_can_end_without_is_told() -> None:
    data = (PROCEDURES / "lockout.toml").read_text(encoding="utf-8")
    broken = data.replace('sets = ["isolated"]\n', "")
    found = [str(fault) for fault in read_library({"lockout.toml": broken}).broken]
    assert "lockout.toml: it can end without setting 'isolated'" in found[0]


def test_a_broken_file_stops_no_other() -> None:
    """One that is out takes only what leads to it; the rest is talked through as always."""
    known = read_library({"shim.toml": SOUND.replace('id = "2"', 'id = "1"')})
    assert "shim" not in known.procedures
    assert len(known.procedures) == 36
    assert "step '1' stands twice" in str(known.broken[0])
    state, _ = advance(State(), Typed("start a survey", START), known)
    assert state.job.place[0].procedure == "survey"


def test_a_procedure_added_as_a_file_is_talked_through(tmp_path: Path) -> None:
    """As the page on adding one says: one file, and nothing else."""
    file = tmp_path / "shim.toml"
    file.write_text(SOUND, encoding="utf-8")
    player = Player(read_library({file.name: file.read_text(encoding="utf-8")}))
    told, _ = player.hear("shim the foot")
    assert told.say == ["Lay the level on the base."]
    for line, at in (("done", "shim/1"), ("yes", "shim/2"), ("done", None)):
        told, _ = player.hear(line)
        assert told.at == at
    assert told.say == ["Shim the foot finished."]
