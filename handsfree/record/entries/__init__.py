"""The entries of a job's record: what happened, in the words and readings of the moment.

Every change of the conversation's state is one of these, so the state is the fold of the record.
An entry that moves the place carries the whole new place, so that a record can be read back by a
later release whose procedures have changed. A correction is a new entry that names the old one.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field, TypeAdapter

from handsfree.record.entries.forms import Base, Frame, Place, StoredReading, Value, as_slots
from handsfree.record.entries.job import (
    SCHEMA,
    BenderSet,
    FactOpen,
    FactSet,
    FlagCleared,
    FlagSet,
    JobOpened,
    JointMade,
    Noted,
    StageClosed,
    WorkerNamed,
)
from handsfree.record.entries.papers import (
    ClockDoubted,
    FieldWritten,
    Overridden,
    PhotoNamed,
    Signed,
)
from handsfree.record.entries.talk import (
    Asked,
    AskedDropped,
    Calculated,
    Corrected,
    Paused,
    Refused,
    Resumed,
    SettingChanged,
    Stopped,
)
from handsfree.record.entries.work import (
    ProcedureEnded,
    ProcedureParked,
    ProcedureStarted,
    ProcedureTaken,
    Redone,
    Reopened,
    Reworked,
    StepAwaits,
    StepClosed,
    TimerEnded,
    TimerStarted,
    ValueRead,
    minutes_between,
)

Entry = (
    JobOpened
    | WorkerNamed
    | FactSet
    | FactOpen
    | BenderSet
    | FlagSet
    | FlagCleared
    | ProcedureStarted
    | StepClosed
    | StepAwaits
    | ValueRead
    | Reworked
    | Reopened
    | Redone
    | ProcedureEnded
    | ProcedureParked
    | ProcedureTaken
    | StageClosed
    | JointMade
    | Asked
    | AskedDropped
    | Calculated
    | Refused
    | Noted
    | TimerStarted
    | TimerEnded
    | Paused
    | Resumed
    | Stopped
    | SettingChanged
    | Corrected
    | FieldWritten
    | PhotoNamed
    | Signed
    | Overridden
    | ClockDoubted
)

_ADAPTER: TypeAdapter[Entry] = TypeAdapter(Annotated[Entry, Field(discriminator="kind")])


def entry_from(data: Any) -> Entry:
    """Return the entry that a JSON object holds; raises pydantic's ValidationError."""
    return _ADAPTER.validate_python(data)


def entry_to(entry: Entry) -> dict[str, Any]:
    """Return an entry as plain JSON data."""
    plain: dict[str, Any] = _ADAPTER.dump_python(entry, mode="json")
    return plain


__all__ = [
    "SCHEMA",
    "Asked",
    "AskedDropped",
    "Base",
    "BenderSet",
    "Calculated",
    "ClockDoubted",
    "Corrected",
    "Entry",
    "FactOpen",
    "FactSet",
    "FieldWritten",
    "FlagCleared",
    "FlagSet",
    "Frame",
    "JobOpened",
    "JointMade",
    "Noted",
    "Overridden",
    "Paused",
    "PhotoNamed",
    "Place",
    "ProcedureEnded",
    "ProcedureParked",
    "ProcedureStarted",
    "ProcedureTaken",
    "Redone",
    "Refused",
    "Reopened",
    "Resumed",
    "Reworked",
    "SettingChanged",
    "Signed",
    "StageClosed",
    "StepAwaits",
    "StepClosed",
    "Stopped",
    "StoredReading",
    "TimerEnded",
    "TimerStarted",
    "Value",
    "ValueRead",
    "WorkerNamed",
    "as_slots",
    "entry_from",
    "entry_to",
    "minutes_between",
]
