"""States of the work, parking, holds, open facts, lists and words: the ways of a working day."""

from __future__ import annotations

from datetime import timedelta

from handsfree.dialogue.effects import Say
from handsfree.dialogue.engine import opening
from handsfree.dialogue.folding import fold
from handsfree.dialogue.state import State
from handsfree.edge.replay import Line, Player, read_script
from handsfree.library import Library
from handsfree.record import entries as record


def play(known: Library, *lines: str) -> Player:
    player = Player(known)
    for line in read_script("\n".join(lines)):
        if line.mark == "@":
            player.set(line)
        else:
            player.hear(line.text)
    return player


def said(player: Player, text: str) -> list[str]:
    return list(player.hear(text)[0].say)


def here(player: Player) -> str:
    place = player.state.job.place
    return f"{place[-1].procedure}/{place[-1].step}" if place else ""


def test_what_is_needed_comes_first_and_the_work_comes_back(known: Library) -> None:
    player = play(known, "> pull the fan blade")
    assert here(player) == "lockout/1"
    for line in ("done", "the caretaker", "yes", "board seven", "yes", "done"):
        player.hear(line)
    player.set(Line(0, "@", "clock +6min"))
    player.hear("done")
    for line in (
        "done", "yes", "lock is on, key with me", "seven three one", "yes", "two two", "yes",
        "tester reads live", "zero volts on all", "tester reads live", "done", "nothing moves",
    ):  # fmt: skip
        player.hear(line)
    assert "isolated" in player.state.job.flags
    assert player.state.job.flags["isolated"].expires is not None
    assert here(player) == "protect/1"
    assert player.state.job.place[0].procedure == "fan_blade"


def test_a_break_asks_for_protection_again_before_the_step_goes_on(known: Library) -> None:
    player = play(known, "> start a cut")
    for line in (
        "glasses on",
        "done",
        "yes",
        "done",
        "done",
        "yes",
        "done",
        "no hot work",
        "done",
        "not flammable",
        "new tube",
    ):
        player.hear(line)
    assert here(player) == "cut/1"
    player.at += timedelta(minutes=31)
    lines = said(player, "done")
    assert "Protection is asked again after a break." in lines
    assert here(player) == "protect/1"
    assert player.state.job.place[-2].step == "1"


def test_a_fact_for_the_step_is_no_answer_to_an_older_question(known: Library) -> None:
    for what, choices in (("heard", ("a cut", "a flare")), ("torque", ())):
        player = play(known, "@at survey/2d")
        asked = record.Asked(at=player.at, what=what, question="Which?", choices=choices)
        player.state = State(fold(player.state.job, asked), player.state.moment)
        player.hear("centre")
        assert here(player) == "survey/2m"


def test_a_stop_is_said_before_anything_that_has_expired(known: Library) -> None:
    player = play(known, "@flag isolated", "@at fan_blade/2", "> start ten minutes")
    held = player.state.job.flags["isolated"].model_copy(update={"after_break": 60.0})
    player.state = State(fold(player.state.job, held), player.state.moment)
    player.at += timedelta(minutes=5)
    assert said(player, "stop") == ["Stopped."]


def test_a_lock_that_is_off_no_longer_counts(known: Library) -> None:
    player = play(known, "@flag isolated", "@flag ppe", "@at fan_blade/2")
    assert said(player, "my lock is off") == ["The lock no longer counts.", "Is your lock on?"]
    assert "isolated" not in player.state.job.flags
    player.hear("done")
    assert here(player) == "lockout/1"


def test_what_sets_a_state_cannot_be_skipped(known: Library) -> None:
    player = play(known, "@at protect/6")
    assert said(player, "skip") == ["That one can't be skipped."]
    player.hear("done")
    player.hear("not flammable")
    assert "ppe" in player.state.job.flags


def test_a_hold_runs_on_while_other_work_is_in_hand(known: Library) -> None:
    player = play(
        known, "@fact hold_time = 60 minutes", "@flag ppe", "@flag tube_known",
        "@at pressure_test/8", "> done", "> start a cut",
    )  # fmt: skip
    assert here(player) == "cut/1"
    assert len(player.state.job.parked) == 1
    effects = player.set(Line(0, "@", "clock +61min"))
    assert any(isinstance(e, Say) and "Pressure hold" in e.text for e in effects)
    player.hear("back to the pressure test")
    assert here(player) in ("pressure_test/8", "protect/1")
    assert "Pressure hold" in player.state.job.timers
    assert [place[0].procedure for place in player.state.job.parked] == ["cut"]


