"""The record as data for others: JSON by a published schema, and one CSV table for each kind."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping, Sequence
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from handsfree.record.entries import SCHEMA, Entry, entry_to

SCHEMA_FILE = "record.schema.json"
"""In `handsfree/data/`; `scripts/write_schema` makes it, and a test keeps it fresh."""
DIALECT = "https://json-schema.org/draft/2020-12/schema"
_FORMULAS = ("=", "+", "-", "@", "\t", "\r")


class JobRecord(BaseModel):
    """A whole record: its entries in order, and what is wrong with it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    form: Literal["handsfree job record"] = "handsfree job record"
    schema_version: int = SCHEMA
    seal: str = Field(description="The hash of the last line of the record.")
    faults: tuple[str, ...] = Field(description="What is wrong with lines, clock or sums.")
    entries: tuple[Annotated[Entry, Field(discriminator="kind")], ...]


def schema() -> dict[str, Any]:
    """Return the JSON Schema of an exported record."""
    return {"$schema": DIALECT, **JobRecord.model_json_schema(mode="serialization")}


def as_json(entries: Sequence[Entry], faults: Sequence[str], seal: str) -> str:
    """Return a record as JSON by the published schema."""
    whole = JobRecord(seal=seal, faults=tuple(faults), entries=tuple(entries))
    return json.dumps(whole.model_dump(mode="json"), ensure_ascii=False, indent=1) + "\n"


def as_tables(entries: Sequence[Entry]) -> Mapping[str, str]:
    """Return one CSV table for each kind of entry, by file name; the first column is its number."""
    kinds: dict[str, list[dict[str, str]]] = {}
    for number, entry in enumerate(entries, start=1):
        plain = entry_to(entry)
        row: dict[str, str] = {"entry": str(number)}
        for name, value in plain.items():
            if name != "kind":
                row |= _columns(name, value)
        kinds.setdefault(str(plain["kind"]), []).append(row)
    return {f"{kind.replace(' ', '-')}.csv": _table(rows) for kind, rows in kinds.items()}


def _columns(name: str, value: Any) -> dict[str, str]:
    """Return the cells of a value: a reading has three, and what holds others is JSON."""
    if isinstance(value, dict) and set(value) == {"value", "unit", "kind"}:
        return {f"{name} {part}": str(value[part]) for part in ("value", "unit", "kind")}
    if isinstance(value, dict | list):
        return {name: json.dumps(value, ensure_ascii=False, sort_keys=True)}
    if isinstance(value, str):
        return {name: _inert(value)}
    return {name: "" if value is None else str(value)}


def _inert(text: str) -> str:
    """Return a text that a spreadsheet takes as a text, whatever it begins with."""
    return f"'{text}" if text.startswith(_FORMULAS) else text


def _table(rows: Sequence[Mapping[str, str]]) -> str:
    columns = list(dict.fromkeys(name for row in rows for name in row))
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
