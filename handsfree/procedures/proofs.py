"""What holds on every way through the procedures: states of the work, and words said in time.

Each proof walks a graph once to its fixed point. What is asked of a step is asked of every way
that leads to it: from the first step, from a step of another procedure, from a state that is
asked for. A step that may not apply (`only_if`) proves nothing, and neither does one that can be
skipped: steps that set a state, and challenges, cannot be.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from handsfree.errors import DataError
from handsfree.procedures.marking import fault_at
from handsfree.procedures.model import END, Fault, Flag, Hazard, Procedure, Step, split_target

Found = Mapping[str, tuple[str, Procedure]]
Holding = frozenset[str]


@dataclass(frozen=True)
class Graph:
    """All procedures, with the states of the work and the moments that they speak of."""

    found: Found
    texts: Mapping[str, str]
    flags: Mapping[str, Flag]
    hazards: Mapping[str, Hazard]

    def entries(self, name: str) -> set[str]:
        """Return every step at which a procedure can be entered."""
        procedure = self.found[name][1]
        steps = {procedure.steps[0].id}
        for _, other in self.found.values():
            for step in other.steps:
                for target in (step.next, step.calls, *(one.goto for one in step.faults)):
                    owner, entered = split_target(target, "")
                    if owner == name and entered:
                        steps.add(entered)
        for flag in self.flags.values():
            owner, entered = flag.beginning()
            if owner == name and entered:
                steps.add(entered)
        return steps & set(procedure.by_id)

    def leads_below(self, name: str) -> set[str]:
        """Return what can lie on a procedure: called, done before, or setting a state."""
        procedure = self.found[name][1]
        below = {split_target(step.calls, step.calls)[0] for step in procedure.steps if step.calls}
        below.update(procedure.before)
        below.update(self.flags[flag].beginning()[0] for flag in procedure.ever_needs)
        return below & set(self.found)


Carry = Callable[[Step, Fault | None, Holding], Holding]


def holding(
    procedure: Procedure, entries: Mapping[str, Holding], carry: Carry
) -> dict[str, Holding]:
    """Return what holds at each step on every way from the entries; `end` stands for the end.

    `carry` gives what holds after a step left in a way: closed (None) or by a fault.
    """
    at: dict[str, Holding] = dict(entries)
    waiting = list(entries)
    while waiting:
        step = procedure.by_id[waiting.pop()]
        if step.kind == "halt" and not step.only_if:
            continue
        for target, fault in procedure.targets(step):
            owner, to = split_target(target, procedure.id)
            if owner != procedure.id:
                to = END
            after = carry(step, fault, at[step.id])
            if to in at:
                after &= at[to]
            if at.get(to) != after:
                at[to] = after
                if to != END:
                    waiting.append(to)
    return at


def _flags_carried(graph: Graph) -> Carry:
    always: dict[str, Holding] = {}

    def set_by(name: str, entry: str) -> Holding:
        key = f"{name}/{entry}"
        if key not in always:
            always[key] = frozenset()
            procedure = graph.found[name][1]
            first = entry or procedure.steps[0].id
            always[key] = holding(procedure, {first: frozenset()}, carry).get(END, frozenset())
        return always[key]

    def carry(step: Step, fault: Fault | None, before: Holding) -> Holding:
        if fault is not None:
            return (before - set(fault.clears)) | set(fault.sets)
        after = before - set(step.clears)
        if step.only_if:
            return after
        if step.calls:
            name, entry = split_target(step.calls, step.calls)
            entry = "" if name == step.calls else entry
            if name in graph.found:
                after = (after - _cleared(graph, name)) | set_by(name, entry)
        return after | set(step.sets)

    return carry


def _cleared(graph: Graph, name: str) -> set[str]:
    """Return the states that a procedure may end, itself or by what it calls."""
    found: set[str] = set()
    for one in (name, *reached({n: graph.leads_below(n) for n in graph.found}, name)):
        for step in graph.found[one][1].steps:
            found.update(step.clears, *(fault.clears for fault in step.faults))
    return found


def reached(ways: Mapping[str, set[str]], start: str) -> set[str]:
    """Return everything that can be come to from a start, with it."""
    seen, waiting = {start}, [start]
    while waiting:
        for target in ways.get(waiting.pop(), ()):
            if target not in seen:
                seen.add(target)
                waiting.append(target)
    return seen


def prove(graph: Graph) -> list[DataError]:
    """Return what cannot be proven of the procedures together."""
    faults: list[DataError] = []
    rings = list(_rings(graph))
    faults.extend(rings)
    for name in graph.found:
        faults.extend(_hazards(graph, name))
        if not rings:
            faults.extend(_states(graph, name))
    if not rings:
        asked = {flag for _, procedure in graph.found.values() for flag in procedure.ever_needs}
        for flag in sorted(asked):
            faults.extend(_setter(graph, flag))
    return faults


def _rings(graph: Graph) -> Iterator[DataError]:
    """No procedure is put on top of itself, by any way."""
    below = {name: graph.leads_below(name) for name in graph.found}
    for name, (file, _) in graph.found.items():
        around: set[str] = set().union(*(reached(below, other) for other in below[name]))
        if name in around:
            yield fault_at(file, graph.texts[file], None, f"'{name}' calls itself in a ring")


def _states(graph: Graph, name: str) -> Iterator[DataError]:
    """Yield a fault where what a step needs does not hold on every way to it."""
    file, procedure = graph.found[name]
    entries = dict.fromkeys(graph.entries(name), frozenset(procedure.needs))
    at = holding(procedure, entries, _flags_carried(graph))
    for step in procedure.steps:
        ended = set(step.clears) & set(procedure.needs)
        if ended and procedure.after(step) != END:
            hint = "Clear it at the last step, or the procedure that sets it comes again."
            problem = f"it ends '{min(ended)}', which the steps after it need"
            yield fault_at(file, graph.texts[file], step, problem, hint, "clears")
        for flag in step.needs:
            if flag not in at.get(step.id, frozenset()):
                hint = "Set it on every way here, or put it into the procedure's needs."
                problem = f"a way leads here on which '{flag}' does not hold"
                yield fault_at(file, graph.texts[file], step, problem, hint, flag)


def _setter(graph: Graph, flag: str) -> Iterator[DataError]:
    """Yield a fault where the procedure that sets a state can end without setting it."""
    name, entry = graph.flags[flag].beginning()
    if name not in graph.found:
        return
    file, procedure = graph.found[name]
    first = entry or procedure.steps[0].id
    if first not in procedure.by_id:
        problem = f"flags.toml begins '{flag}' at step '{first}', which is not here"
        yield fault_at(file, graph.texts[file], None, problem)
        return
    at = holding(procedure, {first: frozenset()}, _flags_carried(graph))
    if flag not in at.get(END, frozenset((flag,))):
        hint = "Every way to the end must pass a step with it in `sets`."
        yield fault_at(file, graph.texts[file], None, f"it can end without setting '{flag}'", hint)


def _hazards(graph: Graph, name: str) -> Iterator[DataError]:
    """Yield a fault where a way leads to an act round the words that go before it."""
    file, procedure = graph.found[name]

    def carry(step: Step, fault: Fault | None, before: Holding) -> Holding:
        if step.only_if:
            return before
        said = {
            hazard
            for hazard in step.warns
            if not graph.hazards[hazard].stated or (step.kind == "stated" and fault is None)
        }
        return before | said

    entries: dict[str, Holding] = dict.fromkeys(graph.entries(name), frozenset())
    at = holding(procedure, entries, carry)
    for step in procedure.steps:
        text = graph.texts[file]
        for hazard in step.warns:
            known = graph.hazards[hazard]
            told = f"{step.caution} {step.say} {step.check} {step.insist}".lower()
            if known.words.lower() not in told:
                hint = f"It must hold: {known.words}"
                yield fault_at(file, text, step, f"its words do not warn of '{hazard}'", hint)
            if known.stated and step.kind != "stated":
                yield fault_at(file, text, step, f"'{hazard}' is answered in a 'stated' step")
        for hazard in step.hazard:
            warned = at.get(step.id, frozenset()) | set(step.warns)
            if hazard not in warned:
                hint = "Put the words before it on every way, with `warns`."
                problem = f"a way leads to this act round its caution '{hazard}'"
                yield fault_at(file, text, step, problem, hint)


def deepest(graph: Graph) -> tuple[str, ...]:
    """Return the longest pile of open procedures that the files allow, outermost first."""

    def pile(name: str) -> tuple[str, ...]:
        piles = [pile(other) for other in graph.leads_below(name)]
        return (name, *max(piles, key=len, default=()))

    return max((pile(name) for name in graph.found), key=len, default=())
