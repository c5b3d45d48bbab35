"""A whole job of our own invention, entry by entry, with everything that a record must hold."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from fractions import Fraction
from typing import Any

from handsfree.library import Library
from handsfree.library.reckoning import Reckoning
from handsfree.quantity import Kind, Reading
from handsfree.record import entries as record
from handsfree.record.entries import Entry, Frame

START = datetime(2026, 3, 9, 8, 0, tzinfo=UTC)


def psi(value: int) -> Reading:
    return Reading(Fraction(value), "psi", Kind.GAUGE_PRESSURE)


def fahrenheit(value: int) -> Reading:
    return Reading(Fraction(value), "fahrenheit", Kind.TEMPERATURE)


def micron(value: int) -> Reading:
    return Reading(Fraction(value), "micron", Kind.VACUUM)


def inch(text: str) -> Reading:
    return Reading(Fraction(text), "inch", Kind.LENGTH)


def pound(text: str) -> Reading:
    return Reading(Fraction(text), "pound", Kind.MASS)


FIELDS = {
    "site": "12 Mill Lane, rear roof",
    "customer": "Dairy on the hill",
    "make": "Northwall",
    "serial": "NW-4471 / NW-4472",
    "label_charge": "2.1 kg for 7.5 m",
    "design_pressure": "4.15 MPa, plate",
    "test_source": "Installation manual, page 14",
    "company": "Carter Cooling, C-20931",
    "test_gas": "Dry nitrogen",
    "bubbled": "All four, none moved",
    "pump_oil": "Changed this morning",
    "line_length": "11 m",
    "total_charge": "2.24 kg",
    "pressures": "118 and 390 psi",
    "line_temperatures": "52 and 94 F",
    "volts": "231",
    "drain": "A litre in 40 s",
    "leak_method": "Electronic detector, 3 g a year",
    "leak_points": "Four joints, both valves",
    "leak_result": "No leak found",
}
READ = {
    "lockout": {
        "told_to": "site manager",
        "isolator": "roof panel 3",
        "lock_number": "17",
        "tester": "tester 4",
    },
    "recover": {
        "cylinder": "R-88",
        "tare": pound("26"),
        "start_weight": pound("31.5"),
        "end_weight": pound("36.25"),
        "pulled_to": psi(0),
        "held_at": psi(0),
    },
    "pressure_test": {
        "gauge": "gauge 9",
        "start_pressure": psi(550),
        "start_temperature": fahrenheit(77),
        "end_pressure": psi(543),
        "end_temperature": fahrenheit(71),
    },
    "evacuate": {
        "rig_blank": micron(90),
        "lowest": micron(280),
        "isolated_at": micron(290),
        "after_one": micron(330),
        "after_five": micron(380),
        "after_ten": micron(400),
    },
    "charge": {
        "extra_charge": Reading(Fraction(5), "ounce", Kind.MASS),
        "added": Reading(Fraction(5), "ounce", Kind.MASS),
        "cylinder": "N-12",
        "superheat": Reading(Fraction(9), "fahrenheit", Kind.TEMPERATURE_DIFFERENCE),
        "subcooling": Reading(Fraction(11), "fahrenheit", Kind.TEMPERATURE_DIFFERENCE),
        "air_in": fahrenheit(75),
        "air_out": fahrenheit(57),
        "amps": Reading(Fraction(6), "one", Kind.COUNT),
    },
}
DECAY_MINUTES = {"isolated_at": 0, "after_one": 1, "after_five": 5, "after_ten": 10}
"""When the readings of the decay were said, from the first; they are confirmed at the end."""
STEPS = [
    ("lockout", "5", "proved on the known supply"),
    ("lockout", "6", "dead on all poles"),
    ("lockout", "7", "proved again"),
    ("pressure_test", "2", "nitrogen, regulator fitted"),
    ("pressure_test", "8", "done"),
    ("pressure_test", "10", "yes"),
    ("evacuate", "5", "done"),
    ("evacuate", "7", "two ninety"),
    ("evacuate", "9", "yes"),
    ("charge", "10", "yes"),
    ("hand_back", "1", "all back"),
    ("hand_back", "3", "my lock is off, panel closed"),
    ("hand_back", "7", "yes"),
]


class Builder:
    """Puts entries one after another, a minute apart."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.at = START

    def put(self, form: type[Any], **content: Any) -> int:
        """Append an entry and return its number, from 1."""
        worker = content.pop("worker", "Sam")
        self.entries.append(form(at=self.at, worker=worker, **content))
        self.at += timedelta(minutes=1)
        return len(self.entries)

    def reckon(self, known: Library, calculator: str, **inputs: Any) -> int:
        """Append a computed entry as the conversation would, and return its number."""
        outcome = known.cards[calculator].run(inputs)
        return self.put(
            record.Calculated,
            calculator=calculator,
            words="asked",
            inputs=dict(outcome.inputs),
            answers=dict(outcome.answers),
            sentence=outcome.sentence,
            sources=outcome.sources,
        )