def test_no_more_than_two_are_parked(known: Library) -> None:
    player = play(known, "@flag ppe", "@fact size = 3/8", "@at cut/1", "> unroll the coil")
    player.hear("profile the bender")
    assert len(player.state.job.parked) == 2
    lines = said(player, "swage it")
    assert lines == ["Two are parked already.", "Finish one, or leave this one."]
    assert here(player) == "bender_profile/1"


def test_test_pressure_on_the_line_forbids_opening_it(known: Library) -> None:
    player = play(known, "@flag ppe", "@flag pressurised", "> remake the joint")
    assert here(player) == ""
    (line,) = said(player, "redo this joint")
    assert line == "Remake the leaking joint: not while the line is under test pressure."


def test_an_open_fact_blocks_what_needs_it(known: Library) -> None:
    player = play(known, "@flag ppe", "@flag vacuum", "@flag refrigerant_known", "@at survey/3c")
    assert "Marked open: maker's charge rate." in said(player, "I don't know")
    assert player.state.job.open_facts == ("charge_rate",)
    player.hear("leave it")
    lines = said(player, "start the charge")
    assert lines[0] == "OPEN: maker's charge rate blocks Charge and start."
    lines = said(player, "don't know")
    assert lines == ["OPEN: maker's charge rate blocks Charge and start."]
    assert here(player) == ""
    lines = said(player, "what's left of the job")
    assert "OPEN: maker's charge rate blocks Charge." in lines


def test_legs_are_a_list_with_a_sum_and_the_last_can_be_taken_off(known: Library) -> None:
    player = play(known, "@at survey/4")
    said(player, "six foot two")
    assert said(player, "nine feet")[-1].startswith("Sum:")
    player.hear("scratch that")
    player.hear("ten feet")
    player.hear("done")
    player.hear("yes")
    read = player.state.job.values["survey/route"]
    assert isinstance(read.value, tuple)
    total = sum(one.to("inch").value for one in read.value)
    assert total == 74 + 120


def test_what_the_job_knows_is_read_back_and_not_asked(known: Library) -> None:
    player = play(known, "@fact test_pressure = 550 psi", "@flag ppe")
    lines = said(player, "start the pressure test")
    assert lines[-2:] == ["550 psi.", "Say it back to me."]


def test_questions_that_are_not_numbers_move_nothing(known: Library) -> None:
    player = play(known, "@at flare_bar/4")
    before = player.state.job.place
    assert said(player, "which nut first") == ["The wing nut nearest the tube, then the far one."]
    assert said(player, "what goes wrong here")[0].startswith("What goes wrong here: slips")
    for question in known.questions.values():
        assert len(question.say.split()) <= 25
    assert player.state.job.place == before


def test_an_apprentice_is_shown_what_good_looks_like(known: Library) -> None:
    player = play(known, "@fact mode = apprentice", "@at cut/3")
    lines = said(player, "done")
    assert lines == ["No dent to be seen.", "Is it so?"]
    assert here(player) == "cut/3"
    player.hear("yes")
    assert here(player) == "cut/4"


def test_the_van_the_stages_and_the_record_are_told(known: Library) -> None:
    player = play(known)
    lines = said(player, "what do I need from the van")
    assert any("tape" in line for line in lines)
    player.hear("the paperwork is done")
    assert said(player, "where am I") == ["Stage 2 of 17: Site survey."]
    assert said(player, "read the record")[0] == "Joints made: 0."


def test_the_next_day_asks_for_the_lock_again(known: Library) -> None:
    player = play(known, "@at fan_blade/4")
    expires = player.at + timedelta(hours=10)
    flag = record.FlagSet(at=player.at, flag="isolated", evidence="lock", expires=expires)
    player.state = State(fold(player.state.job, flag), player.state.moment)
    state, effects = opening(player.state, player.at + timedelta(hours=14), known)
    lines = [effect.text for effect in effects if isinstance(effect, Say)]
    assert "Is your lock on?" in " ".join(lines)
    assert [frame.procedure for frame in state.job.place] == ["fan_blade", "lockout"]
