"""The glance: what a board shows, from the state alone."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree as ET

import pytest

from handsfree.dialogue.folding import folded
from handsfree.dialogue.glance import Glance, drawing, glance
from handsfree.dialogue.meanings import Nothing
from handsfree.dialogue.state import Job, State
from handsfree.dialogue.understand import understand
from handsfree.edge.replay import Player, played
from handsfree.library import Library
from handsfree.record.entries import Frame

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
BENCH = """@fact dimension_to = centre
@fact size = 3/8
@flag ppe
@flag tube_known
@bender 3/8 radius=15/16
"""


def after(known: Library, *lines: str, script: str = BENCH) -> tuple[Glance, State]:
    player = Player(known)
    for _ in played(player, script):
        pass
    for line in lines:
        player.hear(line)
    return glance(player.state, AT, known), player.state


def test_nothing_is_open_at_first_and_beginnings_are_offered(known: Library) -> None:
    shown = glance(State(), AT, known)
    assert (shown.step, shown.sentence, shown.number) == (0, "", "")
    assert len(shown.sayings) > 3


def test_a_step_is_shown_with_its_place_check_and_answers(known: Library) -> None:
    shown, _ = after(known, "start a cut", "done")
    assert (shown.procedure, shown.step, shown.steps) == (
        "Cut",
        2,
        len(known.procedures["cut"].steps),
    )
    assert shown.sentence == "Wheel on the mark, both rollers square on the tube."
    assert shown.check == "Wheel edge on the line, kept side away?"
    assert [one.text for one in shown.sayings if one.how == "answer"] == ["done"]
    shown, _ = after(known, "start a cut", "done", "done")
    assert [one.text for one in shown.sayings if one.how == "answer"] == ["yes", "no"]


def test_the_caution_is_in_force_at_its_step_and_gone_after_it(known: Library) -> None:
    shown, _ = after(known, script=BENCH + "@at cut/6\n")
    assert shown.caution == "The end will be sharp."
    shown, _ = after(known, "done", script=BENCH + "@at cut/6\n")
    assert shown.caution == ""


@pytest.mark.parametrize(
    ("question", "number", "unit"),
    # by definition of the inch and the pascal; 12 - 15/16 to the next sixteenth by hand
    [
        ("what's nineteen mil in inches", "0.748", "in"),
        ("where do I mark a ninety at twelve", "11-1/16", "in"),
        ("what's 500 microns in pascals", "66.7", "Pa"),
    ],
)
def test_the_last_number_stands_apart_from_its_unit(
    known: Library, question: str, number: str, unit: str
) -> None:
    shown, state = after(known, question)
    assert (shown.number, shown.unit, shown.heard) == (number, unit, question)
    again = glance(State(state.job), AT, known)
    assert (again.number, again.unit) == (number, unit), "a job opened again has its number"


def test_what_states_a_safe_condition_is_never_a_button(known: Library) -> None:
    stated = [
        (procedure, step)
        for procedure in known.procedures.values()
        for step in procedure.steps
        if step.kind == "stated"
    ]
    assert len(stated) > 10
    for procedure, step in stated:
        place = (Frame(procedure=procedure.id, step=step.id, phase="state"),)
        shown = glance(State(Job(place=place)), AT, known)
        assert [one.how for one in shown.sayings].count("said") == 1, step.id
        assert not [one for one in shown.sayings if one.how == "answer"], step.id


def test_a_safety_number_is_said_again_and_no_button_confirms_it(known: Library) -> None:
    repeated = [
        (procedure, step)
        for procedure in known.procedures.values()
        for step in procedure.steps
        if step.value is not None and step.value.repeated
    ]
    assert repeated
    for procedure, step in repeated:
        place = (Frame(procedure=procedure.id, step=step.id, phase="confirm"),)
        sayings = glance(State(Job(place=place)), AT, known).sayings
        assert [one.text for one in sayings if one.how == "answer"] == ["wrong"], step.id
        assert sayings[0].how == "said"


def test_every_button_of_every_step_is_understood(known: Library) -> None:
    """What cannot be understood must not be offered: all steps, in every phase they can have."""
    phases = {"done": ("act",), "seen": ("act", "check"), "value": ("value", "confirm")}
    seen = 0
    for procedure in known.procedures.values():
        for step in procedure.steps:
            for phase in phases.get(step.kind, ("act",)):
                place = (Frame(procedure=procedure.id, step=step.id, phase=phase),)
                state = State(Job(place=place))
                for one in glance(state, AT, known).sayings:
                    if one.how != "said":
                        seen += 1
                        meant = understand(one.text, state, known)
                        assert not isinstance(meant, Nothing), (procedure.id, step.id, one)
    assert seen > 1000


def test_the_choices_of_a_question_are_the_answers(known: Library) -> None:
    shown, _ = after(known, "start a flare")
    assert shown.question == "High-pressure gas, or an older one?"
    answers = [one.text for one in shown.sayings if one.how == "answer"]
    assert answers == ["high pressure", "older"]


def test_timers_tell_when_they_end(known: Library) -> None:
    shown, state = after(known, "set a timer for ten minutes")
    (timer,) = shown.timers
    assert timer.ends - state.job.timers["Timer"].at == timedelta(minutes=10)


def test_the_piece_is_drawn_with_its_marks(known: Library) -> None:
    _, state = after(known, "ten ninety eighteen ninety twelve")
    texts = [one.text for one in ET.fromstring(drawing(state.job, known)).iter() if one.text]  # noqa: S314 - our own drawing
    assert any("27-5/8" in text for text in texts)
    assert drawing(Job(), known) == ""


def test_the_glance_of_a_record_is_that_of_its_conversation(known: Library) -> None:
    player = Player(known)
    entries = []
    for line in ("start a cut", "glasses on", "what's nineteen mil in inches"):
        _, effects = player.hear(line)
        entries.extend(e.entry for e in effects if hasattr(e, "entry"))
    now, then = glance(player.state, AT, known), glance(State(folded(entries)), AT, known)
    assert (now.procedure, now.step, now.check, now.number) == (
        then.procedure,
        then.step,
        then.check,
        then.number,
    )
    assert re.fullmatch(r"0\.748", then.number)
