"""Rule 5.2: how a value is kept, corrected, recomputed, and handed on."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from html.parser import HTMLParser
from importlib import resources
from math import pi
from typing import Any

import jsonschema
import pytest
from roof_unit import Builder, inch

from handsfree.dialogue.effects import Write
from handsfree.dialogue.engine import advance
from handsfree.dialogue.events import Alternative, Heard, Typed
from handsfree.dialogue.folding import folded
from handsfree.dialogue.state import State
from handsfree.library import Library
from handsfree.library.reckoning import Reckoning
from handsfree.quantity import Kind, Reading
from handsfree.record import entries as record
from handsfree.record.aloud import aloud
from handsfree.record.certificate import certificate
from handsfree.record.entries import Entry
from handsfree.record.export import SCHEMA_FILE, as_json, as_tables, schema
from handsfree.record.page import page
from handsfree.record.recomputing import differences
from handsfree.record.text import printable

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
NASTY = "<script>alert(1)</script>\x1b[2J\x07 {{ 7 * 7 }} & \u202eright to left"


def typed(known: Library, *lines: str) -> list[Entry]:
    """Return what a conversation writes."""
    state, at, found = State(), AT, list[Entry]()
    for line in lines:
        state, effects = advance(state, Typed(line, at), known)
        found += [effect.entry for effect in effects if isinstance(effect, Write)]
        at += timedelta(seconds=3)
    return found


def test_rule_5_2_a_reading_keeps_words_read_back_confirmation_and_confidence(
    known: Library,
) -> None:
    place = (record.Frame(procedure="evacuate", step="2", phase="value"),)
    started = record.ProcedureStarted(at=AT, procedure="evacuate", place=place)
    flags = [
        record.FlagSet(at=AT, flag=flag, evidence="test")
        for flag in known.procedures["evacuate"].needs
    ]
    state = State(folded([started, *flags]))
    found: list[Entry] = []
    for line in ("ninety microns", "yes"):
        event = Heard((Alternative(line, fit=-0.25),), AT)
        state, effects = advance(state, event, known)
        found += [effect.entry for effect in effects if isinstance(effect, Write)]
    (read,) = [entry for entry in found if isinstance(entry, record.ValueRead)]
    assert read.words == "ninety microns"
    assert read.confirmed == "yes"
    assert "90" in read.read_back or "ninety" in read.read_back
    assert read.confidence == pytest.approx(0.7788, abs=1e-4)  # e to the minus a quarter


def test_rule_5_2_a_field_is_kept_as_typed(known: Library) -> None:
    (field,) = typed(known, "record serial: AX-12/34 (Rev. B)")
    assert isinstance(field, record.FieldWritten)
    assert (field.name, field.text) == ("serial", "AX-12/34 (Rev. B)")
    assert field.words == "record serial: AX-12/34 (Rev. B)"


def heard_at(known: Library, procedure: str, step: str, *said: tuple[str, float]) -> list[Entry]:
    """Return what is written when these sentences are heard, this well, at a step's reading."""
    place = (record.Frame(procedure=procedure, step=step, phase="value"),)
    needs = known.procedures[procedure].needs
    flags = [record.FlagSet(at=AT, flag=flag, evidence="test") for flag in needs]
    begun = record.ProcedureStarted(at=AT, procedure=procedure, place=place)
    sam = record.WorkerNamed(at=AT, name="Sam")
    state, found = State(folded([sam, begun, *flags])), list[Entry]()
    for line, fit in said:
        state, effects = advance(state, Heard((Alternative(line, fit=fit),), AT), known)
        found += [effect.entry for effect in effects if isinstance(effect, Write)]
    return found


def test_rule_5_2_a_list_keeps_the_words_of_each_reading(known: Library) -> None:
    found = heard_at(
        known,
        "bend_piece",
        "1",
        ("nine inches", -0.1),
        ("twelve and a half", -0.5),
        ("fourteen", -0.1),
        ("scratch that", -0.1),
        ("fifteen inches", -0.1),
        ("done", -0.1),
        ("yes", -0.1),
    )
    (read,) = [entry for entry in found if isinstance(entry, record.ValueRead)]
    assert read.words == "nine inches; twelve and a half; fifteen inches"
    assert read.read_back == "9 in, 12-1/2 in, 15 in."
    assert read.confirmed == "yes"
    assert read.confidence == pytest.approx(0.6065, abs=1e-4)  # e to the minus a half, the worst


