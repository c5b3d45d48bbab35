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

Exact = Annotated[Fraction, BeforeValidator(Fraction)]
"""A number of a table, kept exact: `3/8`, `12.8`."""

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

    `identified_by` are the fields that may stand together only once, `band` a low and a high one.
    """

    identified_by: ClassVar[tuple[str, ...]]
    band: ClassVar[tuple[str, str]]
    source: str

    @property
    def key(self) -> tuple[Any, ...]:
        """Return what identifies the row."""
        return tuple(getattr(self, name) for name in self.identified_by)

    @model_validator(mode="after")
    def _runs_upward(self) -> Self:
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


RowType = TypeVar("RowType", bound=Row)


TABLES: Mapping[str, type[Row]] = {
    "flare_sizes": FlareSize,
    "flare_projections": FlareProjection,
    "torque_bands": TorqueBand,
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
