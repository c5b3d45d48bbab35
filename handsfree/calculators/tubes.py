"""The tube itself: wall and bore, weight, what it holds, and the pressure that its maths allows."""

from __future__ import annotations

from fractions import Fraction
from math import pi

from handsfree.calculators.card import Answer, Condition, Option, Parameter, Result, calculator
from handsfree.calculators.joints import SIZE
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number
from handsfree.reference import tables

FORMS = ("coil", "straight", "type k", "type l", "type m")
WATER_TUBE = "type l"
POUND_PER_CUBIC_INCH = Fraction(323, 1000)
THINNEST, THICKEST = Fraction(20, 1000), Fraction(100, 1000)
USUAL_FAHRENHEIT = Fraction(100)
NOMINAL_LESS = Fraction(1, 8)
INCHES_IN_A_FOOT = 12
RUN = Parameter("length", Kind.LENGTH, "foot", low=1, high=500, assume="run")


def tube_of(size: Fraction, form: str) -> tables.TubeWall:
    """Return the tube of a form, the thinner where two are made; raises `Refusal` for none."""
    made = tables.tubes(size, form)
    if not made:
        raise Refusal("not_in_table")
    return made[0]


def volume_of(size: Fraction, form: str, length_foot: Number) -> float:
    """Return what a length of tube holds, cubic inches."""
    bore = float(tube_of(size, form).bore_in)
    return pi / 4 * bore**2 * float(length_foot) * INCHES_IN_A_FOOT


@calculator(
    "tube_size",
    parameters=(
        Option("about", ("wall", "bore", "outside", "same"), default="wall"),
        Option("form", FORMS, default="coil", only_if=Condition("about", ("wall", "bore"))),
        Parameter(
            "size",
            Kind.LENGTH,
            "inch",
            low=SIZE.low,
            high=SIZE.high,
            origins=("said", "fact"),
            rule="size",
            only_if=Condition("about", ("wall", "bore")),
        ),
        Parameter(
            "nominal",
            Kind.LENGTH,
            "inch",
            low=Fraction(1, 8),
            high=Fraction(3, 2),
            rule="inch_size",
            only_if=Condition("about", ("outside", "same")),
        ),
    ),
    results=(
        Result("other", Kind.LENGTH, "inch", "wall"),
        Result("wall", Kind.LENGTH, "inch", "wall"),
        Result("bore", Kind.LENGTH, "inch", "wall"),
        Result("outside", Kind.LENGTH, "inch", "exact"),
    ),
    sources=(),
)
def tube_size(about: str, form: str, size: Fraction | None, nominal: Fraction | None) -> Answer:
    """Return the wall or the bore of a tube, or the OD behind a nominal (plumbing) size, inches.

    `same` is the OD too, asked as whether both are one. Raises `Refusal` for a size that the table
    does not hold, and for a nominal size that no water tube has. Source: the table row's own; for
    the nominal size ASTM B88.
    """
    if nominal is not None:
        outside = nominal + NOMINAL_LESS
        if not tables.tubes(Fraction(outside), WATER_TUBE):
            raise Refusal("not_nominal")
        return Answer({"outside": outside}, sentence=about, sources=("astm_b88",))
    found = tables.tubes(Fraction(size or 0), form)
    if not found:
        raise Refusal("not_in_table")
    first = found[0]
    sources = (first.source,)
    if about == "bore":
        return Answer({"wall": first.wall_in, "bore": first.bore_in}, "bore", sources=sources)
    if len(found) > 1:
        values = {"other": found[1].wall_in, "wall": first.wall_in}
        return Answer(values, "two_walls", sources=sources)
    sentence = {"memory": "wall_memory", "disputed": "wall_disputed"}.get(first.status, "wall")
    return Answer({"wall": first.wall_in}, sentence, sources=sources)


