"""Published tables: typed rows, each with its source, read once and checked whole.

Look-ups never extrapolate: a size that a table does not hold is None, and the caller asks.
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Annotated, Any, ClassVar, Literal, Self, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

from handsfree.errors import DataError, DataErrors
from handsfree.quantity import Number


def _exact(text: Any) -> Fraction:
    """Read `3/8`, `12.8` or `1-1/8`."""
    whole, dash, part = str(text).partition("-")
    return Fraction(whole) + Fraction(part) if dash else Fraction(whole)


Exact = Annotated[Fraction, BeforeValidator(_exact)]
"""A number of a table, kept exact: `3/8`, `12.8`, `1-1/8`."""

Status = Literal["published", "memory", "disputed", "practice"]
"""How well a figure is known; only what is published may be a limit."""

Class = Literal["high-pressure", "older"]


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Source(_Model):
    """Where a figure comes from, and how well that is known."""

    title: str
    say: str
    status: Literal["exact", "published", "secondary", "memory", "practice"]
    edition: str = ""
    note: str = ""


class Row(_Model):
    """A row of a table; `source` names a source.

    `identified_by` are the fields that may stand together only once, `band` a low and a high one
    where the row has them.
    """

    identified_by: ClassVar[tuple[str, ...]]
    band: ClassVar[tuple[str, str] | None] = None
    source: str

    @property
    def key(self) -> tuple[Any, ...]:
        """Return what identifies the row."""
        return tuple(getattr(self, name) for name in self.identified_by)

    @model_validator(mode="after")
    def _runs_upward(self) -> Self:
        if self.band is None:
            return self
        low, high = (getattr(self, name) for name in self.band)
        if low >= high:
            raise ValueError(f"the band runs from {low} to {high}")
        return self


class FlareSize(Row):
    """The outside diameter of a finished flare, mm, and the nut's width across flats, mm."""

    identified_by = ("outside_diameter_in", "refrigerant_class", "source")
    band = ("low_mm", "high_mm")
    outside_diameter_in: Exact
    refrigerant_class: Class = Field(alias="class")
    low_mm: Exact
    high_mm: Exact
    nut_flats_mm: Exact


class FlareProjection(Row):
    """How far the tube stands above the bar before flaring, mm, by kind of tool."""

    identified_by = ("outside_diameter_in", "refrigerant_class", "tool", "source")
    band = ("low_mm", "high_mm")
    outside_diameter_in: Exact
    refrigerant_class: Class = Field(alias="class")
    tool: Literal["eccentric", "clutch", "wing-nut"]
    low_mm: Exact
    high_mm: Exact


class TorqueBand(Row):
    """Tightening torque of a flare nut, N·m."""

    identified_by = ("outside_diameter_in", "source")
    band = ("low_newton_metre", "high_newton_metre")
    outside_diameter_in: Exact
    low_newton_metre: Exact
    high_newton_metre: Exact


class TubeWall(Row):
    """A tube by form and OD: exact OD and wall with their tolerances, inches; weight, lb/ft.

    Forms: `coil` (annealed), `straight` (drawn), `type k`, `type l`, `type m` (water tube).
    """

    identified_by = ("form", "outside_diameter_in", "wall_in")
    form: str
    outside_diameter_in: Exact
    exact_outside_in: Exact
    wall_in: Exact
    annealed_tolerance_in: Exact
    drawn_tolerance_in: Exact
    wall_tolerance_in: Exact
    pound_per_foot: Exact
    status: Status

    @property
    def bore_in(self) -> Fraction:
        """Return the bore, inches."""
        return self.exact_outside_in - 2 * self.wall_in


class TubeStress(Row):
    """Allowable stress of copper tube up to a temperature, psi, annealed and drawn."""

    identified_by = ("fahrenheit",)
    fahrenheit: Exact
    annealed_psi: Exact
    drawn_psi: Exact
    status: Status


class CupDepth(Row):
    """The depth of a fitting's cup for a tube of this OD, inches."""

    identified_by = ("outside_diameter_in",)
    outside_diameter_in: Exact
    depth_in: Exact
    status: Status


class Support(Row):
    """The largest distance between supports of horizontal copper tube, feet."""

    identified_by = ("outside_diameter_in", "source")
    outside_diameter_in: Exact
    foot: Exact
    status: Status


class CoreBit(Row):
    """A core bit as sold, inches."""

    identified_by = ("inch",)
    inch: Exact
    status: Status


class WarmingPotential(Row):
    """The global warming potential of a refrigerant, by the assessment report that gives it."""

    identified_by = ("refrigerant", "report")
    refrigerant: str
    report: Literal["fourth", "fifth", "sixth"]
    potential: Exact
    status: Status


class RecoveryLevel(Row):
    """How deep refrigerant is recovered before an appliance is opened, by recovery machine.

    `charge` is under or over 200 pounds, or any; `machine` made before 15 November 1993, or since.
    The level is a vacuum on the gauge (`inch_of_vacuum`), or absolute.
    """

    identified_by = ("pressure_class", "charge", "machine")
    pressure_class: Literal["low", "medium", "high", "very high"]
    charge: Literal["any", "under", "over"]
    machine: Literal["before", "since"]
    level: Exact
    unit: Literal["inch_of_vacuum", "millimetre_of_mercury"]
    status: Status


RowType = TypeVar("RowType", bound=Row)


TABLES: Mapping[str, type[Row]] = {
    "flare_sizes": FlareSize,
    "flare_projections": FlareProjection,
    "torque_bands": TorqueBand,
    "tube_walls": TubeWall,
    "tube_stresses": TubeStress,
    "cup_depths": CupDepth,
    "supports": Support,
    "core_bits": CoreBit,
    "warming_potentials": WarmingPotential,
    "recovery_levels": RecoveryLevel,
}
"""Every table of `data/tables/`, by file name, and the form of its rows."""