def test_rule_5_2_an_accepted_reading_keeps_its_own_words(known: Library) -> None:
    said = (("ninety microns", -0.1), ("accept it", -0.4), ("the gauge is slow", -0.4))
    found = heard_at(known, "evacuate", "2", *said)
    (read,) = [entry for entry in found if isinstance(entry, record.ValueRead)]
    assert (read.words, read.confirmed) == ("ninety microns", "the gauge is slow")
    assert read.read_back == "90 micron."
    assert read.confidence == pytest.approx(0.9048, abs=1e-4)  # e to the minus a tenth


@pytest.mark.parametrize(
    "readings", [("300", "450 microns"), ("300 and 450",), ("300 to 450 microns",)]
)
def test_rule_5_2_readings_given_in_turns_keep_the_words_of_each(
    known: Library, readings: tuple[str, ...]
) -> None:
    said = ("vacuum decay", *readings, "10 minutes", "500 microns")
    (sum_,) = [one for one in typed(known, *said) if isinstance(one, record.Calculated)]
    assert sum_.words == "; ".join(said)
    start, end = sum_.inputs["readings"]  # type: ignore[misc, str-unpack]  # several readings
    assert (start.value, end.value) == (300, 450)  # type: ignore[union-attr]


NOTE = "Mr. O'Brien's <b>R-410A</b> leak: 3/8\" flare (North side), seen at 9:30!"


@pytest.mark.parametrize(
    "line",
    [f"note {NOTE}", f"Note that - {NOTE}", f"hands free, remember: {NOTE}", f"um, note {NOTE}"],
)
def test_rule_5_2_a_note_is_kept_as_typed(known: Library, line: str) -> None:
    (note,) = [one for one in typed(known, line) if isinstance(one, record.Noted)]
    assert note.text == NOTE
    assert NOTE in certificate([note], (), "", Reckoning(known)).notes[0]


def test_rule_5_2_a_note_of_who_gave_their_name_first_is_kept_as_typed(known: Library) -> None:
    *_, note = typed(known, "I'm Sam", f"Sam, note {NOTE}")
    assert isinstance(note, record.Noted)
    assert (note.worker, note.text) == ("Sam", NOTE)


def test_rule_5_2_a_long_note_and_a_long_field_are_taken_down_whole(known: Library) -> None:
    long = " ".join(f"Word-{number}," for number in range(200))
    note, field = typed(known, f"note {long}", f"record site: {long}")
    assert isinstance(note, record.Noted)
    assert isinstance(field, record.FieldWritten)
    assert note.text == field.text == long


def test_rule_5_2_a_note_that_was_spoken_is_kept_as_heard(known: Library) -> None:
    heard = Heard((Alternative("note the wall is soft"),), AT)
    _, effects = advance(State(), heard, known)
    (note,) = [one.entry for one in effects if isinstance(one, Write)]
    assert isinstance(note, record.Noted)
    assert note.text == "the wall is soft"


def test_rule_5_2_words_that_a_step_asks_for_are_kept_as_typed(known: Library) -> None:
    found = typed(known, "start the lockout", "yes", "M. O'Brien (Unit 4-B)", "yes")
    (read,) = [one for one in found if isinstance(one, record.ValueRead)]
    assert read.value == "M. O'Brien (Unit 4-B)"


def test_rule_5_2_a_correction_is_a_new_line_that_points_to_the_old_one(known: Library) -> None:
    first, second = typed(known, "record site: 12 Mill Lane", "record the site: 14 Mill Lane")
    assert isinstance(first, record.FieldWritten)
    assert first.text == "12 Mill Lane"
    assert isinstance(second, record.Corrected)
    assert (second.corrects, second.value) == (1, "14 Mill Lane")
    made = certificate([first, second], (), "", Reckoning(known))
    site = made.parts[0].cells[0]
    assert (site.text, site.note) == ("14 Mill Lane", "corrected, entry 2")
    assert "Entry 1 corrected: site 14 Mill Lane." in made.deviations


