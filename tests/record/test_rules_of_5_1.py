"""Rule 5.1: what must be in the record stands on the certificate, or is named as missing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from roof_unit import FIELDS, START, Builder, micron, psi

from handsfree.dialogue.effects import Write
from handsfree.dialogue.engine import advance
from handsfree.dialogue.events import Typed
from handsfree.dialogue.folding import folded
from handsfree.dialogue.state import State
from handsfree.library import Library
from handsfree.library.reckoning import Reckoning
from handsfree.procedures.model import END
from handsfree.quantity import Kind, Reading
from handsfree.record import entries as record
from handsfree.record.certificate import Cell, Certificate, certificate
from handsfree.record.entries import Entry
from handsfree.record.paper import blank_form, paper

MORNING = datetime(2026, 3, 9, 8, tzinfo=UTC)


def shown(job: Builder, reckoning: Reckoning) -> Certificate:
    return certificate(job.entries, (), "0" * 64, reckoning)


def texts(made: Certificate) -> dict[str, str]:
    return {cell.number: cell.text for part in made.parts for cell in part.cells}


def numbered(title: str, row: str) -> str:
    for number, section in enumerate(paper().section, start=1):
        if section.title == title:
            rows = [one.title for one in section.row]
            return f"{number}.{rows.index(row) + 1}"
    raise AssertionError(title)


@pytest.mark.parametrize(
    ("section", "row", "text"),
    [
        ("Job", "Site", FIELDS["site"]),
        ("Job", "Serial number", FIELDS["serial"]),
        ("Job", "Refrigerant", "R32"),
        ("Job", "Safety class", "A2L"),
        ("Job", "Test pressure", "550 psi"),
        ("Job", "Its source", FIELDS["test_source"]),
        ("Instruments", "Test gauge", "gauge 9"),
        ("Isolation", "Lock number", "17"),
        ("Isolation", "Lock removed", "2026-03-09 09:23, my lock is off, panel closed"),
        ("Recovery", "Tare", "26 lb"),
        ("Recovery", "End weight", "36.25 lb"),
        ("Pressure test", "Start pressure", "550 psi"),
        ("Pressure test", "End temperature", "71°F"),
        ("Vacuum", "Rig alone", "90 micron"),
        ("Vacuum", "Ten minutes", "400 micron"),
        ("Vacuum", "Sweeps", "1"),
        ("Charge", "Added", "5 oz"),
        ("Charge", "Cylinder", "N-12"),
        ("Start up", "Volts", FIELDS["volts"]),
        ("Leak check and closing", "Result", FIELDS["leak_result"]),
        ("Leak check and closing", "Caps and cores", "2026-03-09 09:22, all back"),
    ],
)
def test_rule_5_1_what_was_recorded_stands_in_its_row(
    job: Builder, reckoning: Reckoning, section: str, row: str, text: str
) -> None:
    assert texts(shown(job, reckoning))[numbered(section, row)] == text


def test_rule_5_1_the_pressure_test_is_judged_from_its_readings(
    job: Builder, reckoning: Reckoning
) -> None:
    """Ideal gas: (550 + 14.7) psi times 530.67 over 536.67, less 14.7 psi, is 543.7 psi.

    The gas laws, worked out by hand; nitrogen at 37 bar keeps within 1.5 psi of them here.
    """
    found = texts(shown(job, reckoning))
    expected = float(found[numbered("Pressure test", "Expected")].removesuffix(" psi"))
    by_hand = (550 + 14.696) * (71 + 459.67) / (77 + 459.67) - 14.696
    assert expected == pytest.approx(by_hand, abs=1.5)
    assert found[numbered("Pressure test", "Verdict")] == "no leak"


def test_rule_5_1_a_vacuum_inside_its_limit_passes_and_one_beyond_does_not(
    job: Builder, reckoning: Reckoning
) -> None:
    """Common practice, no source: held against the limit, after ten minutes."""
    row = numbered("Vacuum", "Verdict")
    assert texts(shown(job, reckoning))[row] == "passes"
    job.put(record.FactSet, name="vacuum_limit", value=micron(300), words="three hundred")
    assert texts(shown(job, reckoning))[row] != "passes"


def test_rule_5_1_a_decay_counts_by_when_its_readings_were_said(
    job: Builder, reckoning: Reckoning
) -> None:
    """Under five minutes tells nothing (common practice): no verdict stands in the row then."""
    row = numbered("Vacuum", "Verdict")
    for number, entry in enumerate(job.entries):
        if isinstance(entry, record.ValueRead) and entry.procedure == "evacuate":
            job.entries[number] = entry.model_copy(update={"said": None})
    assert row not in texts(shown(job, reckoning))
    assert texts(shown(job, reckoning))[numbered("Vacuum", "Ten minutes")] == "400 micron"


def test_rule_5_1_people_stand_with_their_times(job: Builder, reckoning: Reckoning) -> None:
    people = shown(job, reckoning).people
    assert people[0] == "Sam: on 2026-03-09 08:01, off 2026-03-09 09:31"
    assert people[1].startswith("Jo: on 2026-03-09 09:25")


def test_rule_5_1_every_row_says_who_spoke(job: Builder, reckoning: Reckoning) -> None:
    for part in shown(job, reckoning).parts:
        for cell, row in zip(part.cells, paper().section[part.number - 1].row, strict=False):
            if not (row.sum or row.count):
                assert cell.by.split()[0] in {"Sam", "Jo"}, cell


def test_rule_5_1_joints_carry_size_torque_passes_and_who(
    job: Builder, reckoning: Reckoning
) -> None:
    joints = shown(job, reckoning).joints
    assert [one.number for one in joints] == [1, 2, 3, 4]
    assert joints[2].passes == 2
    assert joints[2].size == "3/8 in"
    assert "torque 42 N·m" in joints[2].readings
    assert joints[2].by.startswith("Sam")
    assert joints[2].kind == "Make up the joint, eccentric"


def test_rule_5_1_deviations_are_named_with_reason_and_name(
    job: Builder, reckoning: Reckoning
) -> None:
    made = shown(job, reckoning).deviations
    assert "Overridden by Sam Carter: crowfoot set by eye, because no adapter." in made
    job.put(
        record.StepClosed,
        procedure="evacuate",
        step="9",
        how="accepted",
        words="accept it",
        reason="accepted by Jo outside limit: old pump",
        place=(),
    )
    accepted = shown(job, reckoning)
    row = numbered("Vacuum", "Closed")
    assert "outside limit: old pump" in texts(accepted)[row]
    assert any(one.startswith("Accepted") and "by Jo" in one for one in accepted.deviations)
    assert any("Skipped" in one and "the bender has no index" in one for one in made)


def test_rule_5_1_two_names_sign_and_one_is_not_enough(job: Builder, reckoning: Reckoning) -> None:
    names = [name for name, _, _ in shown(job, reckoning).signatures]
    assert names == ["Sam Carter", "Jo Bell"]
    job.entries = [
        entry
        for entry in job.entries
        if not (isinstance(entry, record.Signed) and entry.name == "Jo Bell")
    ]
    assert "a second name to sign" in shown(job, reckoning).missing


def test_rule_5_1_what_is_missing_is_named(job: Builder, reckoning: Reckoning) -> None:
    job.entries = [
        entry
        for entry in job.entries
        if not (isinstance(entry, record.FieldWritten) and entry.name == "site")
        and not (isinstance(entry, record.ValueRead) and entry.name == "tare")
    ]
    missing = shown(job, reckoning).missing
    assert any(one.endswith("site") for one in missing)
    assert any(one.endswith("tare") for one in missing)


def test_rule_5_1_what_was_never_begun_is_not_called_missing(reckoning: Reckoning) -> None:
    made = Builder()
    made.put(record.JobOpened, job="small", worker="")
    missing = shown(made, reckoning).missing
    assert not any("tare" in one or "cylinder" in one for one in missing)
    assert any(one.endswith("serial number") for one in missing)


def test_rule_5_1_a_reading_of_a_step_opened_again_is_stale(
    job: Builder, reckoning: Reckoning
) -> None:
    job.put(record.Reopened, procedure="charge", step="1", stale=("charge/added",), place=())
    made = shown(job, reckoning)
    assert "Stale: added 5 oz; its step was opened again." in made.deviations
    assert any(one.endswith("added") for one in made.missing)
    job.put(record.Redone, procedure="charge", step="1", place=())
    again = shown(job, reckoning)
    assert not any(one.startswith("Stale") for one in again.deviations)
    assert not any(one.endswith("added") for one in again.missing)


def test_rule_5_1_every_place_of_the_form_exists(known: Library) -> None:
    """A row whose step, reading, fact or flag nobody can make would stay empty for good."""
    for section in paper().section:
        for row in section.row:
            for place in (row.value, row.step, row.count, *_readings(row.inputs.values())):
                if "/" not in place:
                    continue
                procedure, name = place.split("/")
                steps = known.procedures[procedure].steps
                named = {step.id for step in steps} | {s.value.name for s in steps if s.value}
                assert name in named, f"{section.title}: {place}"
            assert not row.fact or row.fact in known.facts, row.fact
            assert not row.flag or row.flag in known.flags, row.flag
            if row.sum:
                card = known.cards[row.sum]
                assert set(row.inputs) <= set(card.by_name)
                assert not row.answer or row.answer in {one.name for one in card.results}
    assert set(paper().pieces) <= set(known.cards)


def _readings(inputs: Iterable[str | tuple[str, ...]]) -> list[str]:
    found: list[str] = []
    for one in inputs:
        found += [one] if isinstance(one, str) else list(one)
    return found


def test_rule_5_3_10_the_paper_form_has_the_numbers_of_the_certificate() -> None:
    """A page of plain text holds sixty-six lines of eighty letters; common practice, no source."""
    form = blank_form()
    assert len(form.splitlines()) <= 66
    assert max(map(len, form.splitlines())) <= 80
    for number, section in enumerate(paper().section, start=1):
        for place, row in enumerate(section.row, start=1):
            assert row.sum or f"{number}.{place} {row.title} " in form


def test_rule_5_1_times_are_those_of_the_entries(job: Builder, reckoning: Reckoning) -> None:
    made = shown(job, reckoning)
    assert made.begun == START.strftime("%Y-%m-%d %H:%M")
    assert made.signatures[0][2] == "2026-03-09 09:31"


def test_rule_5_1_the_test_pressure_has_a_source_beside_it(
    job: Builder, reckoning: Reckoning
) -> None:
    job.put(record.FactSet, name="test_pressure", value=psi(500), words="five hundred")
    found = texts(shown(job, reckoning))
    assert found[numbered("Job", "Test pressure")] == "500 psi"


def cells_of(entries: Sequence[Entry], reckoning: Reckoning) -> dict[str, Cell]:
    made = certificate(entries, (), "", reckoning)
    return {cell.title: cell for part in made.parts for cell in part.cells}


def read_at(at: datetime, procedure: str, name: str, value: Reading) -> record.ValueRead:
    return record.ValueRead(
        at=at,
        worker="Sam",
        procedure=procedure,
        step="1",
        name=name,
        value=value,
        words="",
        confirmed="yes",
    )


def test_rule_5_1_a_hold_over_night_shows_the_day_of_each_reading(reckoning: Reckoning) -> None:
    """Start and end of a hold of a day would else stand three minutes apart."""
    first, later = MORNING, MORNING + timedelta(hours=24, minutes=3)
    start, end = (
        read_at(at, "pressure_test", name, Reading(Fraction(psi), "psi", Kind.GAUGE_PRESSURE))
        for at, name, psi in ((first, "start_pressure", 548), (later, "end_pressure", 546))
    )
    cells = cells_of([start, end], reckoning)
    assert cells["Start pressure"].by == f"Sam {first:%Y-%m-%d %H:%M}"
    assert cells["End pressure"].by == f"Sam {later:%Y-%m-%d %H:%M}"
    assert cells_of([start], reckoning)["Start pressure"].by == f"Sam {first:%H:%M}"


@pytest.mark.parametrize(
    ("hours", "reason", "note"),
    [(25, "time", "lapsed 2026-03-09 18:00"), (2, "Lock off.", "ended 2026-03-09 10:00: Lock off")],
)
def test_rule_5_1_isolation_shows_when_it_was_over_and_why(
    reckoning: Reckoning, hours: int, reason: str, note: str
) -> None:
    over = MORNING + timedelta(hours=10)
    locked = record.FlagSet(at=MORNING, flag="isolated", evidence="lock on", expires=over)
    told = MORNING + timedelta(hours=hours)
    ended = record.FlagCleared(at=told, flag="isolated", reason=reason)
    assert cells_of([locked, ended], reckoning)["Isolated"].note == note


def test_rule_5_1_what_was_read_stands_where_nothing_was_typed(reckoning: Reckoning) -> None:
    length = Reading(Fraction(40), "foot", Kind.LENGTH)
    suction = Reading(Fraction(118), "psi", Kind.GAUGE_PRESSURE)
    read = [
        read_at(MORNING, "charge", "line_length", length),
        read_at(MORNING, "charge", "suction_pressure", suction),
    ]
    cells = cells_of(read, reckoning)
    assert cells["Line length"].text == "40 ft"
    assert cells["Suction pressure"].text == "118 psi"
    typed = record.FieldWritten(at=MORNING, name="line_length", text="12 m, of the drawing")
    assert cells_of([*read, typed], reckoning)["Line length"].text == "12 m, of the drawing"


@pytest.mark.parametrize(
    ("below", "made_as"),
    [
        (("flare_bar",), "flare_bar"),
        (("pressure_test", "flare_stop"), "flare_stop"),
        ((), "make_up"),
    ],
)
def test_rule_5_1_a_joint_says_how_it_was_made(
    known: Library, below: tuple[str, ...], made_as: str
) -> None:
    frames = [record.Frame(procedure=name, step=END) for name in below]
    place = (*frames, record.Frame(procedure="make_up", step="7"))
    started = record.ProcedureStarted(at=MORNING, procedure="make_up", place=place)
    needs = {flag for name in (*below, "make_up") for flag in known.procedures[name].needs}
    flags = [record.FlagSet(at=MORNING, flag=flag, evidence="x") for flag in needs]
    _, effects = advance(State(folded([*flags, started])), Typed("done", MORNING), known)
    written = [effect.entry for effect in effects if isinstance(effect, Write)]
    (joint,) = [entry for entry in written if isinstance(entry, record.JointMade)]
    assert joint.procedure == made_as


def test_rule_5_1_work_that_was_begun_and_not_finished_is_named(
    known: Library, reckoning: Reckoning
) -> None:
    def started(procedure: str) -> record.ProcedureStarted:
        first = known.procedures[procedure].steps[0].id
        place = (record.Frame(procedure=procedure, step=first),)
        return record.ProcedureStarted(at=MORNING, procedure=procedure, place=place)

    ended = record.ProcedureEnded(at=MORNING, procedure="cut", complete=True, place=())
    left = record.ProcedureEnded(
        at=MORNING, worker="Sam", procedure="cut", complete=False, place=()
    )
    test, cut = started("pressure_test"), started("cut")
    parked = record.ProcedureParked(at=MORNING, procedure="pressure_test", place=test.place)

    def told(*entries: Entry) -> list[str]:
        return list(certificate(entries, (), "", reckoning).deviations)

    (one,) = told(test)
    assert one.startswith("Not finished: Pressure test; it stands at Pressure test 1")
    first, second = told(test, parked, cut)
    assert first.startswith("Not finished: Cut")
    assert second.startswith("Not finished: Pressure test")
    assert told(test, parked, cut, ended) == [one]
    assert told(cut, ended) == []
    assert told(cut, left) == ["Left unfinished, Sam 08:00: Cut."]


@pytest.mark.parametrize("reason", ["because the gauge is away", "The gauge is away."])
def test_rule_5_1_a_skipped_step_is_named_with_who_and_why(
    reckoning: Reckoning, reason: str
) -> None:
    skipped = record.StepClosed(
        at=MORNING,
        worker="Sam",
        procedure="inspect_flare",
        step="4",
        how="skipped",
        reason=reason,
        place=(),
    )
    (told,) = certificate([skipped], (), "", reckoning).deviations
    assert told.startswith("Skipped, Sam 08:00: Inspect the flare 4, ")
    assert told.lower().endswith(", because the gauge is away.")