def _data(*names: str) -> str:
    place = resources.files("handsfree") / "data"
    for name in names:
        place = place / name
    return place.read_text(encoding="utf-8")


@cache
def sources() -> Mapping[str, Source]:
    """Return every source by its id; raises `DataErrors` with all faults of the file."""
    faults: list[DataError] = []
    found: dict[str, Source] = {}
    for name, entry in tomllib.loads(_data("sources.toml")).items():
        try:
            found[name] = Source.model_validate(entry)
        except ValidationError as error:
            faults.extend(_faults("sources.toml", f"[{name}]", error))
    if faults:
        raise DataErrors(faults)
    return found


@cache
def rows(model: type[RowType]) -> tuple[RowType, ...]:
    """Return the rows of the table with this form; raises `DataErrors` with all its faults."""
    name = next(name for name, form in TABLES.items() if form is model)
    return read_rows(_data("tables", f"{name}.csv"), f"{name}.csv", model)


def read_rows(text: str, file: str, model: type[RowType]) -> tuple[RowType, ...]:
    """Return the rows that CSV text holds; raises `DataErrors` with file and line of each fault."""
    faults: list[DataError] = []
    found: dict[tuple[Any, ...], RowType] = {}
    for number, record in enumerate(csv.DictReader(text.splitlines()), start=2):
        try:
            row = model.model_validate(record)
        except ValidationError as error:
            faults.extend(_faults(file, f"line {number}", error))
            continue
        if row.key in found:
            faults.append(DataError(file, f"line {number}", "this row stands twice"))
        if row.source not in sources():
            problem = f"'{row.source}' is not a source"
            faults.append(DataError(file, f"line {number}", problem, "Add it to sources.toml."))
        found[row.key] = row
    if faults:
        raise DataErrors(faults)
    return tuple(found.values())


def _faults(file: str, place: str, error: ValidationError) -> list[DataError]:
    return [
        DataError(file, place, f"{'.'.join(str(part) for part in fault['loc'])}: {fault['msg']}")
        for fault in error.errors()
    ]


def flare_size(size: Fraction, refrigerant_class: str) -> FlareSize | None:
    """Return the flare diameter band for an OD in inches, or None where no table holds it."""
    return next(
        (
            row
            for row in rows(FlareSize)
            if row.outside_diameter_in == size and row.refrigerant_class == refrigerant_class
        ),
        None,
    )


def flare_projection(size: Fraction, refrigerant_class: str, tool: str) -> FlareProjection | None:
    """Return the projection band for an OD in inches and a kind of tool, or None."""
    return next(
        (
            row
            for row in rows(FlareProjection)
            if (row.outside_diameter_in, row.refrigerant_class, row.tool)
            == (size, refrigerant_class, tool)
        ),
        None,
    )


def torque_band(size: Fraction, source: str) -> TorqueBand | None:
    """Return one source's torque band for an OD in inches, or None."""
    return next(
        (
            row
            for row in rows(TorqueBand)
            if (row.outside_diameter_in, row.source) == (size, source)
        ),
        None,
    )


def torque_spread(size: Fraction) -> tuple[Fraction, Fraction] | None:
    """Return the lowest and the highest torque that any source prints for an OD, N·m, or None."""
    found = [row for row in rows(TorqueBand) if row.outside_diameter_in == size]
    if not found:
        return None
    return min(row.low_newton_metre for row in found), max(row.high_newton_metre for row in found)


def tubes(size: Fraction, form: str) -> tuple[TubeWall, ...]:
    """Return the walls in which a form of tube is made for an OD in inches, thinnest first."""
    found = (row for row in rows(TubeWall) if (row.outside_diameter_in, row.form) == (size, form))
    return tuple(sorted(found, key=lambda row: row.wall_in))


def tube_stress(fahrenheit: Number) -> TubeStress | None:
    """Return the stresses at the next printed temperature that is not below, or None above all."""
    found = sorted(rows(TubeStress), key=lambda row: row.fahrenheit)
    return next((row for row in found if fahrenheit <= row.fahrenheit), None)


def cup_depth(size: Fraction) -> CupDepth | None:
    """Return the cup depth of fittings for an OD in inches, or None."""
    return next((row for row in rows(CupDepth) if row.outside_diameter_in == size), None)


def support(size: Fraction, source: str) -> Support | None:
    """Return one source's support spacing for an OD in inches, or None."""
    wanted = (size, source)
    found = (r for r in rows(Support) if (r.outside_diameter_in, r.source) == wanted)
    return next(found, None)


def core_bit(least: Number) -> CoreBit | None:
    """Return the smallest core bit of at least so many inches, or None."""
    found = sorted(rows(CoreBit), key=lambda row: row.inch)
    return next((row for row in found if row.inch >= least), None)


def warming_potential(refrigerant: str, report: str) -> WarmingPotential | None:
    """Return the warming potential of a refrigerant by an assessment report, or None."""
    wanted = (refrigerant, report)
    found = (r for r in rows(WarmingPotential) if (r.refrigerant, r.report) == wanted)
    return next(found, None)


def recovery_level(pressure_class: str, charge: str | None, machine: str) -> RecoveryLevel | None:
    """Return the level to recover to for a class, a charge and a machine, or None."""
    return next(
        (
            row
            for row in rows(RecoveryLevel)
            if (row.pressure_class, row.machine) == (pressure_class, machine)
            and row.charge in ("any", charge)
        ),
        None,
    )