def test_rule_5_2_photos_signatures_and_overrides_are_typed(known: Library) -> None:
    found = typed(
        known,
        "record photo: IMG_0012.jpg",
        "record signature: Jo Bell, for the customer",
        "record override: torque by feel",
        "record override: torque by feel, because no adapter, by Sam Carter",
    )
    photo, signature, override = found
    assert isinstance(photo, record.PhotoNamed)
    assert photo.file == "IMG_0012.jpg"
    assert isinstance(signature, record.Signed)
    assert (signature.name, signature.role) == ("Jo Bell", "for the customer")
    assert isinstance(override, record.Overridden)
    assert (override.reason, override.name) == ("no adapter", "Sam Carter")


@pytest.mark.parametrize("line", ["the record", "record", "record it", "record the 3/8 is fine"])
def test_rule_5_2_what_names_no_field_files_nothing(known: Library, line: str) -> None:
    kinds = {entry.kind for entry in typed(known, line)}
    assert not kinds & {"field written", "photo named", "signed", "overridden"}


def test_rule_5_2_every_computed_value_follows_from_its_inputs(
    job: Builder, reckoning: Reckoning
) -> None:
    assert list(differences(job.entries, reckoning)) == []


def altered(job: Builder, **answers: Any) -> int:
    """Alter the answers of the first computed entry, and return its number."""
    place = next(n for n, one in enumerate(job.entries) if isinstance(one, record.Calculated))
    entry = job.entries[place]
    assert isinstance(entry, record.Calculated)
    job.entries[place] = entry.model_copy(update={"answers": {**entry.answers, **answers}})
    return place + 1


def test_rule_5_2_an_altered_answer_is_told_and_marked(job: Builder, reckoning: Reckoning) -> None:
    """A square of tube with two bends of 15/16 saves twice (2 - pi/2) R: 40 in less that."""
    number = altered(job, cut=inch("41"))
    (found,) = differences(job.entries, reckoning)
    assert (found.entry, found.calculator, found.name) == (number, "cut_length", "cut")
    assert found.recorded == "41 in"
    assert float(found.recomputed.removesuffix(" in")) == pytest.approx(
        40 - 15 / 16 * (4 - pi), abs=1e-3
    )
    made = certificate(job.entries, (), "", reckoning)
    assert made.differing == 1
    assert "≠" in page(made)


def test_rule_5_2_an_altered_input_is_told(job: Builder, reckoning: Reckoning) -> None:
    place = next(n for n, one in enumerate(job.entries) if isinstance(one, record.Calculated))
    entry = job.entries[place]
    assert isinstance(entry, record.Calculated)
    inputs = {**entry.inputs, "radius": inch("3")}
    job.entries[place] = entry.model_copy(update={"inputs": inputs})
    assert [one.name for one in differences(job.entries, reckoning)] == ["cut"]


def test_rule_5_2_a_calculator_that_is_not_known_is_told(reckoning: Reckoning) -> None:
    made = Builder()
    made.put(record.Calculated, calculator="of_tomorrow", words="", inputs={}, answers={})
    (found,) = differences(made.entries, reckoning)
    assert "of_tomorrow" in str(found) or "of tomorrow" in str(found)


def test_rule_5_2_the_published_schema_is_that_of_this_release() -> None:
    """When this fails: scripts/write_schema."""
    text = (resources.files("handsfree") / "data" / SCHEMA_FILE).read_text(encoding="utf-8")
    assert json.loads(text) == schema()


def test_rule_5_2_the_json_of_a_whole_job_obeys_the_schema(job: Builder) -> None:
    """Checked by a general-purpose library, against the file that is published."""
    text = (resources.files("handsfree") / "data" / SCHEMA_FILE).read_text(encoding="utf-8")
    published = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(published)
    checker = jsonschema.Draft202012Validator(published)
    whole = json.loads(as_json(job.entries, ["a fault"], "0" * 64))
    assert list(checker.iter_errors(whole)) == []
    assert len(whole["entries"]) == len(job.entries)
    whole["entries"][3]["surprise"] = 1
    assert list(checker.iter_errors(whole)) != []


