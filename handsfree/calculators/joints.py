"""Flared joints: how far the tube stands out, what the flare measures, and how tight the nut is."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

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
from handsfree.quantity import Kind, Number, Reading
from handsfree.reference import tables

SMALLEST_SIZE, LARGEST_SIZE = Fraction(3, 16), Fraction(13, 8)
SIZE = Parameter(
    "size",
    Kind.LENGTH,
    "inch",
    low=SMALLEST_SIZE,
    high=LARGEST_SIZE,
    origins=("said", "fact"),
    rule="size",
)
LOWEST_TORQUE, HIGHEST_TORQUE = 5, 150
STANDARD_BAND = "en_378_2"
STRIPPING = Fraction(13, 10)
"""A torque above this multiple of the top of the highest band would strip the joint."""


def millimetres(value: Number) -> Reading:
    """Return a length in millimetres."""
    return Reading(value, "millimetre", Kind.LENGTH)


@calculator(
    "flare_size",
    parameters=(
        Option("about", ("projection", "diameter", "measured"), default="diameter"),
        SIZE,
        Option("flare_table", ("high-pressure", "older"), origins=("said", "fact")),
        Option(
            "tool",
            ("wing-nut", "clutch", "eccentric"),
            origins=("said", "fact"),
            only_if=Condition("about", ("projection",)),
        ),
        Parameter(
            "measured",
            Kind.LENGTH,
            "millimetre",
            assume="millimetre",
            only_if=Condition("about", ("measured",)),
        ),
    ),
    results=(
        Result("low", Kind.LENGTH, "millimetre", "flare"),
        Result("high", Kind.LENGTH, "millimetre", "flare"),
        Result("outside", Kind.LENGTH, "millimetre", "flare"),
    ),
    sources=("maker",),
)
def flare_size(
    about: str, size: Fraction, flare_table: str, tool: str | None, measured: Number | None
) -> Answer:
    """Return the band for projection or finished diameter, or how far a flare is outside it.

    Lengths in millimetres, `size` in inches. Raises `Refusal` where no table holds the size.
    Source: the table row's own.
    """
    row: tables.FlareSize | tables.FlareProjection | None
    if about == "projection":
        row = tables.flare_projection(size, flare_table, tool or "")
    else:
        row = tables.flare_size(size, flare_table)
    if row is None:
        raise Refusal("not_in_table")
    band = {"low": row.low_mm, "high": row.high_mm}
    if measured is None:
        return Answer(band, sentence=about, sources=(row.source,))
    exact = Fraction(measured)
    if (
        not size * Fraction(254, 10) * Fraction(115, 100)
        <= exact
        <= size * Fraction(254, 10) * Fraction(165, 100)
    ):
        raise Refusal("not_a_flare")
    if exact < row.low_mm:
        verdict, outside = "under", row.low_mm - exact
    elif exact > row.high_mm:
        verdict, outside = "over", exact - row.high_mm
    else:
        return Answer(band, sentence="in_band", sources=(row.source,))
    return Answer({**band, "outside": outside}, sentence=verdict, sources=(row.source,))


def refuse_stripping(slots: Slots) -> None:
    """Raise `Refusal` for a torque that would strip a nut of this size."""
    size = slots.get("size")
    if not isinstance(size, Reading):
        return
    spread = tables.torque_spread(Fraction(size.to("inch").value))
    for name in ("tried", "maker_torque", "maker_band"):
        held = slots.get(name)
        for asked in held if isinstance(held, tuple) else (held,):
            if spread is None or not isinstance(asked, Reading):
                continue
            if asked.to("newton_metre").value > spread[1] * STRIPPING:
                raise Refusal("would_strip")


@calculator(
    "torque",
    parameters=(
        SIZE,
        Option("basis", ("maker", "maker band", "standard")),
        Parameter(
            "maker_torque",
            Kind.TORQUE,
            "newton_metre",
            low=LOWEST_TORQUE,
            high=HIGHEST_TORQUE,
            assume=None,
            origins=("said", "fact"),
            only_if=Condition("basis", ("maker",)),
        ),
        Parameter(
            "maker_band",
            Kind.TORQUE,
            "newton_metre",
            low=LOWEST_TORQUE,
            high=HIGHEST_TORQUE,
            assume=None,
            only_if=Condition("basis", ("maker band",)),
            rule="torque_band",
            many=True,
            least=2,
        ),
        Parameter(
            "tried",
            Kind.TORQUE,
            "newton_metre",
            low=LOWEST_TORQUE,
            high=HIGHEST_TORQUE,
            assume=None,
            optional=True,
        ),
    ),
    results=(
        Result("torque", Kind.TORQUE, "newton_metre", "torque"),
        Result("low", Kind.TORQUE, "newton_metre", "torque", follows="maker_band"),
        Result("high", Kind.TORQUE, "newton_metre", "torque", follows="maker_band"),
    ),
    sources=("maker",),
    guard=refuse_stripping,
)
def torque(
    size: Fraction,
    basis: str,
    maker_torque: Number | None,
    maker_band: tuple[Number, ...] | None,
    tried: Number | None,
) -> Answer:
    """Return the maker's torque or band, or the standard one, N·m; judge a torque asked about.

    Raises `Refusal` for a size without a table; a torque that would strip is refused before.
    Source: the maker; EN 378-2 as a standard band that is not this maker's.
    """
    if basis == "maker" and maker_torque is not None:
        if tried is None:
            return Answer({"torque": maker_torque}, sentence="maker")
        sentence = "as_maker" if Fraction(tried) == Fraction(maker_torque) else "not_maker"
        return Answer({"torque": maker_torque}, sentence=sentence)
    if basis == "maker band" and maker_band is not None:
        return _in_band("maker_band", maker_band[0], maker_band[-1], tried)
    band = tables.torque_band(size, STANDARD_BAND)
    if band is None:
        raise Refusal("not_in_table")
    told = _in_band("standard", band.low_newton_metre, band.high_newton_metre, tried)
    return replace(told, sources=(band.source,))


def _in_band(name: str, low: Number, high: Number, tried: Number | None) -> Answer:
    """Return a band, N·m, and whether a torque that was asked about lies in it."""
    if tried is None:
        sentence = name
    else:
        sentence = f"in_{name}" if low <= tried <= high else f"outside_{name}"
    return Answer({"low": low, "high": high}, sentence=sentence)


@calculator(
    "crowfoot",
    parameters=(
        Option("line", ("in line", "square"), default="in line"),
        Parameter(
            "maker_torque",
            Kind.TORQUE,
            "newton_metre",
            low=LOWEST_TORQUE,
            high=HIGHEST_TORQUE,
            assume=None,
            origins=("said", "fact"),
            only_if=Condition("line", ("in line",)),
        ),
        Parameter(
            "wrench",
            Kind.LENGTH,
            "millimetre",
            low=100,
            high=700,
            only_if=Condition("line", ("in line",)),
        ),
        Parameter(
            "extension",
            Kind.LENGTH,
            "millimetre",
            low=10,
            high=150,
            only_if=Condition("line", ("in line",)),
        ),
    ),
    results=(Result("setting", Kind.TORQUE, "newton_metre", "torque", follows="maker_torque"),),
    sources=("geometry",),
)
def crowfoot(
    line: str, maker_torque: Number | None, wrench: Number | None, extension: Number | None
) -> Answer:
    """Return what to set on a torque wrench with an extension, N·m; lengths in millimetres.

    `wrench` runs from the middle of the grip to the drive, `extension` from the drive to the nut.
    Square to the wrench nothing changes. Raises `Refusal` for an extension as long as the wrench.
    Source: the moment of a force.
    """
    if line == "square" or maker_torque is None or wrench is None or extension is None:
        return Answer({}, sentence="square")
    if extension >= wrench:
        raise Refusal("extension_too_long")
    return Answer({"setting": maker_torque * wrench / (wrench + extension)})
