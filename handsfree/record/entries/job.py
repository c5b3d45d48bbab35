"""Entries about the job: its beginning, its people, its facts, states, stages and joints."""

from __future__ import annotations

from typing import Literal

from pydantic import AwareDatetime, Field

from handsfree.record.entries.forms import Base, StoredReading, Value

SCHEMA = 2
"""Counts the forms of a record; a record of a higher one is left alone."""


class JobOpened(Base):
    """The first entry of every job."""

    kind: Literal["job opened"] = "job opened"
    job: str
    schema_version: int = SCHEMA
    software: str = ""


class WorkerNamed(Base):
    """Who speaks from now on."""

    kind: Literal["worker named"] = "worker named"
    name: str


class FactSet(Base):
    """A fact of the job: a convention, a maker's figure, a size."""

    kind: Literal["fact set"] = "fact set"
    name: str
    value: Value
    words: str = ""
    source: str = "said"


class FactOpen(Base):
    """A fact was asked for and is not known yet; what depends on it waits."""

    kind: Literal["fact open"] = "fact open"
    name: str
    words: str = ""


class BenderSet(Base):
    """A bender profile: all that is known of what this bender does with tube of one size.

    `between`, `grip` and `after` are the straights that it needs between bends, in the hook and
    under the shoe; `springback` the angle that a square bend loses, `gain` the length that it
    saves, `index_error` how far its corner falls beyond the L mark. `indexes` and `forty_five` say
    whether it has index marks for 90 and for 45 degrees. The rest is what stands around the groove:
    see `Body` of the bend calculators.
    """

    kind: Literal["bender set"] = "bender set"
    size: StoredReading
    radius: StoredReading | None = None
    between: StoredReading | None = None
    grip: StoredReading | None = None
    after: StoredReading | None = None
    springback: StoredReading | None = None
    gain: StoredReading | None = None
    index_error: StoredReading | None = None
    indexes: bool = True
    forty_five: bool = False
    half_width: StoredReading | None = None
    handle: StoredReading | None = None
    handle_angle: StoredReading | None = None
    bench: StoredReading | None = None
    clear: StoredReading | None = None
    source: str = "said"

    @property
    def profile(self) -> dict[str, Value]:
        """Return what is known of the bender, by name."""
        other = (*Base.model_fields, "kind", "size", "source")
        held = ((name, getattr(self, name)) for name in BenderSet.model_fields if name not in other)
        return {name: value for name, value in held if value is not None}


class FlagSet(Base):
    """A state of the work is now true (`isolated`, `ppe` …), on this evidence, until then.

    It also ends after `after_break` seconds without an entry, where that is given.
    """

    kind: Literal["flag set"] = "flag set"
    flag: str
    evidence: str
    expires: AwareDatetime | None = None
    after_break: float | None = None


class FlagCleared(Base):
    """A state of the work no longer holds."""

    kind: Literal["flag cleared"] = "flag cleared"
    flag: str
    reason: str


class StageClosed(Base):
    """A stage of the job that has no procedure of its own was told to be done."""

    kind: Literal["stage closed"] = "stage closed"
    stage: str
    words: str = ""


class JointMade(Base):
    """A joint is finished and has its number; `read` are the readings that now belong to it.

    `procedure` is how it was made, `tool` with what, `passes` how many tries it took.
    """

    kind: Literal["joint made"] = "joint made"
    number: int
    procedure: str = ""
    tool: str = ""
    passes: int = 1
    values: dict[str, Value] = Field(default_factory=dict)
    read: tuple[str, ...] = ()


class Noted(Base):
    """A note in the person's own words."""

    kind: Literal["noted"] = "noted"
    text: str
