"""How deep refrigerant is recovered before a system is opened: law, not a drying target."""

from __future__ import annotations

from handsfree.calculators.card import (
    Answer,
    Condition,
    Option,
    Parameter,
    Result,
    Slots,
    calculator,
)
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Reading
from handsfree.reference import tables

DIVIDED_BY_CHARGE = ("medium", "high")
CLASSES = ("low", *DIVIDED_BY_CHARGE, "very high", "small")


def must_be_in_the_table(slots: Slots) -> None:
    """Raise `Refusal` where the level does not stand in the federal table."""
    if slots.get("recovery_rule") == "national":
        raise Refusal("national")
    if slots.get("pressure_class") == "small":
        raise Refusal("small")


@calculator(
    "recovery_level",
    parameters=(
        Option("recovery_rule", ("federal", "national"), origins=("said", "fact")),
        Option(
            "pressure_class",
            CLASSES,
            origins=("said", "fact"),
            only_if=Condition("recovery_rule", ("federal",)),
        ),
        Option(
            "system_charge",
            ("under", "over"),
            origins=("said", "fact"),
            only_if=Condition("pressure_class", DIVIDED_BY_CHARGE),
        ),
        Option(
            "recovery_machine",
            ("before", "since"),
            origins=("said", "fact"),
            only_if=Condition(
                "system_charge",
                ("under", "over"),
                except_for=(("pressure_class", "high"), ("system_charge", "under")),
            ),
        ),
        Parameter(
            "reached",
            Kind.GAUGE_PRESSURE,
            "inch_of_vacuum",
            low=-1000,
            high=30,
            assume="inch_of_vacuum",
            optional=True,
        ),
    ),
    results=(
        Result("level", Kind.GAUGE_PRESSURE, "inch_of_vacuum", "compound"),
        Result("absolute", Kind.VACUUM, "millimetre_of_mercury", "compound"),
    ),
    sources=("cfr_82_156_table",),
    guard=must_be_in_the_table,
)
def recovery_level(
    recovery_rule: str,
    pressure_class: str,
    system_charge: str | None,
    recovery_machine: str | None,
    reached: float | None,
) -> Answer:
    """Return how deep to recover, inches of mercury below the atmosphere, or absolute; judge it.

    `reached` is what the gauge shows, in inches of vacuum. Raises `Refusal` where another law
    than the federal one says the level, and for small appliances, whose level is a share of the
    charge. Source: 40 CFR 82.156, Table 1.
    """
    must_be_in_the_table({"recovery_rule": recovery_rule, "pressure_class": pressure_class})
    row = tables.recovery_level(pressure_class, system_charge, recovery_machine or "since")
    if row is None:
        raise Refusal("not_in_table")
    if row.unit != "inch_of_vacuum":
        absolute = Reading(row.level, row.unit, Kind.VACUUM)
        return Answer({"absolute": absolute}, sentence="absolute")
    values = {"level": row.level}
    if reached is None:
        return Answer(values, sentence="vacuum" if row.level else "zero")
    return Answer(values, sentence="reached" if reached >= row.level else "short")