def roof_unit(known: Library) -> Builder:
    """Return the whole job."""
    made = Builder()
    made.put(record.JobOpened, job="Roof unit, dairy", software="0.1.0", worker="")
    made.put(record.WorkerNamed, name="Sam", worker="")
    for name, text in FIELDS.items():
        made.put(record.FieldWritten, name=name, text=text, words=f"record {name}: {text}")
    for person in ("Sam Carter, certificate 4711, fitter", "Jo Bell, 4712, apprentice"):
        made.put(record.FieldWritten, name="person", text=person)
    for thing in (
        "Micron gauge 7, 2026-01-12",
        "Torque wrench 3, 2025-11-30",
        "Scale 2, 2026-02-01",
    ):
        made.put(record.FieldWritten, name="instrument", text=thing)
    made.put(record.FieldWritten, name="document", text="Installation manual, page 14")
    facts = {
        "unit_model": "NW-36 out, NW-36i in",
        "refrigerant": "R32",
        "flammable": "A2L",
        "test_pressure": psi(550),
        "hold_time": Reading(Fraction(60), "minute", Kind.TIME),
        "vacuum_limit": micron(500),
        "maker_torque 3/8 in": Reading(Fraction(42), "newton_metre", Kind.TORQUE),
    }
    for name, value in facts.items():
        made.put(record.FactSet, name=name, value=value, words="as said", source="said")
    made.put(record.FlagSet, flag="isolated", evidence="lock 17, panel 3")
    for number in range(1, 5):
        made.put(
            record.JointMade,
            number=number,
            procedure="make_up",
            tool="eccentric",
            passes=2 if number == 3 else 1,
            values={
                "size": inch("3/8"),
                "projection": inch("1/64"),
                "flare_diameter": Reading(13.1, "millimetre", Kind.LENGTH),
                "torque": Reading(Fraction(42), "newton_metre", Kind.TORQUE),
            },
        )
    made.reckon(
        known,
        "cut_length",
        leg=(inch("10"), inch("18"), inch("12")),
        angle=(Reading(Fraction(90), "degree", Kind.ANGLE),) * 2,
        dimension_to="centre",
        radius=inch("15/16"),
    )
    made.reckon(
        known, "convert_length", value=Reading(Fraction(19), "millimetre", Kind.LENGTH), to="inch"
    )
    made.put(record.FlagSet, flag="recovered", evidence="36.25 lb")
    for procedure, values in READ.items():
        pumped = made.at - timedelta(minutes=10)
        for name, value in values.items():
            minutes = DECAY_MINUTES.get(name)
            made.put(
                record.ValueRead,
                procedure=procedure,
                step="1",
                name=name,
                value=value,
                words=f"{name} as heard",
                confirmed="yes",
                read_back="said back",
                confidence=0.9,
                said=None if minutes is None else pumped + timedelta(minutes=minutes),
            )
    for procedure, step, words in STEPS:
        place = (Frame(procedure=procedure, step=step),)
        made.put(
            record.StepClosed, procedure=procedure, step=step, how="done", words=words, place=place
        )
    made.put(record.FlagCleared, flag="isolated", reason="Locks off.", worker="Jo")
    made.put(
        record.StepClosed,
        procedure="bend_lever",
        step="3",
        how="skipped",
        words="skip",
        reason="the bender has no index",
        place=(),
    )
    made.put(record.Overridden, what="crowfoot set by eye", reason="no adapter", name="Sam Carter")
    made.put(record.PhotoNamed, file="IMG_0012.jpg", of="joint 3")
    made.put(record.PhotoNamed, file="IMG_0013.jpg", of="label")
    made.put(record.Noted, text="wall is soft brick, long plugs used")
    made.put(record.Signed, name="Sam Carter", role="fitter")
    made.put(record.Signed, name="Jo Bell", role="for the customer", worker="Jo")
    return made


def reckoner(known: Library) -> Reckoning:
    """Return who works the sums out."""
    return Reckoning(known)
