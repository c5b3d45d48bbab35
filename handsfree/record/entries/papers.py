"""Entries for the paper that comes of a record: fields, photos, signatures, overrides, doubts."""

from __future__ import annotations

from typing import Literal

from handsfree.record.entries.forms import Base


class FieldWritten(Base):
    """A field of the certificate as it was typed; `name` is one of `data/record.toml`."""

    kind: Literal["field written"] = "field written"
    name: str
    text: str
    words: str = ""


class PhotoNamed(Base):
    """A photo belongs to the record, by its file name; `of` is the joint or step in hand then."""

    kind: Literal["photo named"] = "photo named"
    file: str
    of: str = ""


class Signed(Base):
    """A typed name stands for a signature; its time is that of the entry."""

    kind: Literal["signed"] = "signed"
    name: str
    role: str = ""


class Overridden(Base):
    """Somebody decided against the tool: what, why, and who answers for it."""

    kind: Literal["overridden"] = "overridden"
    what: str
    reason: str
    name: str


class ClockDoubted(Base):
    """The clock went back by so many seconds since the entry before: times are uncertain."""

    kind: Literal["clock doubted"] = "clock doubted"
    seconds: float
