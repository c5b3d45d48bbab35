"""Rule 5.3 where it is said: after a dead battery, and with a clock that went back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from handsfree.dialogue.effects import Effect, Say, Write
from handsfree.dialogue.engine import advance, opening
from handsfree.dialogue.events import Battery, RecordLost, Typed
from handsfree.dialogue.folding import folded
from handsfree.dialogue.state import State
from handsfree.library import Library
from handsfree.record import entries as record
from handsfree.record.entries import Entry

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


def talk(known: Library, *lines: str) -> tuple[State, list[Entry]]:
    state, at, entries = State(), AT, list[Entry]()
    for line in lines:
        state, effects = advance(state, Typed(line, at), known)
        entries += written(effects)
        at += timedelta(seconds=3)
    return state, entries


def written(effects: tuple[Effect, ...]) -> list[Entry]:
    return [effect.entry for effect in effects if isinstance(effect, Write)]


def said(effects: tuple[Effect, ...]) -> str:
    return " ".join(effect.text for effect in effects if isinstance(effect, Say))


def test_rule_5_3_3_the_state_is_the_fold_of_what_was_written(known: Library) -> None:
    state, entries = talk(
        known,
        "I'm Sam",
        "record site: 12 Mill Lane",
        "record site: 14 Mill Lane",
        "record photo: a.jpg",
        "start a cut",
        "yes",
        "record signature: Sam Carter",
    )
    assert folded(entries) == state.job


def test_rule_5_3_4_a_hold_ran_on_while_the_device_was_dead(known: Library) -> None:
    _, entries = talk(known, "timer two hours")
    later = AT + timedelta(minutes=112)
    _, effects = opening(State(folded(entries)), later, known)
    assert "Timer ran on: 112 minutes. I was not listening for 112 minutes." in said(effects)


def test_rule_5_3_5_a_clock_that_went_back_is_said_once_and_written(known: Library) -> None:
    state, _ = talk(known, "note that the wall is soft")
    back = AT - timedelta(minutes=50)
    state, effects = advance(state, Typed("tape is inch", back), known)
    (doubt, fact) = written(effects)
    assert isinstance(doubt, record.ClockDoubted)
    assert doubt.seconds == 3000
    assert isinstance(fact, record.FactSet)
    assert said(effects).startswith("The clock went back by 50 minutes. Times are uncertain")
    _, effects = advance(state, Typed("tape is metric", back + timedelta(seconds=5)), known)
    assert "clock" not in said(effects)


def test_rule_5_3_5_a_correction_of_seconds_is_no_doubt(known: Library) -> None:
    state, _ = talk(known, "note that the wall is soft")
    _, effects = advance(state, Typed("tape is inch", AT - timedelta(seconds=20)), known)
    assert [entry.kind for entry in written(effects)] == ["fact set"]


def test_rule_5_3_5_what_ends_by_time_is_over_when_the_clock_went_back(known: Library) -> None:
    timed = record.FlagSet(
        at=AT, flag="ppe", evidence="yes", expires=AT + timedelta(hours=1), after_break=None
    )
    lasting = record.FlagSet(at=AT, flag="refrigerant_known", evidence="label")
    state = State(folded([timed, lasting]))
    state, _ = advance(state, Typed("tape is inch", AT - timedelta(hours=1)), known)
    assert set(state.job.flags) == {"refrigerant_known"}


def test_rule_5_3_9_a_challenge_is_asked_again_after_a_restart(known: Library) -> None:
    place = (record.Frame(procedure="pressure_test", step="2", phase="state"),)
    flags = [record.FlagSet(at=AT, flag=flag, evidence="x") for flag in ("ppe",)]
    started = record.ProcedureStarted(at=AT, procedure="pressure_test", place=place)
    state = State(folded([record.JobOpened(at=AT, job="roof"), *flags, started]))
    _, effects = opening(state, AT + timedelta(minutes=5), known)
    assert "Job roof. You were on: Pressure test." in said(effects)
    assert known.procedures["pressure_test"].by_id["2"].check in said(effects)


def test_rule_5_3_9_whose_lock_is_on_is_asked_after_a_restart(known: Library) -> None:
    locked = record.FlagSet(at=AT, flag="isolated", evidence="lock on")
    state = State(folded([record.JobOpened(at=AT, job="roof"), locked]))
    state, effects = opening(state, AT + timedelta(minutes=5), known)
    assert "Your lock, still on?" in said(effects)
    state, _ = advance(state, Typed("lock off", AT + timedelta(minutes=6)), known)
    assert "isolated" not in state.job.flags
    _, effects = opening(state, AT + timedelta(minutes=9), known)
    assert "Your lock" not in said(effects)


def test_rule_5_3_1_what_is_only_held_is_not_said_to_be_written(known: Library) -> None:
    state, _ = advance(State(), RecordLost(AT), known)
    for line in (
        "record site: 12 Mill Lane",
        "record photo: a.jpg",
        "record signature: Sam Carter",
        "record override: by eye, because no gauge, by Sam Carter",
    ):
        state, effects = advance(state, Typed(line, AT), known)
        assert said(effects).startswith("Held, not saved"), line


def test_rule_5_3_6_each_level_of_the_battery_is_said_once(known: Library) -> None:
    state, told = State(), list[str]()
    for percent in (80, 21, 20, 19.5, 12, 10, 9, 80, 15):
        state, effects = advance(state, Battery(percent, AT), known)
        told.append(said(effects))
    low, lower = "Battery at 20 per cent.", "Battery at 10 per cent."
    assert told == ["", "", low, "", "", lower, "", "", low]


def test_rule_5_3_6_the_last_level_is_written_and_says_the_place(known: Library) -> None:
    place = (record.Frame(procedure="cut", step=known.procedures["cut"].steps[2].id),)
    started = record.ProcedureStarted(at=AT, procedure="cut", place=place)
    state = State(folded([started]))
    state, effects = advance(state, Battery(4.2, AT), known)
    (note,) = written(effects)
    assert isinstance(note, record.Noted)
    title = known.procedures["cut"].title
    assert said(effects) == f"Battery at 5 per cent. Saved. Place: {title}, step 3."
    held, _ = advance(State(), RecordLost(AT), known)
    _, effects = advance(held, Battery(4.2, AT), known)
    assert "Held, not saved" in said(effects)
    assert "Saved." not in said(effects)
