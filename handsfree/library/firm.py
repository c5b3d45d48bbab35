"""A firm's own pack: procedures, look-ups, questions, facts and phrases that are added to ours.

Everything in it carries the firm's mark. Its own names begin with the pack's id, so that none
takes the place of a shipped one and the record shows whose it was; its sentences name the firm.
A look-up is answered in words and reaches no calculator: no figure of a firm moves a shipped band.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import BaseModel, ConfigDict

from handsfree.errors import DataError, DataErrors
from handsfree.library.forms import Fact, formed
from handsfree.procedures.model import Procedure
from handsfree.procedures.work import Question

HEAD = "pack.toml"
FILES = (HEAD, "phrases.toml", "questions.toml", "facts.toml", "lookups.toml")
"""The files of a pack, beside its folders `procedures/` (TOML) and `tables/` (CSV)."""
_ID = re.compile(r"[a-z][a-z0-9]{2,19}")
_PLACE = re.compile(r"\{([a-z_]+)\}")


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Firm(_Model):
    """Whose the pack is: `id` begins all of its names, `name` is spoken, `edition` is recorded."""

    id: str
    name: str
    edition: str

    @property
    def prefix(self) -> str:
        """Return what every name of the firm's own begins with."""
        return f"{self.id}_"

    @property
    def signed(self) -> str:
        """Return the firm and the edition of its pack, as the record holds them."""
        return f"{self.name}, edition {self.edition}"


class LookUp(_Model):
    """A table that is asked in words: each row fills the places of the phrases and the answer."""

    table: str
    phrases: tuple[str, ...]
    say: str


class Ways(_Model):
    """Further ways to ask for what is shipped: by procedure and by calculator."""

    procedure: Mapping[str, tuple[str, ...]] = {}
    calculator: Mapping[str, tuple[str, ...]] = {}


@dataclass(frozen=True)
class Additions:
    """What a pack adds to the library; `procedures` are TOML texts by file name."""

    firm: Firm | None = None
    procedures: Mapping[str, str] = field(default_factory=dict)
    questions: Mapping[str, Question] = field(default_factory=dict)
    facts: Mapping[str, Fact] = field(default_factory=dict)
    ways: Ways = field(default_factory=Ways)

    def titled(self, procedures: Mapping[str, Procedure], template: str) -> Mapping[str, Procedure]:
        """Return procedures with the firm named in the titles of its own."""
        firm = self.firm
        if firm is None:
            return procedures
        return {
            name: one.model_copy(update={"title": template.format(firm=firm.name, title=one.title)})
            if name.startswith(firm.prefix)
            else one
            for name, one in procedures.items()
        }

    @property
    def sources(self) -> tuple[str, ...]:
        """Return the sources that it may name beside the shipped ones: the firm itself."""
        return () if self.firm is None else (self.firm.id,)

    def marked(self, questions: str, facts: str) -> Additions:
        """Return the same with the firm named in each sentence, by these two templates."""
        if self.firm is None:
            return self
        named = {
            name: one.model_copy(
                update={"say": questions.format(firm=self.firm.name, told=one.say)}
            )
            for name, one in self.questions.items()
        }
        told = {
            name: one.model_copy(update={"told": facts.format(firm=self.firm.name, told=one.told)})
            for name, one in self.facts.items()
        }
        return Additions(self.firm, self.procedures, named, told, self.ways)


NOTHING = Additions()


def read_additions(texts: Mapping[str, str]) -> Additions:
    """Return what the texts of a pack (by path within it) add; raises `DataErrors` with all faults.

    Only the form is looked at here; `firm_rules` says what a pack may hold.
    """
    faults: list[DataError] = []
    if HEAD not in texts:
        hint = f'Write {HEAD} with id = "…", name = "…" and edition = "…".'
        raise DataErrors([DataError(HEAD, "", "a pack begins with this file", hint)])
    firm: Firm | None = formed(HEAD, Firm, faults, texts[HEAD])
    if firm is not None:
        faults.extend(_head(firm))
    faults.extend(_strangers(texts))

    def table(file: str, form: Any) -> dict[str, Any]:
        return (formed(file, form, faults, texts[file]) if file in texts else None) or {}

    facts = table("facts.toml", dict[str, Fact])
    questions = table("questions.toml", dict[str, Question])
    lookups = table("lookups.toml", dict[str, LookUp])
    ways = formed("phrases.toml", Ways, faults, texts.get("phrases.toml", "")) or Ways()
    for name, lookup in lookups.items():
        for number, question in _rows(name, lookup, texts, faults, firm.id if firm else ""):
            questions[f"{name}_{number}"] = question
    if firm is None or faults:
        raise DataErrors(faults)
    procedures = {
        path.removeprefix("procedures/"): text
        for path, text in texts.items()
        if path.startswith("procedures/")
    }
    return Additions(firm, procedures, questions, facts, ways)


def _head(firm: Firm) -> Iterator[DataError]:
    if not _ID.fullmatch(firm.id):
        hint = "Write 3 to 20 small letters and digits, a letter first."
        yield DataError(HEAD, "id", f"'{firm.id}' cannot begin names", hint)
    for name in ("name", "edition"):
        said = getattr(firm, name)
        if not said.strip() or "{" in said or "}" in said:
            yield DataError(HEAD, name, "it must be a few plain words")


def _strangers(texts: Mapping[str, str]) -> Iterator[DataError]:
    """Yield a fault for each file that is no part of a pack."""
    for path in texts:
        folder, _, name = path.rpartition("/")
        wanted = {"procedures": ".toml", "tables": ".csv"}.get(folder)
        if path not in FILES and (wanted is None or not name.endswith(wanted)):
            hint = f"A pack holds {', '.join(FILES)}, procedures/*.toml and tables/*.csv."
            yield DataError(path, "", "this file is no part of a pack", hint)


def _rows(
    name: str, lookup: LookUp, texts: Mapping[str, str], faults: list[DataError], firm: str
) -> Iterator[tuple[int, Question]]:
    """Yield each row of a look-up as a question of its own, with the number of its line."""
    path = f"tables/{lookup.table}.csv"
    if path not in texts:
        faults.append(DataError("lookups.toml", name, f"there is no {path}"))
        return
    reader = csv.DictReader(texts[path].splitlines(), strict=True)
    try:
        rows = list(reader)
    except csv.Error as error:
        faults.append(DataError(path, f"line {reader.line_num}", f"this is not CSV: {error}"))
        return
    columns = tuple(reader.fieldnames or ())
    missing = {
        place
        for template in (*lookup.phrases, lookup.say)
        for place in _PLACE.findall(template)
        if place not in columns
    }
    for place in sorted(missing):
        hint = f"Its columns are: {', '.join(columns) or 'none'}."
        faults.append(DataError("lookups.toml", name, f"{path} has no '{place}'", hint))
    if missing:
        return
    for number, row in enumerate(rows, start=2):
        if None in row or None in row.values():
            problem = f"it has not {len(columns)} fields as the head has"
            faults.append(DataError(path, f"line {number}", problem))
            continue
        filled = tuple(_filled(phrase, row) for phrase in lookup.phrases)
        yield number, Question(phrases=filled, say=_filled(lookup.say, row), sources=(firm,))


def _filled(template: str, row: Mapping[str, str]) -> str:
    return _PLACE.sub(lambda place: row[place[1]].strip(), template)
