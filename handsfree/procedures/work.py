"""Everything that procedures are about: themselves, states, moments, stages, plain questions."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from pydantic import BaseModel, ConfigDict

from handsfree.errors import DataError
from handsfree.procedures.files import read_procedures
from handsfree.procedures.model import Flag, Hazard, Procedure, Stage
from handsfree.procedures.rules import Names

PhraseGroup = tuple[str, str, tuple[str, ...], str]
"""What the phrases mean, whose they are, the phrases, and the file that they stand in."""


class Question(BaseModel):
    """A question that is not a number, and its answer: see `data/phrases/questions.toml`."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    phrases: tuple[str, ...]
    say: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Shared:
    """What is shared by all procedures, by name."""

    flags: Mapping[str, Flag]
    hazards: Mapping[str, Hazard]
    stages: Mapping[str, Stage]
    questions: Mapping[str, Question]

    def faults(self, known: Collection[str]) -> Iterator[DataError]:
        """Yield a fault for every source that is not known."""
        files: tuple[tuple[str, Mapping[str, Flag | Hazard | Question]], ...] = (
            ("flags.toml", self.flags),
            ("hazards.toml", self.hazards),
            ("questions.toml", self.questions),
        )
        for file, owners in files:
            for name, owner in owners.items():
                for source in owner.sources:
                    if source not in known:
                        yield DataError(file, name, f"'{source}' is not a source")


@dataclass(frozen=True)
class Work:
    """The sound procedures, what they share, and the faults of those that are out."""

    procedures: Mapping[str, Procedure]
    shared: Shared
    broken: tuple[DataError, ...]

    def phrases(self) -> Iterator[PhraseGroup]:
        """Yield the phrases that begin a procedure, take one up, end a state, close a stage."""
        for name, procedure in self.procedures.items():
            yield "procedure", name, procedure.phrases, f"{name}.toml"
            back = tuple(f"back to [the] {known}" for known in procedure.names)
            yield "take", name, back, f"{name}.toml"
            upto = tuple(f"[all] done [up | down] to [the] {known}" for known in procedure.names)
            yield "batch", name, (*upto, *procedure.did), f"{name}.toml"
            named = tuple(f"done with [the] {known}" for known in procedure.names)
            yield "done with", name, named, f"{name}.toml"
        for name, flag in self.shared.flags.items():
            yield "off", name, flag.off, "flags.toml"
        for name, stage in self.shared.stages.items():
            closes = tuple(f"[the] {known} (is | are) done" for known in stage.names)
            yield "stage", name, closes, "stages.toml"
        for name, question in self.shared.questions.items():
            yield "answer", name, question.phrases, "questions.toml"


def read_work(
    texts: Mapping[str, str],
    shared: Shared,
    calculators: frozenset[str],
    facts: frozenset[str],
    sources: frozenset[str],
) -> Work:
    """Return the procedures of these TOML texts (by file name) with what they share."""
    names = Names(calculators, facts, sources, shared.flags, shared.hazards)
    procedures, broken = read_procedures(texts, names)
    return Work(procedures, shared, tuple(broken))
