"""Random conversations over all procedures, and what must hold after every event of one."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from fractions import Fraction
from itertools import islice
from random import Random

from handsfree.dialogue.effects import Say, Write
from handsfree.dialogue.engine import advance
from handsfree.dialogue.events import Alternative, Event, Heard, Tick, Typed
from handsfree.dialogue.folding import fold
from handsfree.dialogue.state import Job, State
from handsfree.language.grammar import parse_phrase, sentences
from handsfree.library import Library
from handsfree.quantity import Kind, Reading
from handsfree.record import entries as record

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
SAYINGS = (
    "done", "done", "done", "yes", "yes", "next", "okay", "no", "skip", "because", "undo", "back",
    "it failed", "leave it", "park it", "pause", "resume", "what's left", "where am I", "why",
    "three eighths", "seven three one", "ten psi", "seventy fahrenheit", "twenty pounds",
    "four hundred microns", "forty newton metres", "two inches", "ninety degrees", "I don't know",
    "which nut first", "what's nineteen mil in inches", "torque on a half inch flare", "stop",
    "my lock is off", "my glasses are off", "one two three blah", "hand me the five eighths",
)  # fmt: skip
PAUSES = (2,) * 20 + (5,) * 20 + (20,) * 15 + (400,) * 4 + (2400,)
"""Seconds between two events: the last is a break that ends what a break ends."""
HERE, START, ANYWHERE, OFTEN = 0.75, 0.78, 0.95, 0.4
"""Below the first a sentence of the step in hand, then a procedure, anything, silence; the
last is how often the step is simply answered."""


def _here(state: State, library: Library, chance: Random) -> str:
    """Return a sentence that the step in hand knows: its state, or one of its faults."""
    if not state.job.place:
        return ""
    frame = state.job.place[-1]
    step = library.procedures[frame.procedure].by_id.get(frame.step)
    if step is None:
        return ""
    texts = [*step.states, *step.states, *step.yes, *(w for f in step.faults for w in f.words)]
    if not texts or chance.random() < OFTEN:
        return ""
    ways = list(islice(sentences(parse_phrase(chance.choice(texts)), library.rules), 6))
    return " ".join(chance.choice(ways))


def _event(state: State, at: datetime, library: Library, chance: Random) -> Event:
    draw = chance.random()
    if draw < HERE:
        text = _here(state, library, chance) or chance.choice(SAYINGS[:6])
    elif draw < START:
        procedure = library.procedures[chance.choice(sorted(library.procedures))]
        phrase = parse_phrase(chance.choice(procedure.phrases))
        text = " ".join(next(iter(sentences(phrase, library.rules))))
    elif draw < ANYWHERE:
        text = chance.choice(SAYINGS)
    else:
        return Tick(at)
    return Typed(text, at) if chance.random() < HERE else Heard((Alternative(text),), at)


def broken(before: Job, state: State, effects: tuple[object, ...], library: Library) -> list[str]:
    """Return every promise that an event broke: none, where all is well."""
    found: list[str] = []
    job, said = before, False
    for effect in effects:
        if isinstance(effect, Say):
            said = True
        if not isinstance(effect, Write):
            continue
        if said:
            found.append("something was said before it was written")
        entry = effect.entry
        if isinstance(entry, record.StepClosed):
            found.extend(_closed(entry, job, library))
        job = fold(job, entry)
    if job != state.job:
        found.append("the job is not the fold of its record")
    return found


def _closed(entry: record.StepClosed, job: Job, library: Library) -> list[str]:
    procedure = library.procedures[entry.procedure]
    step = procedure.by_id[entry.step]
    found: list[str] = []
    place = f"{entry.procedure}/{entry.step}"
    if step.kind == "stated":
        book = library.step_books[entry.procedure, step.id]
        words = tuple(entry.words.lower().replace(",", "").split())
        stated = [
            hit
            for part in (words, words[1:])
            for hit in book.matches(part)
            if part and hit.phrase.kind == "state"
        ]
        if entry.how != "stated" or not stated:
            found.append(f"{place} was passed on {entry.words!r}")
    if step.value is not None and step.value.must and entry.how != "value":
        found.append(f"{place} must be read, and was passed as {entry.how}")
    needed = (*procedure.needs, *step.needs)
    found.extend(f"{place} closed without {flag}" for flag in needed if flag not in job.flags)
    if step.sets and entry.how == "skipped":
        found.append(f"{place} sets a state and was skipped")
    return found


def _begun(library: Library, chance: Random) -> State:
    """Return a job in which some states hold and most facts are known."""
    job = Job()
    for name, flag in library.flags.items():
        if chance.random() < HERE:
            job = fold(
                job,
                record.FlagSet(
                    at=AT,
                    flag=name,
                    evidence="begun",
                    after_break=None if flag.after_break is None else float(flag.after_break) * 60,
                ),
            )
    for name, fact in library.facts.items():
        if fact.options and name != "mode" and chance.random() < ANYWHERE:
            value = chance.choice(sorted(fact.options))
            job = fold(job, record.FactSet(at=AT, name=name, value=value))
    size = Reading(Fraction(3, 8), "inch", Kind.LENGTH)
    return State(fold(job, record.FactSet(at=AT, name="size", value=size)))


def walk(library: Library, seed: int, events: int) -> tuple[int, set[str], list[str]]:
    """Return the steps closed, the procedures met, and what was broken, of one conversation."""
    chance = Random(seed)  # noqa: S311 - a walk is not a secret
    state, at = _begun(library, chance), AT
    closed, met, found = 0, set[str](), list[str]()
    for _ in range(events):
        at += timedelta(seconds=chance.choice(PAUSES))
        before = state.job
        state, effects = advance(state, _event(state, at, library, chance), library)
        found.extend(f"seed {seed}: {one}" for one in broken(before, state, effects, library))
        for effect in effects:
            if isinstance(effect, Write) and isinstance(effect.entry, record.StepClosed):
                closed += 1
                met.add(effect.entry.procedure)
    return closed, met, found
