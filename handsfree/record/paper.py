"""The form of a certificate: its sections, their rows, and the fields that are typed."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources

from pydantic import BaseModel, ConfigDict, Field, model_validator

_WAYS = ("field", "fact", "value", "flag", "step", "count", "sum")


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Blank(_Model):
    """A field that is typed: its title, the words that name it, and whether it may come often."""

    title: str
    words: tuple[str, ...]
    many: bool = False


class Row(_Model):
    """A row of the certificate, and where its content comes from: see `data/record.toml`."""

    title: str
    must: bool = False
    aloud: bool = False
    field: str = ""
    fact: str = ""
    value: str = ""
    flag: str = ""
    step: str = ""
    count: str = ""
    sum: str = ""
    answer: str = ""
    inputs: Mapping[str, str | tuple[str, ...]] = Field(default_factory=dict)
    times: Mapping[str, tuple[str, ...]] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _one_way(self) -> Row:
        ways = [way for way in _WAYS if getattr(self, way)]
        if len(ways) != 1 and ways not in (["field", "value"], ["field", "step"]):
            raise ValueError(f"a row comes from one of {', '.join(_WAYS)}")
        return self


class Section(_Model):
    """A section of the certificate."""

    title: str
    row: tuple[Row, ...]


class Paper(_Model):
    """The whole form."""

    pieces: tuple[str, ...]
    field: Mapping[str, Blank]
    section: tuple[Section, ...]

    @model_validator(mode="after")
    def _fields_are_there(self) -> Paper:
        for section in self.section:
            for row in section.row:
                if row.field and row.field not in self.field:
                    raise ValueError(f"{section.title}, {row.title}: no field '{row.field}'")
        return self

    def named(self, words: str) -> str:
        """Return the name of the field that these words name, or nothing."""
        said = " ".join(words.lower().split())
        return next((name for name, blank in self.field.items() if said in blank.words), "")


@cache
def paper() -> Paper:
    """Return the form of `data/record.toml`; raises pydantic's `ValidationError`."""
    place = resources.files("handsfree") / "data" / "record.toml"
    return Paper.model_validate(tomllib.loads(place.read_text(encoding="utf-8")))


CELL = 39
"""Letters of half a line."""
JOINT_LINES = 4
"""Lines for joints on the empty form; a page has about sixty-six lines."""

_AS_TYPED = re.IGNORECASE | re.DOTALL
_FILED = re.compile(
    r"\s*(?:for\s+the\s+)?record\b[\s,:]*(?:the\s+)?(?P<rest>.+)",
    _AS_TYPED,
)
_NAMED = re.compile(
    r"(?P<name>[a-z][a-z ]*?)\s*(?::|\s(?:is|are|was)\s|,)\s*(?P<text>\S.*)",
    _AS_TYPED,
)
_OVERRIDE = re.compile(
    r"(?P<what>.+?)[\s,]+because\s+(?P<reason>.+?)(?:[\s,;]+by\s+(?P<name>[^,;]+))?\s*",
    _AS_TYPED,
)
PHOTO, SIGNATURE, OVERRIDE = "photo", "signature", "override"


def filed(text: str) -> tuple[str, str] | None:
    """Return what a typed line files into the record: the field, and its text as typed.

    `photo`, `signature` and `override` stand beside the fields of `data/record.toml`. None where
    the line files nothing.
    """
    whole = _FILED.fullmatch(text)
    named = None if whole is None else _NAMED.fullmatch(whole["rest"])
    if named is None:
        return None
    name = " ".join(named["name"].lower().split())
    if name not in (PHOTO, SIGNATURE, OVERRIDE):
        name = paper().named(name)
    return (name, named["text"].strip()) if name else None


def override_of(text: str) -> tuple[str, str, str] | None:
    """Return what was overridden, why, and by whom (or nothing); None where no reason is given."""
    found = _OVERRIDE.fullmatch(text)
    return (
        None if found is None else (found["what"], found["reason"], (found["name"] or "").strip())
    )


def signature_of(text: str) -> tuple[str, str]:
    """Return the name and the role of a signature."""
    name, _, role = text.partition(",")
    return name.strip(), role.strip()


def blank_form() -> str:
    """Return the empty form, to be printed and filled in by hand: one numbered line a row."""
    lines = ["JOB ______________________  DATE ____________  NAME ______________________"]
    for number, section in enumerate(paper().section, start=1):
        lines += [f"{number} {section.title.upper()}"]
        cells = [
            f"{number}.{place} {row.title} ".ljust(CELL, "_")
            for place, row in enumerate(section.row, start=1)
            if not row.sum
        ]
        lines += ["  ".join(cells[at : at + 2]) for at in range(0, len(cells), 2)]
    lines += ["JOINTS no, place, size, type, tool, projection, flare width, torque, passes, by"]
    lines += [f"{number} ".ljust(78, "_") for number in range(1, JOINT_LINES + 1)]
    lines += ["Signed ______________________  Signed ______________________"]
    lines += ["Typed in later: record late entry: 1.1 …"]
    return "\n".join(lines)
