"""Procedure files to procedures: every fault of every file at once, and none stops the others."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from difflib import get_close_matches

from pydantic import ValidationError

from handsfree.errors import DataError
from handsfree.procedures.marking import excerpt
from handsfree.procedures.model import Procedure
from handsfree.procedures.rules import Names, check_all, check_one

Broken = list[DataError]


def read_procedures(texts: Mapping[str, str], names: Names) -> tuple[dict[str, Procedure], Broken]:
    """Return the sound procedures by id, and the faults of the others.

    `texts` are TOML texts by file name. A procedure that leads to a broken one is out as well.
    """
    faults: Broken = []
    found: dict[str, tuple[str, Procedure]] = {}
    for file, text in texts.items():
        procedure = _read(file, text, faults)
        if procedure is None:
            continue
        own = check_one(file, text, procedure, names)
        faults.extend(own)
        if not own:
            found[procedure.id] = (file, procedure)
    while True:
        between = check_all(found, {file: texts[file] for file, _ in found.values()}, names)
        if not between:
            return {name: procedure for name, (_, procedure) in found.items()}, faults
        faults.extend(between)
        out = {fault.file for fault in between}
        found = {name: pair for name, pair in found.items() if pair[0] not in out}


def _read(file: str, text: str, faults: Broken) -> Procedure | None:
    try:
        return Procedure.model_validate(tomllib.loads(text))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        faults.append(DataError(file, "", f"this is not TOML: {error}"))
    except ValidationError as error:
        data = tomllib.loads(text)
        faults.extend(_translated(file, text, data, fault) for fault in error.errors())
    return None


def _translated(file: str, text: str, data: Mapping[str, object], fault: object) -> DataError:
    """Return a fault of the form in plain words, with the step and the line it stands in."""
    if not isinstance(fault, dict):
        return DataError(file, "", str(fault))
    place = list(fault["loc"])
    step = _step_id(data, place)
    name = str(place[-1]) if place else ""
    hint = ""
    if fault["type"] == "extra_forbidden":
        problem = f"'{name}' is not a field"
        close = get_close_matches(name, _FIELDS, n=1)
        hint = f"Did you mean '{close[0]}'?" if close else ""
    elif fault["type"] == "missing":
        problem = f"'{name}' is missing"
    else:
        problem = f"'{name}': {fault['msg']}"
    where = f'step "{step}"' if step else ""
    return DataError(file, where, problem, hint, excerpt(text, name, step))


def _step_id(data: Mapping[str, object], place: list[object]) -> str:
    """Return the id of the step that a fault stands in, or nothing for the head of the file."""
    steps = data.get("step")
    if len(place) < 2 or place[0] != "step" or not isinstance(steps, list):  # noqa: PLR2004 - a step and its field
        return ""
    entry = steps[place[1]] if isinstance(place[1], int) else None
    return str(entry.get("id", "")) if isinstance(entry, dict) else ""


def _field_names() -> tuple[str, ...]:
    from handsfree.procedures import model  # noqa: PLC0415 - the names of every form

    names: list[str] = []
    for form in (model.Procedure, model.Step, model.Fault, model.Value, model.Number):
        names.extend(field.alias or name for name, field in form.model_fields.items())
    return tuple(dict.fromkeys(names))


_FIELDS = _field_names()
