"""Refrigerant by weight: extra charge for a longer line, the cylinder's limit, its carbon."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from handsfree.calculators.card import Answer, Option, Parameter, Result, Slots, calculator
from handsfree.calculators.joints import SIZE
from handsfree.calculators.tubes import volume_of
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number, Reading
from handsfree.reference import properties, tables

FULLEST = Fraction(8, 10)
MOST_ADDED = Fraction(1, 2)
"""More than this share of the label's charge for a line means the wrong line."""
DENSEST_OUNCE_PER_CUBIC_INCH = 1.0
"""1.7 kg a litre: no refrigerant of this job is denser as a liquid."""
KNOWN = Option("table", ("known", "unknown"), default="known")


def densest_rate(size: Fraction) -> float:
    """Return the most that a foot of coil can hold as liquid, ounces; raises `Refusal`."""
    return volume_of(size, "coil", 1) * DENSEST_OUNCE_PER_CUBIC_INCH


def maker_must_say(slots: Slots) -> None:
    """Raise `Refusal` where the maker's rate or pre-charged length is not known."""
    if slots.get("table") == "unknown":
        raise Refusal("maker_unknown")


@calculator(
    "added_charge",
    parameters=(
        Parameter("length", Kind.LENGTH, "foot", low=1, high=500, assume="run"),
        Parameter("free", Kind.LENGTH, "foot", low=3, high=500, assume="run"),
        Parameter(
            "rate",
            Kind.MASS_PER_LENGTH,
            "ounce_per_foot",
            low=Fraction(1, 20),
            high=3,
            assume=None,
        ),
        Parameter(
            "size", Kind.LENGTH, "inch", low=SIZE.low, high=SIZE.high, rule="size", optional=True
        ),
        Parameter("maker_limit", Kind.LENGTH, "foot", assume="run", optional=True),
        Parameter("label_charge", Kind.MASS, "ounce", assume="system", optional=True),
        KNOWN,
    ),
    results=(Result("charge", Kind.MASS, "ounce", "charge", follows="rate"),),
    sources=("maker",),
    guard=maker_must_say,
)
def added_charge(  # noqa: PLR0913 - all of them the maker's
    length: Number,
    free: Number,
    rate: Number,
    size: Fraction | None,
    maker_limit: Number | None,
    label_charge: Number | None,
    table: str,
) -> Answer:
    """Return the charge to add for a line, ounces; lengths in feet, `rate` in ounces a foot.

    Raises `Refusal` without the maker's figures, for a line above the maker's limit, for a rate
    that the tube (`size`, inches) could not hold as liquid, and for more than half of the label's
    charge. Source: the maker.
    """
    if table == "unknown":
        raise Refusal("maker_unknown")
    if maker_limit is not None and length > maker_limit:
        raise Refusal("too_long")
    if size is not None and rate > densest_rate(size):
        raise Refusal("rate_too_high")
    charge = max(Fraction(0), Fraction(length) - Fraction(free)) * Fraction(rate)
    if label_charge is not None and charge > MOST_ADDED * Fraction(label_charge):
        raise Refusal("too_much")
    return Answer({"charge": charge}, sentence="answer" if charge else "nothing")


def one_gas_in_date(slots: Slots) -> None:
    """Raise `Refusal` for mixed gases, and for a cylinder out of date."""
    if slots.get("contents") == "mixed":
        raise Refusal("mixed")
    if slots.get("date") == "out":
        raise Refusal("out_of_date")


@calculator(
    "cylinder_limit",
    parameters=(
        Parameter("water_capacity", Kind.MASS, "pound", low=5, high=1200, assume="system"),
        Parameter("tare", Kind.MASS, "pound", low=5, high=1200, assume="system"),
        Parameter(
            "liquid_density",
            Kind.RATIO,
            "one",
            low=Fraction(4, 10),
            high=Fraction(16, 10),
            assume="one",
        ),
        Parameter("now", Kind.MASS, "pound", low=0, high=2400, assume="system", optional=True),
        Option("contents", ("one gas", "mixed"), default="one gas"),
        Option("date", ("in", "out"), default="in"),
    ),
    results=(
        Result("net", Kind.MASS, "pound", "room", follows="water_capacity"),
        Result("gross", Kind.MASS, "pound", "room", follows="water_capacity"),
        Result("room", Kind.MASS, "pound", "room", follows="water_capacity"),
    ),
    sources=("cylinder_limit",),
    guard=one_gas_in_date,
)
def cylinder_limit(  # noqa: PLR0913 - what stands on the cylinder, and the scale
    water_capacity: Number,
    tare: Number,
    liquid_density: Number,
    now: Number | None,
    contents: str,
    date: str,
) -> Answer:
    """Return the weight at which a recovery cylinder is full, and the room left, pounds.

    `liquid_density` is against water at the hottest temperature expected. Raises `Refusal` for
    mixed gases, a cylinder out of date, and a tare above the reading. Source: the 80 % rule.
    """
    one_gas_in_date({"contents": contents, "date": date})
    net = FULLEST * Fraction(water_capacity) * min(Fraction(1), Fraction(liquid_density))
    gross = net + Fraction(tare)
    if now is None:
        return Answer({"net": net, "gross": gross}, sentence="stop_weight")
    if tare > now:
        raise Refusal("tare_above_reading")
    room = gross - Fraction(now)
    if room <= 0:
        return Answer({"gross": gross}, sentence="full")
    return Answer({"net": net, "gross": gross, "room": room}, sentence="room")


@calculator(
    "carbon_equivalent",
    parameters=(
        Option("about", ("tonnes", "interval"), default="tonnes"),
        Parameter("mass", Kind.MASS, "kilogram", low=Fraction(1, 100), high=1000, assume="system"),
        Option("refrigerant", tuple(properties.MODELS), origins=("said", "fact")),
        Option("gwp_report", ("fourth", "fifth", "sixth"), origins=("said", "fact")),
    ),
    results=(
        Result("potential", Kind.COUNT, "one", "whole"),
        Result("tonnes", Kind.MASS, "tonne", "tonnes"),
    ),
    sources=("geometry",),
)
def carbon_equivalent(about: str, mass: Number, refrigerant: str, gwp_report: str) -> Answer:
    """Return the tonnes of carbon dioxide that a charge stands for; `mass` in kilograms.

    Raises `Refusal` for a refrigerant that the tables do not hold. Source: the assessment report
    that the law in force names.
    """
    row = tables.warming_potential(refrigerant, gwp_report)
    if row is None:
        raise Refusal("not_in_table")
    tonnes = Reading(Fraction(mass) * row.potential / 1000, "tonne", Kind.MASS)
    sentence = "interval" if about == "interval" else "answer"
    warnings = ("memory",) if row.status == "memory" else ()
    values: Mapping[str, Number | Reading] = {"potential": row.potential, "tonnes": tonnes}
    return Answer(values, sentence, warnings=warnings, sources=(row.source,))
