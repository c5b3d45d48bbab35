"""Which value that was said earlier is meant: a fact of the job, or a reading of a step.

The correction is of the last number of its kind, in the last ten turns.
"""

from __future__ import annotations

from handsfree.dialogue.correcting import RECENT, like
from handsfree.dialogue.meanings import Amend
from handsfree.dialogue.slots import fact_rule
from handsfree.dialogue.state import FACT, Said, State
from handsfree.language.corrections import Correction
from handsfree.language.numbers import readings
from handsfree.library import Library
from handsfree.procedures.model import Step
from handsfree.quantity import Reading


def amendment(found: list[Correction], state: State, library: Library) -> Amend | None:
    """Return which value that was said earlier is put right, or None.

    It may be right by now: who says a correction again means no value before that one.
    """
    job = state.job
    found = [one for one in found if one.new is not None]
    for held in reversed(job.said):
        if job.entries - held.number > RECENT:
            return None
        for one in found:
            value = _new_value(one, held, library)
            if value is not None:
                return Amend(held, value)
    return None


def _new_value(one: Correction, held: Said, library: Library) -> Reading | None:
    rule, name = _rule(held, library)
    if not rule or (one.which is not None and one.which not in (name, str(held.value.kind))):
        return None
    old = [like(held.value, spoken) for spoken in readings(one.old or (), rule)]
    if one.old is not None and held.value not in old:
        return None
    for spoken in readings(one.new or (), rule):
        value = like(held.value, spoken)
        if value is not None and _plausible(held, value, library):
            return value
    return None


def _rule(held: Said, library: Library) -> tuple[str, str]:
    """Return the grammar rule of a value, and its own name."""
    if held.of == FACT:
        name = held.name.split(" ")[0]
        return fact_rule(name, library.facts[name]), name
    step = step_of(held, library)
    asked = None if step is None else step.value
    return ("", "") if asked is None else (asked.grammar_rule, asked.name)


def step_of(held: Said, library: Library) -> Step | None:
    """Return the step at which a value was read."""
    name, _, value = held.name.partition("/")
    procedure = library.procedures.get(name)
    steps = () if procedure is None else procedure.steps
    return next((s for s in steps if s.value is not None and s.value.name == value), None)


def _plausible(held: Said, value: Reading, library: Library) -> bool:
    if held.of == FACT:
        return library.facts[held.name.split(" ")[0]].outside(value) is None
    step = step_of(held, library)
    band = None if step is None or step.value is None else step.value.band()
    return band is None or band[0].value <= value.to(band[0].unit).value <= band[1].value
