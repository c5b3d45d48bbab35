"""A job without what its record speaks of and this library does not hold.

A firm's pack may be left away, and a later release may name its procedures otherwise. The record
keeps all of it, so the place is there again when the pack is; until then the job does without.
"""

from __future__ import annotations

from dataclasses import replace

from handsfree.dialogue.state import Job
from handsfree.library import Library
from handsfree.procedures.model import END
from handsfree.record import entries as record
from handsfree.record.entries import Place


def gone(job: Job, library: Library) -> tuple[str, ...]:
    """Return the procedures in which the job stands or is parked and which are not there."""
    names = (name for place in (job.place, *job.parked) for name in _gone(place, library))
    return tuple(dict.fromkeys(names))


def present(job: Job, library: Library) -> Job:
    """Return the job with only what the library knows: places, questions, facts and values."""
    here = not _gone(job.place, library)
    return replace(
        job,
        place=job.place if here else (),
        pending=job.pending if here else None,
        trail=job.trail if here else (),
        parked=tuple(place for place in job.parked if not _gone(place, library)),
        questions=tuple(one for one in job.questions if _answerable(one, library)),
        facts={name: value for name, value in job.facts.items() if _known(name, library)},
        open_facts=tuple(name for name in job.open_facts if name in library.facts),
        values={k: read for k, read in job.values.items() if read.procedure in library.procedures},
        skipped=tuple(one for one in job.skipped if not _missing(one[0], one[1], library)),
    )


def _missing(procedure: str, step: str, library: Library) -> bool:
    known = library.procedures.get(procedure)
    return known is None or step not in (END, *known.by_id)


def _gone(place: Place, library: Library) -> list[str]:
    return [f.procedure for f in place if _missing(f.procedure, f.step, library)]


def _known(fact: str, library: Library) -> bool:
    """Return whether there is such a fact, kept under its name or its name and a size."""
    return fact.split(" ", maxsplit=1)[0] in library.facts


def _answerable(question: record.Asked, library: Library) -> bool:
    owner, colon, name = question.what.partition(":")
    if owner == "procedure" and colon:
        return name in library.procedures and set(question.missing) <= set(library.facts)
    return True
