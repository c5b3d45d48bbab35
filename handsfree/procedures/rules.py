"""The rules that every procedure graph obeys, alone and together.

They are checked when the files are read, so that no conversation meets a graph that breaks one.
Each rule is a small function that yields its faults; each fault names the file, the step and
what to do.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise

from handsfree.errors import DataError
from handsfree.language.grammar import parse_phrase
from handsfree.procedures.marking import fault_at
from handsfree.procedures.model import END, Flag, Hazard, Judged, Procedure, Step, split_target
from handsfree.procedures.proofs import Graph, prove, reached

LONGEST_ACTION = 12
LONGEST_WITH_CAUTION = 20
"""Words in a sentence: synthetic speech loads short-term memory (Human Factors 25(1), 1983)."""

_PLACE = re.compile(r"\{([a-z_]+)(?::[a-z]+)?\}")
_FIGURE = re.compile(r"\d")
_SENTENCE = re.compile(r"(?<=[.?!])\s+")


@dataclass(frozen=True)
class Names:
    """What a procedure may name: calculators, facts, sources, states, moments of danger."""

    calculators: Collection[str]
    facts: Collection[str]
    sources: Collection[str]
    flags: Mapping[str, Flag]
    hazards: Mapping[str, Hazard]


def check_one(
    file: str,
    text: str,
    procedure: Procedure,
    names: Names,
) -> list[DataError]:
    """Return the faults of a procedure that show in its own file."""
    faults: list[DataError] = []
    if file.removesuffix(".toml") != procedure.id:
        faults.append(
            fault_at(file, text, None, f"its id is '{procedure.id}'", "Name the file so.")
        )
    ids = [step.id for step in procedure.steps]
    faults.extend(
        fault_at(file, text, None, f"step '{name}' stands twice")
        for name in {name for name in ids if ids.count(name) > 1}
    )
    faults.extend(
        fault_at(file, text, None, f"'{name}' is not a fact", word=name)
        for name in procedure.facts
        if name not in names.facts
    )
    faults.extend(
        fault_at(file, text, None, f"'{name}' is not a state of the work", word=name)
        for name in (*procedure.ever_needs, *procedure.without, *_whiles(procedure))
        if name not in names.flags
    )
    if not procedure.sources:
        faults.append(fault_at(file, text, None, "it names no source", "Add `sources`.", "id"))
    counts = any(fault.counts for step in procedure.steps for fault in step.faults)
    if counts and not procedure.third:
        hint = "Add `third`: what to say on the third pass."
        faults.append(fault_at(file, text, None, "it counts passes and has no third", hint))
    for phrase in procedure.phrases:
        faults.extend(_phrase(file, None, phrase))
    for name in procedure.sources:
        if name not in names.sources:
            hint = "Add it to sources.toml."
            faults.append(fault_at(file, text, None, f"'{name}' is not a source", hint, name))
    for step in procedure.steps:
        faults.extend(_step(file, text, procedure, step, names))
    if not faults:
        faults.extend(_graph(file, text, procedure))
    return faults


def _whiles(procedure: Procedure) -> Iterator[str]:
    """Yield the states of the work that make it need others, or spare it them."""
    for others in (*procedure.needs_while.values(), *procedure.needs_unless.values()):
        yield from others


def _phrase(file: str, step: Step | None, phrase: str) -> Iterator[DataError]:
    try:
        parse_phrase(phrase, file, f'step "{step.id}"' if step is not None else "phrases")
    except DataError as fault:
        yield fault


def _step(
    file: str,
    text: str,
    procedure: Procedure,
    step: Step,
    names: Names,
) -> Iterator[DataError]:
    yield from _form(file, text, step, names.facts)
    yield from _named(file, text, procedure, step, names)
    for phrase in (*step.states, *step.yes, *(words for f in step.faults for words in f.words)):
        yield from _phrase(file, step, phrase)
    yield from _workings(file, text, procedure, step, names)
    if step.value is not None and step.value.judge and step.value.judge not in names.calculators:
        problem = f"'{step.value.judge}' is not a calculator"
        yield fault_at(file, text, step, problem, word=step.value.judge)
    for name in step.sources:
        if name not in names.sources:
            yield fault_at(
                file, text, step, f"'{name}' is not a source", "Add it to sources.toml.", name
            )
    for target in (step.next, *(fault.goto for fault in step.faults)):
        name, target_step = split_target(target, procedure.id) if target else (procedure.id, "")
        if name == procedure.id and target_step not in ("", END, *procedure.by_id):
            close = get_close_matches(target_step, procedure.by_id, n=1)
            hint = f"Did you mean '{close[0]}'?" if close else ""
            yield fault_at(
                file, text, step, f"goes to '{target}', which is not a step", hint, target
            )
    yield from _sentences(file, text, procedure, step, names.facts)


def _named(  # noqa: C901 - one check for each thing that a step can name
    file: str, text: str, procedure: Procedure, step: Step, names: Names
) -> Iterator[DataError]:
    """Yield a fault where a step names what is not there, or a figure without its source."""
    changes = (
        *step.needs,
        *step.sets,
        *step.clears,
        *(c for f in step.faults for c in (*f.clears, *f.sets)),
    )
    for name in changes:
        if name not in names.flags:
            yield fault_at(file, text, step, f"'{name}' is not a state of the work", word=name)
    for name in (*step.hazard, *step.warns):
        if name not in names.hazards:
            hint = "Add it to hazards.toml."
            yield fault_at(file, text, step, f"'{name}' is not a moment of danger", hint, name)
    of_value = () if step.value is None else (step.value.fact, step.value.at_most)
    for name in (*step.gives, *filter(None, of_value), *step.only_if):
        if name not in names.facts:
            yield fault_at(file, text, step, f"'{name}' is not a fact", word=name)
    values = {one.value.name for one in procedure.steps if one.value is not None}
    given = [text_given[1:-1] for text_given in step.gives.values() if text_given[:1] == "{"]
    for name in given:
        if name not in values:
            yield fault_at(file, text, step, f"'{name}' is not a value read here", word=name)
    if step.lasts and step.lasts not in values and step.lasts not in names.facts:
        yield fault_at(file, text, step, f"'{step.lasts}' is no value or fact", word=step.lasts)
    told = f"{step.say} {step.check} {step.note} {step.why} {step.good} {step.caution}"
    if (step.minutes is not None or _FIGURE.search(told)) and not step.sources:
        hint = "Add `sources` to the step."
        yield fault_at(file, text, step, "a figure without a source", hint)


def _workings(
    file: str, text: str, procedure: Procedure, step: Step, names: Names
) -> Iterator[DataError]:
    """Yield a fault where a calculator is asked that is not there, or with what is never known."""
    for working in step.workings:
        if working.calculator not in names.calculators:
            close = get_close_matches(working.calculator, names.calculators, n=1)
            hint = f"Did you mean '{close[0]}'?" if close else ""
            problem = f"'{working.calculator}' is not a calculator"
            yield fault_at(file, text, step, problem, hint, working.calculator)
    values = {one.value.name for one in procedure.steps if one.value is not None}
    for name in (name for working in step.workings for name in working.taken):
        if "/" not in name and name not in values and name not in names.facts:
            problem = f"'{name}' is no value read here and no fact"
            yield fault_at(file, text, step, problem, word=name)
    known = [fault.name for fault in step.faults]
    for working in step.workings:
        for name in working.faults.values() if isinstance(working, Judged) else ():
            if name not in known:
                yield fault_at(file, text, step, f"'{name}' is not a fault of this step", word=name)


def _form(file: str, text: str, step: Step, facts: Collection[str]) -> Iterator[DataError]:
    """Yield a fault where a step lacks what its kind needs."""
    needs = {
        "done": bool(step.say),
        "seen": bool(step.check) and not (step.say and step.verdict),
        "value": step.value is not None and bool(step.say or step.check),
        "stated": bool(step.check and step.states and step.insist),
        "hold": bool(step.title) and (step.minutes is not None or bool(step.lasts)),
        "fact": step.fact in facts,
        "call": bool(step.calls),
        "halt": bool(step.say),
    }
    wants = {
        "done": "say",
        "seen": "check, and no say beside a verdict",
        "value": "say and a [step.value]",
        "stated": "check, states and insist",
        "hold": "a title, and minutes or lasts",
        "fact": "the name of a fact",
        "call": "calls",
        "halt": "say",
    }
    if not needs[step.kind]:
        yield fault_at(file, text, step, f"a '{step.kind}' step needs {wants[step.kind]}")


def _sentences(
    file: str, text: str, procedure: Procedure, step: Step, facts: Collection[str]
) -> Iterator[DataError]:
    """Sentences are short, and every number in them comes from somewhere."""
    values = {one.value.name for one in procedure.steps if one.value is not None}
    for template in (
        step.say,
        step.check,
        step.caution,
        step.note,
        step.title,
        *(f.say for f in step.faults),
    ):
        for name in _PLACE.findall(template):
            if name not in step.numbers and name not in facts and name not in values:
                hint = "Take it from a calculator, a fact, or a value read before."
                yield fault_at(file, text, step, f"nothing fills '{{{name}}}'", hint, name)
    for sentence in _SENTENCE.split(step.say):
        if len(sentence.split()) > LONGEST_ACTION:
            hint = f"At most {LONGEST_ACTION} words for an action."
            yield fault_at(file, text, step, f"too long to be heard: {sentence!r}", hint)
    if len(step.caution.split()) + len(_SENTENCE.split(step.say)[0].split()) > LONGEST_WITH_CAUTION:
        hint = f"At most {LONGEST_WITH_CAUTION} words with a caution."
        yield fault_at(file, text, step, "caution and action are too long together", hint)


def _graph(file: str, text: str, procedure: Procedure) -> Iterator[DataError]:
    """Every step is reached, and every step can come to the end."""
    ways: dict[str, set[str]] = {}
    for step in procedure.steps:
        ways[step.id] = set()
        for target, _ in procedure.targets(step):
            name, target_step = split_target(target, procedure.id)
            ways[step.id].add(target_step if name == procedure.id else END)
    within = reached(ways, procedure.steps[0].id)
    for step in procedure.steps:
        if step.id not in within:
            yield fault_at(file, text, step, "no step leads here", "Name it as a next or a goto.")
        elif END not in reached(ways, step.id):
            yield fault_at(file, text, step, "no way leads from here to the end")
    for one, other in pairwise(procedure.steps):
        if one.kind == other.kind == "call" and one.calls == other.calls:
            yield fault_at(file, text, other, f"calls '{one.calls}' twice running")


def check_all(
    found: Mapping[str, tuple[str, Procedure]], texts: Mapping[str, str], names: Names
) -> list[DataError]:
    """Return the faults between procedures: what leads, calls or needs what is not there.

    What holds on every way is proven only of procedures that all lead somewhere.
    """
    faults: list[DataError] = []
    for file, procedure in found.values():
        text = texts[file]
        faults.extend(
            fault_at(file, text, None, f"needs '{name}' before, which is not here", word=name)
            for name in procedure.before
            if name not in found
        )
        for flag in procedure.ever_needs:
            setter, _ = names.flags[flag].beginning()
            if setter not in found:
                problem = f"'{setter}', which sets '{flag}', is not here"
                faults.append(fault_at(file, text, None, problem, word=flag))
        for step in procedure.steps:
            faults.extend(_leads(file, text, procedure, step, found))
    faults.extend(_holds(found, texts))
    return faults or prove(Graph(found, texts, names.flags, names.hazards))


def _leads(
    file: str,
    text: str,
    procedure: Procedure,
    step: Step,
    found: Mapping[str, tuple[str, Procedure]],
) -> Iterator[DataError]:
    called, called_step = split_target(step.calls, step.calls)
    if step.calls and (
        called not in found or ("/" in step.calls and called_step not in found[called][1].by_id)
    ):
        yield fault_at(
            file, text, step, f"calls '{step.calls}', which is not here", word=step.calls
        )
    for taken in (name for working in step.workings for name in working.taken if "/" in name):
        name, value = split_target(taken, procedure.id)
        read = found[name][1].steps if name in found else ()
        if value not in {one.value.name for one in read if one.value is not None}:
            yield fault_at(file, text, step, f"'{taken}' is not a value read there", word=taken)
    for target in (step.next, *(fault.goto for fault in step.faults)):
        if "/" not in target:
            continue
        name, target_step = split_target(target, procedure.id)
        if name not in found or target_step not in found[name][1].by_id:
            hint = f"The procedures are: {', '.join(sorted(found))}." if name not in found else ""
            yield fault_at(
                file, text, step, f"goes to '{target}', which is not there", hint, target
            )


def _holds(
    found: Mapping[str, tuple[str, Procedure]], texts: Mapping[str, str]
) -> Iterator[DataError]:
    """No two holds run under one name: each is asked for and announced by it."""
    owners: dict[str, str] = {}
    for file, procedure in found.values():
        for step in procedure.steps:
            if step.kind != "hold":
                continue
            first = owners.setdefault(step.timer_name, f"{procedure.id}/{step.id}")
            if first != f"{procedure.id}/{step.id}":
                problem = f"the hold '{step.timer_name}' is at {first} as well"
                yield fault_at(file, texts[file], step, problem, "Give it a `timer` of its own.")
