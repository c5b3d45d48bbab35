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
from handsfree.record import entries as record
from handsfree.record.entries import Entry, Frame

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


FLARED = BENCH + "@fact flare_table = high-pressure\n@at inspect_flare/1\n"
LOOKED_AT = [
    "done",
    "yes",
    "done",
    "yes",
    "done",
    "yes",
    "13 millimetres",
    "yes",
    "done",
    "yes",
    "done",
]
MADE_UP = [
    "done",
    "yes",
    "done",
    "done",
    "yes",
    "done",
    "yes",
    "done",
    "34 N·m",
    "34 newton metres",
    "yes",
    "done",
]


def test_a_joint_is_shown_with_what_the_record_knows_of_it(known: Library) -> None:
    shown, state = after(known, *LOOKED_AT, *MADE_UP, script=FLARED)
    (joint,) = shown.made
    assert (joint.number, joint.kind, joint.torque) == (1, "flared 3/8 in", "34 N·m")
    assert (joint.inspected, joint.tested) == ("yes", False)
    assert state.job.steps == {}, "the next joint begins with nothing looked at"


def test_a_flare_that_nobody_looked_at_is_not_shown_as_inspected(known: Library) -> None:
    script = FLARED.replace("inspect_flare", "make_up")
    shown, _ = after(known, *MADE_UP, script=script)
    assert [one.inspected for one in shown.made] == ["no"]
    skipped = ["done", "skip this step", "no light", *LOOKED_AT[2:]]
    shown, _ = after(known, *skipped, *MADE_UP, script=FLARED)
    assert [one.inspected for one in shown.made] == ["no"]


PLACE = (Frame(procedure="make_up", step="1"),)


def closed(procedure: str, *steps: str, how: str = "seen") -> list[Entry]:
    return [
        record.StepClosed.model_validate(
            {"at": AT, "procedure": procedure, "step": step, "how": how, "place": PLACE}
        )
        for step in steps
    ]


def joint(number: int, procedure: str = "make_up", at: datetime = AT, **values: str) -> Entry:
    return record.JointMade(at=at, number=number, procedure=procedure, values=dict(values))


LOOKED = closed("inspect_flare", "1", "2", "3", "4", "5")


@pytest.mark.parametrize(
    ("entries", "inspected"),
    [
        ([*LOOKED, *closed("make_up", "1"), joint(1)], "yes"),
        # what was cut or flared after it was looked at has to be looked at again
        ([*LOOKED, *closed("flare_bar", "3"), joint(1)], "no"),
        ([*closed("flare_bar", "3"), *LOOKED, joint(1)], "yes"),
        ([*LOOKED[:-1], joint(1)], "no"),
        ([*LOOKED[:-1], *closed("inspect_flare", "5", how="skipped"), joint(1)], "no"),
        ([*LOOKED[:-1], *closed("inspect_flare", "5", how="accepted"), joint(1)], "accepted"),
        # a brazed joint is looked at when it is brazed
        ([*LOOKED, joint(1, "braze")], "no"),
        ([*closed("braze", "9"), joint(1, "braze")], "yes"),
        ([*LOOKED, joint(1), joint(2)], "no"),
        ([joint(1, "no_such_procedure")], "no"),
    ],
)
def test_inspected_is_what_was_looked_at_after_the_last_work(
    entries: list[Entry], inspected: str, known: Library
) -> None:
    shown = glance(State(folded(entries)), AT, known)
    assert shown.made[0].inspected == inspected


def test_only_a_pressure_test_after_the_joint_tests_it(known: Library) -> None:
    hour = timedelta(hours=1)
    passed = record.FlagSet(at=AT + hour, flag="tested", evidence="held")
    entries = [joint(1), passed, joint(2, at=AT + 2 * hour)]
    shown = glance(State(folded(entries)), AT, known)
    assert [(one.number, one.tested) for one in shown.made] == [(2, False), (1, True)]
    entries.append(record.FlagCleared(at=AT + 3 * hour, flag="tested", reason="opened"))
    shown = glance(State(folded(entries)), AT, known)
    assert not any(one.tested for one in shown.made)


def test_a_glance_holds_the_last_joints(known: Library) -> None:
    shown = glance(State(folded([joint(n) for n in range(1, 41)])), AT, known)
    assert (shown.joints, len(shown.made), shown.made[0].number) == (40, 12, 40)
