"""The form of a procedure: a graph of steps, one TOML file each.

A step is said, answered in the way of its kind, and leads on:

    done    finished when told so                    seen    a check is answered yes or no
    value   a reading, read back and confirmed       stated  the named state is said in words
    hold    time must pass                           fact    asked once a job
    call    nothing is asked: another procedure runs, and then the next step

`next` and a fault's `goto` name a step of the same procedure ("4"), a step of another ("cut/2"),
or `end`. Going to a procedure that an open one needs beforehand starts that open one again.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from handsfree.quantity import Kind, Reading

END = "end"
StepKind = Literal["done", "seen", "value", "stated", "hold", "fact", "call"]
Exact = Annotated[Fraction, BeforeValidator(lambda text: Fraction(str(text)))]


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Fault(_Model):
    """What can go wrong at a step: how it is told, what is answered, and where the work goes.

    A fault with `counts` is a rework: its passes are counted, and the third says so. `asks` puts
    a question first (yes goes on with the step, no is the fault itself).
    """

    name: str
    words: tuple[str, ...]
    say: str = ""
    goto: str = ""
    counts: bool = False
    stops: bool = False


class Value(_Model):
    """The reading that a step asks for. `must` values cannot be skipped.

    `judge` names a calculator whose answer is told with the reading (in band or not); `fact`
    stores the reading as a job fact of that name.
    """

    name: str
    kind: Kind
    unit: str
    must: bool = False
    low: Exact | None = None
    high: Exact | None = None
    rule: str = ""
    judge: str = ""
    judge_slot: str = ""
    judge_with: Mapping[str, str] = Field(default_factory=dict)
    fault_sentences: Mapping[str, str] = Field(default_factory=dict)

    @property
    def grammar_rule(self) -> str:
        """Return the grammar rule that reads the value."""
        return self.rule or self.kind.replace(" ", "_")

    def band(self) -> tuple[Reading, Reading] | None:
        """Return what is plausible, or None where nothing is said."""
        if self.low is None or self.high is None:
            return None
        return Reading(self.low, self.unit, self.kind), Reading(self.high, self.unit, self.kind)


class Number(_Model):
    """A number in a step's sentence: an answer of a calculator that knows the job's facts.

    `with` gives slots besides the facts; `without` is said in place of the number while a fact
    that the calculator needs is missing, or where no table holds it.
    """

    calculator: str
    answers: tuple[str, ...]
    given: Mapping[str, str] = Field(default_factory=dict, alias="with")
    without: str


class Step(_Model):
    """One step. `say` is the full sentence, `title` the technician's short form."""

    id: str
    kind: StepKind
    title: str = ""
    say: str = ""
    check: str = ""
    good: str = ""
    why: str = ""
    more: str = ""
    caution: str = ""
    note: str = ""
    states: tuple[str, ...] = ()
    insist: str = ""
    yes: tuple[str, ...] = ()
    value: Value | None = None
    fact: str = ""
    minutes: Exact | None = None
    timer: str = ""
    calls: str = ""
    next: str = ""
    only_if: Mapping[str, str] = Field(default_factory=dict)
    sets: tuple[str, ...] = ()
    once: str = ""
    numbers: Mapping[str, Number] = Field(default_factory=dict)
    faults: tuple[Fault, ...] = Field(default=(), alias="fault")
    sources: tuple[str, ...] = ()


class Procedure(_Model):
    """A procedure: its goal, what it needs, and its steps in order.

    `needs` are states of the work that must hold; `before` are procedures done first on the same
    end of tube; `facts` are asked before the first step. `third` is said on the third pass.
    """

    id: str
    title: str
    goal: str
    names: tuple[str, ...]
    phrases: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    facts: tuple[str, ...] = ()
    smallest_size: Exact | None = None
    largest_size: Exact | None = None
    makes_joint: bool = False
    third: str = ""
    sources: tuple[str, ...] = ()
    steps: tuple[Step, ...] = Field(alias="step")

    @cached_property
    def by_id(self) -> Mapping[str, Step]:
        """Return the steps by id."""
        return {step.id: step for step in self.steps}

    def after(self, step: Step) -> str:
        """Return where a step leads when it is closed: its `next`, the following step, or end."""
        if step.next:
            return step.next
        position = self.steps.index(step)
        return self.steps[position + 1].id if position + 1 < len(self.steps) else END

    def targets(self, step: Step) -> tuple[tuple[str, Any], ...]:
        """Return every way out of a step: (where it leads, the fault that takes it or None)."""
        ways: list[tuple[str, Any]] = [(self.after(step), None)]
        ways.extend((fault.goto, fault) for fault in step.faults if fault.goto)
        return tuple(ways)


def split_target(target: str, procedure: str) -> tuple[str, str]:
    """Return (procedure, step) of a target; the step is empty for the first or for the end."""
    if target == END:
        return procedure, END
    if "/" in target:
        other, step = target.split("/", 1)
        return other, step
    return procedure, target