def test_rule_5_2_there_is_a_table_for_each_kind(job: Builder) -> None:
    tables = as_tables(job.entries)
    kinds = {entry.kind for entry in job.entries}
    assert set(tables) == {f"{kind.replace(' ', '-')}.csv" for kind in kinds}
    rows = {name: list(csv.DictReader(io.StringIO(text))) for name, text in tables.items()}
    numbers = sorted(int(row["entry"]) for table in rows.values() for row in table)
    assert numbers == list(range(1, len(job.entries) + 1))
    tare = next(row for row in rows["value-read.csv"] if row["name"] == "tare")
    assert (tare["value value"], tare["value unit"]) == ("26", "pound")


def test_rule_5_2_a_table_holds_no_formula() -> None:
    """A cell that begins with one of = + - @ is run by spreadsheets; common practice, no source."""
    made = Builder()
    made.put(record.Noted, text='=HYPERLINK("http://example.org")')
    made.put(record.Noted, text="-12, said twice")
    (table,) = as_tables(made.entries).values()
    for row in csv.DictReader(io.StringIO(table)):
        assert not row["text"].startswith(("=", "+", "-", "@"))


class Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def parsed(html: str) -> Tags:
    tags = Tags()
    tags.feed(html)
    tags.close()
    return tags


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_rule_5_2_the_certificate_stands_alone(
    job: Builder, reckoning: Reckoning, size: Any
) -> None:
    html = page(certificate(job.entries, (), "0" * 64, reckoning), size)
    tags = parsed(html)
    assert {"A4": "a4", "letter": "letter"}[re.findall(r"@page \{ size: (\w+)", html)[0]] == size
    assert not {tag for tag, _ in tags.found} & {"script", "img", "link", "iframe", "object"}
    for _, attributes in tags.found:
        assert not {"src", "href", "style", "onload", "onclick"} & set(attributes)
    assert not re.search(r"https?:|url\(|@import|@font-face", html)


def test_rule_5_2_what_was_typed_is_shown_and_never_interpreted(reckoning: Reckoning) -> None:
    made = Builder()
    made.put(record.JobOpened, job=NASTY, worker=NASTY)
    for name in ("site", "person", "instrument"):
        made.put(record.FieldWritten, name=name, text=NASTY, worker=NASTY)
    made.put(record.JointMade, number=1, procedure=NASTY, tool=NASTY, values={"torque": NASTY})
    made.put(record.Calculated, calculator=NASTY, words="", inputs={"x": NASTY}, answers={})
    made.put(record.Overridden, what=NASTY, reason=NASTY, name=NASTY)
    made.put(record.Noted, text=NASTY)
    made.put(record.PhotoNamed, file=NASTY, of=NASTY)
    made.put(record.Signed, name=NASTY, role=NASTY)
    shown = certificate(made.entries, (NASTY,), NASTY[:9], reckoning)
    tags = parsed(page(shown))
    assert not any(tag == "script" for tag, _ in tags.found)
    whole = "".join(tags.text)
    assert "<script>alert(1)</script>" in whole
    assert "{{ 7 * 7 }}" in whole
    assert "\x1b" not in whole
    assert "\u202e" not in whole
    said_aloud = aloud(shown)
    assert printable(said_aloud) == said_aloud


def test_rule_5_2_a_long_job_still_fits_two_pages(known: Library, reckoning: Reckoning) -> None:
    """Pieces of text are counted here; pictures of both papers are looked at by people."""
    made = Builder()
    made.put(record.JobOpened, job="x" * 300)
    for number in range(1, 400):
        made.put(record.JointMade, number=number, procedure="make_up")
        made.put(record.Noted, text="word " * 200)
        made.put(record.PhotoNamed, file=f"{number}.jpg" * 20)
        made.put(record.FieldWritten, name="person", text="y" * 400)
        made.reckon(known, "convert_length", value=inch("1"), to="millimetre")
    shown = certificate(made.entries, (), "0" * 64, reckoning)
    assert (len(shown.joints), shown.more_joints) == (24, 375)
    assert (len(shown.sums), shown.more_sums, shown.computed) == (10, 389, 399)
    assert len(shown.notes) + shown.more_notes == 399
    assert max(map(len, shown.notes)) <= 150
    assert len(page(shown)) < 60_000


