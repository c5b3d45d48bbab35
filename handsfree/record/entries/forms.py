"""What entries are made of: readings as they are stored, times, and places in the work."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Annotated, Any

from pydantic import (
    AwareDatetime,
    BaseModel,
    ConfigDict,
    PlainSerializer,
    PlainValidator,
    WithJsonSchema,
)

from handsfree.quantity import Kind, Number, Reading


def _number_from(value: Any) -> Number:
    """Read `"3/8"` as exact and `1.25` as computed."""
    if isinstance(value, str):
        return Fraction(value)
    if isinstance(value, Fraction | float):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        return Fraction(value)
    raise ValueError("a number is a JSON number, or a fraction in quotes")


def _reading_from(value: Any) -> Reading:
    if isinstance(value, Reading):
        return value
    if not isinstance(value, dict) or set(value) != {"value", "unit", "kind"}:
        raise ValueError("a reading has value, unit and kind")
    return Reading(_number_from(value["value"]), value["unit"], Kind(value["kind"]))


def _reading_to(reading: Reading) -> dict[str, Any]:
    value = reading.value
    number = str(value) if isinstance(value, Fraction) else value
    return {"value": number, "unit": reading.unit, "kind": str(reading.kind)}


_ON_DISK = {
    "type": "object",
    "description": "A number with its unit and kind; a fraction in quotes is exact.",
    "properties": {
        "value": {
            "anyOf": [{"type": "number"}, {"type": "string", "pattern": r"^-?\d+(/\d+)?$"}],
        },
        "unit": {"type": "string"},
        "kind": {"enum": [str(kind) for kind in Kind]},
    },
    "required": ["value", "unit", "kind"],
    "additionalProperties": False,
}
StoredReading = Annotated[
    Reading,
    PlainValidator(_reading_from),
    PlainSerializer(_reading_to),
    WithJsonSchema(_ON_DISK),
]
Value = StoredReading | tuple[StoredReading, ...] | str | bool
"""A fact, slot or answer: a reading or several, one of a few words, or yes and no."""


def as_slots(values: Mapping[str, Value]) -> dict[str, Reading | tuple[Reading, ...] | str]:
    """Return the values that a calculator takes: readings and words, and no yes or no."""
    return {name: value for name, value in values.items() if not isinstance(value, bool)}


class Base(BaseModel):
    """What every entry has: when it was, and who spoke."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    at: AwareDatetime
    worker: str = ""


class Frame(BaseModel):
    """One open procedure: where it stands, and what it waits for.

    `phase` is what the next answer is taken as: `act` (done), `check` (yes or no), `value`,
    `confirm` (a value read back), `state` (the challenge words), `branch` (which fault), `hold`,
    `reason` (why a step is skipped).
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    procedure: str
    step: str
    phase: str = "act"


Place = tuple[Frame, ...]
"""Open procedures, outermost first; the last one is in hand."""
