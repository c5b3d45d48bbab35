"""The form of a procedure: a graph of steps, one TOML file each.

A step is said, answered in the way of its kind, and leads on:

    done    finished when told so                    seen    a check is answered yes or no
    value   a reading, read back and confirmed       stated  the named state is said in words
    hold    time must pass                           fact    asked once a job
    call    nothing is asked: another procedure runs, and then the next step
    halt    it is said that the work ends here, and why; everything open is left

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
StepKind = Literal["done", "seen", "value", "stated", "hold", "fact", "call", "halt"]
Exact = Annotated[Fraction, BeforeValidator(lambda text: Fraction(str(text)))]


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Fault(_Model):
    """What can go wrong at a step: how it is told, what is answered, and where the work goes.

    A fault with `counts` is a rework: its passes are counted, and the third says so. One with
    `stops` ends the work. `clears` are states of the work that no longer hold when it happens,
    `sets` those that hold from then on.
    """

    name: str
    words: tuple[str, ...]
    say: str = ""
    goto: str = ""
    counts: bool = False
    stops: bool = False
    clears: tuple[str, ...] = ()
    sets: tuple[str, ...] = ()


Taken = str | tuple[str, ...]


class Working(_Model):
    """A calculator asked with what the job knows, so that nothing is told twice.

    `with` gives slots besides the job's facts: words of a choice, or figures in the unit that the
    calculator assumes. `takes` fills slots with values read in this procedure or in another
    (slot = "name", or "procedure/name"), or with facts of other names; several names make one slot
    of several readings. `times` fills a slot with when such values were said, in minutes from the
    first of them.
    """

    calculator: str
    given: Mapping[str, Taken] = Field(default_factory=dict, alias="with")
    takes: Mapping[str, Taken] = Field(default_factory=dict)
    times: Mapping[str, tuple[str, ...]] = Field(default_factory=dict)

    @property
    def taken(self) -> tuple[str, ...]:
        """Return the names of everything that is taken."""
        sources = (*self.takes.values(), *self.times.values())
        names = ((name,) if isinstance(name, str) else name for name in sources)
        return tuple(name for several in names for name in several)


class Number(Working):
    """A number in a step's sentence: an answer of a calculator that knows the job's facts.

    `without` is said in place of the number while a fact that the calculator needs is missing, or
    where no table holds it.
    """

    answers: tuple[str, ...]
    without: str


class Judged(Working):
    """A calculator whose sentence, or refusal, can show a fault of the step (`faults`)."""

    faults: Mapping[str, str] = Field(default_factory=dict)


class Counted(Judged):
    """A value that is worked out and only confirmed: the calculator's answer of that name.

    A fault that is shown is taken at once.
    """

    answer: str


class Verdict(Judged):
    """What a calculator says of the readings that were taken, told before a check is asked.

    Where it shows a fault, a yes to the check takes that fault and not the way on: the person
    agrees with the verdict. `without` is said where it cannot be worked out.
    """

    without: str


class Value(_Model):
    """The reading that a step asks for.

    `must` values cannot be skipped, and `repeated` ones are confirmed by saying the number again,
    never by a yes.
    `kind` is a kind of reading, or `words` for a name or a number on a label, kept as said.
    With `many`, readings are taken one after the other until "done", and read back as a list.
    `judge` names a calculator whose answer is told with the reading (in band or not), `at_most` a
    fact that the reading may not be over; `fault_sentences` ties what was told (`over_limit` for
    the fact) to a fault of the step, which a yes then takes. `fact`
    stores the value as a job fact of that name; where the fact is known already, it is read back
    instead of asked, and so is a value that is `counted`. `material` values are lengths of tube
    that go into the van.
    """

    name: str
    kind: Kind | Literal["words"]
    unit: str = ""
    must: bool = False
    repeated: bool = False
    many: bool = False
    fact: str = ""
    counted: Counted | None = None
    material: bool = False
    low: Exact | None = None
    high: Exact | None = None
    rule: str = ""
    judge: str = ""
    judge_slot: str = ""
    judge_with: Mapping[str, str] = Field(default_factory=dict)
    at_most: str = ""
    fault_sentences: Mapping[str, str] = Field(default_factory=dict)

    @property
    def grammar_rule(self) -> str:
        """Return the grammar rule that reads the value; words can be heard as figures only."""
        if self.kind == "words":
            return self.rule or "figures"
        return self.rule or self.kind.replace(" ", "_")

    def band(self) -> tuple[Reading, Reading] | None:
        """Return what is plausible, or None where nothing is said."""
        if self.low is None or self.high is None or self.kind == "words":
            return None
        return Reading(self.low, self.unit, self.kind), Reading(self.high, self.unit, self.kind)


class Step(_Model):
    """One step. `say` is the full sentence, `title` the technician's short form.

    `needs` are states of the work that hold by now on every way here; `sets` and `clears` change
    them when the step is closed. `hazard` names the moments of `data/hazards.toml` that this step
    is, `warns` those that it speaks of; a step that sets a state cannot be skipped. A hold takes
    `minutes`, or as long as the value or fact named by `lasts`. A call hands the facts of `gives`
    over: a fact and one of its words, or "{value}" for a value read here. A fact with
    `may_be_open` may stay unknown for now. `tells` adds what the record holds to the sentence;
    a `verdict` tells what a calculator makes of the readings before the check is asked.
    `only_if` are facts, and how much is told to who works, for which alone a step is said; one of
    the `first_joint` is said for the first joint of a day alone. After a step that `shapes` the
    tube, a dimension that is put right comes too late for it. A step that `inspects` is part of
    looking at the work of a joint.
    """

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
    may_be_open: bool = False
    minutes: Exact | None = None
    lasts: str = ""
    timer: str = ""
    calls: str = ""
    gives: Mapping[str, str] = Field(default_factory=dict)
    next: str = ""
    only_if: Mapping[str, str] = Field(default_factory=dict)
    first_joint: bool = False
    needs: tuple[str, ...] = ()
    sets: tuple[str, ...] = ()
    clears: tuple[str, ...] = ()
    hazard: tuple[str, ...] = ()
    warns: tuple[str, ...] = ()
    tells: Literal["", "record"] = ""
    shapes: Literal["", "cut", "bent"] = ""
    inspects: bool = False
    numbers: Mapping[str, Number] = Field(default_factory=dict)
    verdict: Verdict | None = None
    faults: tuple[Fault, ...] = Field(default=(), alias="fault")
    sources: tuple[str, ...] = ()

    @property
    def workings(self) -> tuple[Working, ...]:
        """Return every calculator that the step asks."""
        counted = self.value.counted if self.value is not None else None
        asked = (*self.numbers.values(), counted, self.verdict)
        return tuple(one for one in asked if one is not None)

    @property
    def timer_name(self) -> str:
        """Return the name under which a hold runs."""
        return self.timer or self.title.rstrip(".")


class Procedure(_Model):
    """A procedure: its goal, what it needs, and its steps in order.

    `needs` are states of the work that must hold, `needs_while` those that must while one of others
    does, `needs_unless` those that must while none of others does, `without` those that must not;
    `before` are procedures done first on the same end of tube; `facts` are asked before the first
    step. `did` are ways to say that all of it is done already. `third` is said on the third pass.
    What is read in a `part_of_joint` procedure belongs to the joint in hand, and goes into its
    entry. `makes_joint` is the kind of joint that stands finished at its end, one word: "flared".
    """

    id: str
    title: str
    goal: str
    names: tuple[str, ...]
    phrases: tuple[str, ...] = ()
    did: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    needs_while: Mapping[str, tuple[str, ...]] = Field(default_factory=dict)
    needs_unless: Mapping[str, tuple[str, ...]] = Field(default_factory=dict)
    without: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    facts: tuple[str, ...] = ()
    smallest_size: Exact | None = None
    largest_size: Exact | None = None
    makes_joint: str = ""
    part_of_joint: bool = False
    third: str = ""
    sources: tuple[str, ...] = ()
    steps: tuple[Step, ...] = Field(alias="step")

    @property
    def needs_first(self) -> tuple[str, ...]:
        """Return the states of the work that must hold while no other state of the work does."""
        return (*self.needs, *self.needs_unless)

    @property
    def ever_needs(self) -> tuple[str, ...]:
        """Return the states of the work that must hold at some time, whatever others do."""
        return (*self.needs_first, *self.needs_while)

    @cached_property
    def by_id(self) -> Mapping[str, Step]:
        """Return the steps by id."""
        return {step.id: step for step in self.steps}

    def after(self, step: Step) -> str:
        """Return where a step leads when it is closed: its `next`, the following step, or end."""
        if step.kind == "halt" and not step.only_if:
            return END
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


class Flag(_Model):
    """A state of the work: which procedure sets it, and when it no longer holds.

    `set_by` is a procedure, or a procedure and the step to begin at; `hours` after which it no
    longer holds, `after_break` minutes of silence after which it no longer does; `off` are
    sentences that end it; `told` is said when it has ended, `anew` when the job is opened again
    while it holds.
    """

    title: str
    set_by: str
    hours: Exact | None = None
    after_break: Exact | None = None
    off: tuple[str, ...] = ()
    told: str
    anew: str = ""
    sources: tuple[str, ...]

    def beginning(self) -> tuple[str, str]:
        """Return the procedure that sets it, and the step to begin at (empty: the first)."""
        name, _, step = self.set_by.partition("/")
        return name, step


class Hazard(_Model):
    """A moment at which something must be said: the words, and whether they must be answered.

    A `stated` hazard must have been answered in words on every way to its moment; any other must
    have been said. The words are what the caution, or the challenge, holds.
    """

    moment: str
    words: str
    stated: bool = False
    sources: tuple[str, ...]


class Stage(_Model):
    """A stage of a job: what is done in it, and which facts it cannot do without.

    It is done when all of its procedures are (or one, with `any_one`), or when told so by its
    `names`; `material` is what goes into the van besides the procedures' tools.
    """

    title: str
    names: tuple[str, ...]
    procedures: tuple[str, ...] = ()
    any_one: bool = False
    facts: tuple[str, ...] = ()
    material: tuple[str, ...] = ()