def test_rule_5_2_the_summary_is_read_aloud_in_under_a_minute(
    job: Builder, reckoning: Reckoning
) -> None:
    """People read aloud at about 150 words a minute; common practice, no source."""
    told = aloud(certificate(job.entries, (), "0" * 64, reckoning))
    assert "Signed by Sam Carter and Jo Bell." in told
    assert "verdict: no leak" in told
    made = Builder()
    made.put(record.JobOpened, job="word " * 200)
    for name in ("site", "total_charge", "leak_result"):
        made.put(record.FieldWritten, name=name, text="word " * 200)
    for _ in range(50):
        made.put(record.Signed, name="A Very Long Name Indeed " * 20)
    for spoken in (told, aloud(certificate(made.entries, (), "", reckoning))):
        assert len(spoken.split()) < 150


def test_rule_5_2_entries_of_the_first_schema_are_read() -> None:
    """Lines as the first release wrote them."""
    old = {
        "kind": "value read",
        "at": "2026-01-05T08:00:00+00:00",
        "procedure": "evacuate",
        "step": "2",
        "name": "rig_blank",
        "value": {"value": "90", "unit": "micron", "kind": "vacuum"},
        "words": "yes",
        "confirmed": "yes",
    }
    read = record.entry_from(old)
    assert isinstance(read, record.ValueRead)
    assert (read.read_back, read.confidence) == ("", None)
    joint = record.entry_from({"kind": "joint made", "at": old["at"], "number": 2})
    assert isinstance(joint, record.JointMade)
    assert joint.passes == 1


@pytest.mark.parametrize(
    ("seal", "shown"), [("0f" * 32, True), ('x" } body { display: none', False)]
)
def test_rule_5_2_each_page_is_numbered_and_carries_the_seal(
    reckoning: Reckoning, seal: str, *, shown: bool
) -> None:
    """Pages of two certificates can be told apart; a seal edited by hand styles nothing."""
    note = record.Noted(at=AT, text="x")
    text = page(certificate([note], (), seal, reckoning))
    style = text.partition("<style>")[2].partition("</style>")[0]
    assert "counter(page)" in style
    assert (f'content: "Seal {seal}"' in style) == shown
    assert "display: none" not in style


def test_rule_5_2_a_reading_corrected_after_its_joint_is_corrected_there(known: Library) -> None:
    """Said twice, it is corrected once: the maker's figure before it stays as it was."""
    place = (record.Frame(procedure="make_up", step="6", phase="value"),)
    torque = Reading(Fraction(18), "newton_metre", Kind.TORQUE)
    begun: list[Entry] = [
        record.FlagSet(at=AT, flag="ppe", evidence="x"),
        record.FactSet(at=AT, name="size", value=inch("3/8")),
        record.FactSet(at=AT, name="maker_torque 3/8 in", value=torque, words="eighteen"),
        record.ProcedureStarted(at=AT, procedure="make_up", place=place),
    ]
    state, entries = State(folded(begun)), [*begun]
    said = ("18 newton metres", "yes", "done", "make that 19 newton metres")
    for line in (*said, said[-1]):
        state, effects = advance(state, Typed(line, AT), known)
        entries += [effect.entry for effect in effects if isinstance(effect, Write)]
    assert len([one for one in entries if isinstance(one, record.Corrected)]) == 1
    assert state.job.facts["maker_torque 3/8 in"] == torque
    assert set(state.job.facts) == {"size", "maker_torque 3/8 in"}
    (joint,) = certificate(entries, (), "", Reckoning(known)).joints
    number = next(
        place for place, one in enumerate(entries, start=1) if isinstance(one, record.Corrected)
    )
    assert joint.readings == f"torque 19 N·m (corrected, entry {number})"
