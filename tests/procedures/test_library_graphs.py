"""Proofs over all procedures, done here by walking every simple way, and not by the checker."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest

from handsfree.library import Library, library
from handsfree.procedures.model import END, Procedure, split_target
from handsfree.procedures.proofs import Graph, deepest
from handsfree.reference import tables

LIBRARY = library()
IDS = """
lockout protect know_refrigerant recover service_valve fan_blade survey bender_profile unroll cut
cut_tight cut_off_flare deburr flare_bar flare_stop flare_eccentric inspect_flare make_up
remake_flare swage_punch swage_screw expand braze choose_bender anneal bend_spring bend_lever
bend_piece bend_ratchet correct_bend pressure_test evacuate charge pinch_off hand_back know_tube
"""
"""P01 to P35, and what P10 asks of a tube: whether it is on a system."""
TABLE = Path(__file__).parent.parent / "published" / "hazards.csv"
DEEPEST = 9


def entries(known: Library, procedure: Procedure) -> set[str]:
    """Return every step at which a procedure can be entered, read off the files again."""
    found = {procedure.steps[0].id}
    for other in known.procedures.values():
        for step in other.steps:
            for target in (step.next, step.calls, *(fault.goto for fault in step.faults)):
                if target.startswith(f"{procedure.id}/"):
                    found.add(target.partition("/")[2])
    for flag in known.flags.values():
        if flag.set_by.startswith(f"{procedure.id}/"):
            found.add(flag.set_by.partition("/")[2])
    return found


def ways_to(procedure: Procedure, goal: str, start: str) -> Iterator[list[tuple[str, bool]]]:
    """Yield every way without a step twice: (step, whether it was closed and not failed)."""

    def go(here: str, way: list[tuple[str, bool]], met: set[str]) -> Iterator[list]:
        if here == goal:
            yield way
            return
        step = procedure.by_id[here]
        for target, fault in procedure.targets(step):
            owner, to = split_target(target, procedure.id)
            if owner == procedure.id and to != END and to not in met:
                yield from go(to, [*way, (here, fault is None)], met | {to})

    yield from go(start, [], {start})


def test_all_are_there_and_none_is_broken() -> None:
    assert [str(fault) for fault in LIBRARY.broken] == []
    assert sorted(LIBRARY.procedures) == sorted(IDS.split())
    assert len(IDS.split()) == 36


def table() -> list[dict[str, str]]:
    return list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", table(), ids=lambda row: f"{row['procedure']}/{row['act']}")
def test_no_way_leads_to_an_act_before_its_words(row: dict[str, str]) -> None:
    """The words of the hazard table stand at the step that says them, on every way to the act."""
    procedure = LIBRARY.procedures[row["procedure"]]
    says = procedure.by_id[row["says"]]
    told = f"{says.caution} {says.say} {says.check} {says.insist}".lower()
    assert row["words"].lower() in told
    assert not says.only_if
    if row["answered"] == "yes":
        assert says.kind == "stated"
    for source in row["sources"].split():
        assert source in tables.sources(), source
    if row["says"] == row["act"]:
        return
    act = row["act"]
    for start in entries(LIBRARY, procedure):
        for way in ways_to(procedure, act, start):
            closed = {step for step, whole in way if whole or row["answered"] != "yes"}
            assert row["says"] in closed, way


def test_every_source_known_only_second_hand_says_that_a_check_is_owed() -> None:
    for row in table():
        for name in row["sources"].split():
            source = tables.sources()[name]
            owed = source.status in ("secondary", "memory")
            assert owed == (row["check"] == "clause check owed") or source.status in (
                "practice",
                "published",
            ), (row, source.status)


def test_what_needs_a_state_is_not_begun_without_it() -> None:
    """The registry of job.md: which procedures must not be entered without which state."""
    needs = {name: set(procedure.needs) for name, procedure in LIBRARY.procedures.items()}
    assert "isolated" in needs["fan_blade"]
    assert {"refrigerant_known", "ppe"} <= needs["recover"]
    assert "recovered" in needs["cut_off_flare"]
    assert {"hot_work_ok", "recovered"} <= needs["braze"]
    assert "hot_work_ok" in needs["anneal"]
    assert "tested" in needs["evacuate"]
    assert "vacuum" in needs["charge"]
    pressurised = [s.id for s in LIBRARY.procedures["pressure_test"].steps if s.needs]
    assert {"4h", "5h", "7h", "8", "9"} <= set(pressurised)


def test_no_pile_of_open_procedures_is_deeper_than_can_be_held() -> None:
    files = {name: (f"{name}.toml", one) for name, one in LIBRARY.procedures.items()}
    pile = deepest(Graph(files, {}, LIBRARY.flags, LIBRARY.hazards))
    print("deepest:", " < ".join(pile))  # noqa: T201 - a figure that is asked for
    assert len(pile) <= DEEPEST


def test_titles_and_reasons_are_there_for_both_kinds_of_people() -> None:
    for procedure in LIBRARY.procedures.values():
        assert procedure.phrases
        for step in procedure.steps:
            assert step.title, (procedure.id, step.id)
            if step.kind in ("seen", "value", "stated", "hold"):
                assert step.why, (procedure.id, step.id)


STANDARDS = TABLE.with_name("procedure_standards.csv")


def test_each_standard_is_named_where_it_applies_and_says_what_is_owed() -> None:
    """Rows are the standards that the trade's own description names, step by step."""
    for row in csv.DictReader(STANDARDS.read_text(encoding="utf-8").splitlines()):
        procedure = LIBRARY.procedures[row["procedure"]]
        step = procedure.by_id.get(row["step"])
        assert step is not None or not row["step"], row
        assert row["source"] in (procedure.sources if step is None else step.sources), row
        second_hand = tables.sources()[row["source"]].status in ("secondary", "memory")
        assert second_hand == (row["check"] == "clause check owed"), row
