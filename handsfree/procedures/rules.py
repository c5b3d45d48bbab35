"""The rules that every procedure graph obeys, alone and together.

They are checked when the files are read, so that no conversation meets a graph that breaks one.
Each rule is a small function that yields its faults; each fault names the file, the step and
what to do.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from difflib import get_close_matches
from itertools import pairwise

from handsfree.errors import DataError
from handsfree.language.grammar import parse_phrase
from handsfree.procedures.model import END, Procedure, Step, split_target
from handsfree.reference import tables

LONGEST_ACTION = 12
LONGEST_WITH_CAUTION = 20
"""Words in a sentence: synthetic speech loads short-term memory (Human Factors 25(1), 1983)."""

_PLACE = re.compile(r"\{([a-z_]+)(?::[a-z]+)?\}")
_SENTENCE = re.compile(r"(?<=[.?!])\s+")


def _fault(  # noqa: PLR0913 - where it is, what it is, what to do, what to point at
    file: str, text: str, step: Step | None, problem: str, hint: str = "", word: str = ""
) -> DataError:
    place = f'step "{step.id}"' if step is not None else ""
    return DataError(
        file, place, problem, hint, excerpt(text, word, step.id if step is not None else "")
    )


def excerpt(text: str, word: str, step: str = "") -> str:
    """Return the line on which a word stands, with a caret under it; empty where it is not found.

    With the id of a step, the line is sought from the head of that step on.
    """
    inside = not step
    for line in text.splitlines():
        inside = inside or line.strip() == f'id = "{step}"'
        if inside and word and word in line:
            return f"    {line}\n    {' ' * line.index(word)}^"
    return ""


def check_one(
    file: str,
    text: str,
    procedure: Procedure,
    calculators: Collection[str],
    facts: Collection[str],
) -> list[DataError]:
    """Return the faults of a procedure that show in its own file."""
    faults: list[DataError] = []
    if file.removesuffix(".toml") != procedure.id:
        faults.append(_fault(file, text, None, f"its id is '{procedure.id}'", "Name the file so."))
    ids = [step.id for step in procedure.steps]
    faults.extend(
        _fault(file, text, None, f"step '{name}' stands twice")
        for name in {name for name in ids if ids.count(name) > 1}
    )
    faults.extend(
        _fault(file, text, None, f"'{name}' is not a fact", word=name)
        for name in procedure.facts
        if name not in facts
    )
    for phrase in procedure.phrases:
        faults.extend(_phrase(file, None, phrase))
    for name in procedure.sources:
        if name not in tables.sources():
            hint = "Add it to sources.toml."
            faults.append(_fault(file, text, None, f"'{name}' is not a source", hint, name))
    for step in procedure.steps:
        faults.extend(_step(file, text, procedure, step, calculators, facts))
    if not faults:
        faults.extend(_graph(file, text, procedure))
    return faults


def _phrase(file: str, step: Step | None, phrase: str) -> Iterator[DataError]:
    try:
        parse_phrase(phrase, file, f'step "{step.id}"' if step is not None else "phrases")
    except DataError as fault:
        yield fault


def _step(  # noqa: PLR0913 - a step, where it stands, and what is known
    file: str,
    text: str,
    procedure: Procedure,
    step: Step,
    calculators: Collection[str],
    facts: Collection[str],
) -> Iterator[DataError]:
    yield from _form(file, text, step, facts)
    for phrase in (*step.states, *step.yes, *(words for f in step.faults for words in f.words)):
        yield from _phrase(file, step, phrase)
    for number in step.numbers.values():
        if number.calculator not in calculators:
            close = get_close_matches(number.calculator, calculators, n=1)
            hint = f"Did you mean '{close[0]}'?" if close else ""
            problem = f"'{number.calculator}' is not a calculator"
            yield _fault(file, text, step, problem, hint, number.calculator)
    if step.value is not None and step.value.judge and step.value.judge not in calculators:
        problem = f"'{step.value.judge}' is not a calculator"
        yield _fault(file, text, step, problem, word=step.value.judge)
    for name in step.sources:
        if name not in tables.sources():
            yield _fault(
                file, text, step, f"'{name}' is not a source", "Add it to sources.toml.", name
            )
    for target in (step.next, *(fault.goto for fault in step.faults)):
        name, target_step = split_target(target, procedure.id) if target else (procedure.id, "")
        if name == procedure.id and target_step not in ("", END, *procedure.by_id):
            close = get_close_matches(target_step, procedure.by_id, n=1)
            hint = f"Did you mean '{close[0]}'?" if close else ""
            yield _fault(file, text, step, f"goes to '{target}', which is not a step", hint, target)
    yield from _sentences(file, text, procedure, step, facts)


def _form(file: str, text: str, step: Step, facts: Collection[str]) -> Iterator[DataError]:
    """Yield a fault where a step lacks what its kind needs."""
    needs = {
        "done": bool(step.say),
        "seen": bool(step.check),
        "value": step.value is not None and bool(step.say or step.check),
        "stated": bool(step.check and step.states and step.insist),
        "hold": step.minutes is not None,
        "fact": step.fact in facts,
        "call": bool(step.calls),
    }
    wants = {
        "done": "say",
        "seen": "check",
        "value": "say and a [step.value]",
        "stated": "check, states and insist",
        "hold": "minutes",
        "fact": "the name of a fact",
        "call": "calls",
    }
    if not needs[step.kind]:
        yield _fault(file, text, step, f"a '{step.kind}' step needs {wants[step.kind]}")


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
                yield _fault(file, text, step, f"nothing fills '{{{name}}}'", hint, name)
    for sentence in _SENTENCE.split(step.say):
        if len(sentence.split()) > LONGEST_ACTION:
            hint = f"At most {LONGEST_ACTION} words for an action."
            yield _fault(file, text, step, f"too long to be heard: {sentence!r}", hint)
    if len(step.caution.split()) + len(_SENTENCE.split(step.say)[0].split()) > LONGEST_WITH_CAUTION:
        hint = f"At most {LONGEST_WITH_CAUTION} words with a caution."
        yield _fault(file, text, step, "caution and action are too long together", hint)


def _graph(file: str, text: str, procedure: Procedure) -> Iterator[DataError]:
    """Every step is reached, and every step can come to the end."""
    ways: dict[str, set[str]] = {}
    for step in procedure.steps:
        ways[step.id] = set()
        for target, _ in procedure.targets(step):
            name, target_step = split_target(target, procedure.id)
            ways[step.id].add(target_step if name == procedure.id else END)
    reached = _reached(ways, procedure.steps[0].id)
    for step in procedure.steps:
        if step.id not in reached:
            yield _fault(file, text, step, "no step leads here", "Name it as a next or a goto.")
        elif END not in _reached(ways, step.id):
            yield _fault(file, text, step, "no way leads from here to the end")
    for one, other in pairwise(procedure.steps):
        if one.kind == other.kind == "call" and one.calls == other.calls:
            yield _fault(file, text, other, f"calls '{one.calls}' twice running")


def _reached(ways: Mapping[str, set[str]], start: str) -> set[str]:
    seen, waiting = {start}, [start]
    while waiting:
        for target in ways.get(waiting.pop(), ()):
            if target not in seen:
                seen.add(target)
                waiting.append(target)
    return seen


def check_all(
    found: Mapping[str, tuple[str, Procedure]], texts: Mapping[str, str]
) -> list[DataError]:
    """Return the faults between procedures: what leads, calls or needs what is not there."""
    faults: list[DataError] = []
    sets = {flag for _, procedure in found.values() for s in procedure.steps for flag in s.sets}
    for file, procedure in found.values():
        text = texts[file]
        faults.extend(
            _fault(file, text, None, f"needs '{name}' before, which is not here", word=name)
            for name in procedure.before
            if name not in found
        )
        faults.extend(
            _fault(file, text, None, f"no step sets '{flag}'", word=flag)
            for flag in procedure.needs
            if flag not in sets
        )
        for step in procedure.steps:
            faults.extend(_leads(file, text, procedure, step, found))
    faults.extend(_rings(found, texts))
    return faults


def _leads(
    file: str,
    text: str,
    procedure: Procedure,
    step: Step,
    found: Mapping[str, tuple[str, Procedure]],
) -> Iterator[DataError]:
    if step.calls and step.calls not in found:
        yield _fault(file, text, step, f"calls '{step.calls}', which is not here", word=step.calls)
    for target in (step.next, *(fault.goto for fault in step.faults)):
        if "/" not in target:
            continue
        name, target_step = split_target(target, procedure.id)
        if name not in found or target_step not in found[name][1].by_id:
            hint = f"The procedures are: {', '.join(sorted(found))}." if name not in found else ""
            yield _fault(file, text, step, f"goes to '{target}', which is not there", hint, target)


def _rings(
    found: Mapping[str, tuple[str, Procedure]], texts: Mapping[str, str]
) -> Iterator[DataError]:
    """No procedure calls itself, by any way."""
    calls = {
        name: {step.calls for step in procedure.steps if step.calls}
        for name, (_, procedure) in found.items()
    }
    for name, (file, _) in found.items():
        around = set().union(*(_reached(calls, called) for called in calls[name]))
        if name in around:
            yield _fault(file, texts[file], None, f"'{name}' calls itself in a ring")