@calculator(
    "tube_weight",
    parameters=(SIZE, RUN, Option("form", FORMS, default="coil")),
    results=(Result("weight", Kind.MASS, "pound", "scale", follows="length"),),
    sources=("copper_density",),
)
def tube_weight(size: Fraction, length: Number, form: str) -> Answer:
    """Return the weight of a length of tube, pounds; `size` in inches, `length` in feet.

    Raises `Refusal` for a size without a table. Source: wall of the table, density of copper.
    """
    tube = tube_of(size, form)
    section = pi * float((tube.exact_outside_in - tube.wall_in) * tube.wall_in)
    weight = section * float(POUND_PER_CUBIC_INCH) * float(length) * INCHES_IN_A_FOOT
    return Answer({"weight": weight}, sources=(tube.source,))


@calculator(
    "line_volume",
    parameters=(
        SIZE,
        RUN,
        Option("form", FORMS, default="coil"),
        Parameter(
            "other_size",
            Kind.LENGTH,
            "inch",
            low=SIZE.low,
            high=SIZE.high,
            rule="size",
            optional=True,
        ),
    ),
    results=(
        Result("cubic_inches", Kind.VOLUME, "cubic_inch", "volume"),
        Result("litres", Kind.VOLUME, "litre", "volume"),
    ),
    sources=("geometry",),
)
def line_volume(size: Fraction, length: Number, form: str, other_size: Fraction | None) -> Answer:
    """Return what a length of tube holds, cubic inches and litres; `length` in feet.

    With a second size, both lines side by side. Raises `Refusal` for a size without a table.
    Source: bore of the table, geometry.
    """
    sizes = (size,) if other_size is None else (size, other_size)
    held = sum(volume_of(one, form, length) for one in sizes)
    sources = tuple(dict.fromkeys(tube_of(one, form).source for one in sizes))
    values = {"cubic_inches": held, "litres": held * 0.0254**3 * 1000}
    return Answer(values, "answer" if other_size is None else "both", sources=sources)


@calculator(
    "tube_pressure",
    parameters=(
        SIZE,
        Option("basis", ("wall", *FORMS)),
        Parameter(
            "wall",
            Kind.LENGTH,
            "inch",
            low=THINNEST,
            high=THICKEST,
            rule="decimal_inch",
            only_if=Condition("basis", ("wall",)),
        ),
        Option("temper", ("annealed", "drawn"), default="annealed"),
        Parameter(
            "temperature",
            Kind.TEMPERATURE,
            "fahrenheit",
            low=-40,
            high=400,
            assume="system",
            optional=True,
        ),
        Parameter("asked", Kind.GAUGE_PRESSURE, "psi", assume="system", optional=True),
    ),
    results=(Result("rating", Kind.GAUGE_PRESSURE, "psi", "pressure", follows="asked"),),
    sources=("tube_ratings",),
)
def tube_pressure(  # noqa: PLR0913 - the formula has six parts
    size: Fraction,
    basis: str,
    wall: Number | None,
    temper: str,
    temperature: Number | None,
    asked: Number | None,
) -> Answer:
    """Return what the published formula gives for a tube, psi; lengths in inches.

    With a form of the tables: least wall and largest OD of the standard. With a wall that was
    said: that wall as it is. Information only. Raises `Refusal` for a size without a table and a
    temperature above the printed ones. Source: P = 2·S·t / (D - 0.8·t), Copper Tube Handbook.
    """
    stress = tables.tube_stress(USUAL_FAHRENHEIT if temperature is None else temperature)
    if stress is None:
        raise Refusal("too_hot")
    allowed = stress.drawn_psi if temper == "drawn" else stress.annealed_psi
    sources: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ("drawn",) if temper == "drawn" else ()
    if basis == "wall" and wall is not None:
        thickness, diameter, sentence = Fraction(wall), Fraction(size), "nominal"
    else:
        tube = tube_of(size, basis)
        thickness = tube.wall_in - tube.wall_tolerance_in
        drawn, soft = tube.drawn_tolerance_in, tube.annealed_tolerance_in
        diameter = tube.exact_outside_in + (drawn if temper == "drawn" else soft)
        sentence, sources = "least", (tube.source,)
        if tube.status != "published":
            warnings = (*warnings, tube.status)
    rating = 2 * allowed * thickness / (diameter - Fraction(8, 10) * thickness)
    if asked is not None:
        sentence = "above" if asked > rating else "below"
    return Answer({"rating": rating}, sentence, warnings=warnings, sources=sources)
