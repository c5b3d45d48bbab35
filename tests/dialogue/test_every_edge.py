"""Every way out of every step is walked in a conversation: closed as it should be, or by a fault.

The walk of a procedure goes from step to step by what a person would say, and to the nearest way
that was not walked yet. A procedure that is called or asked for first is taken as done on the
spot: it has a walk of its own.
"""

from __future__ import annotations

from collections import deque
from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest

from handsfree.dialogue import walking
from handsfree.dialogue.effects import Effect, View, Write
from handsfree.dialogue.engine import advance
from handsfree.dialogue.events import Tick, Typed
from handsfree.dialogue.folding import fold
from handsfree.dialogue.places import resting
from handsfree.dialogue.state import State, fact_key, size_key
from handsfree.dialogue.turn import Turn
from handsfree.language.grammar import parse_phrase, sentences
from handsfree.library import Library, library
from handsfree.procedures.model import END, Procedure, Step, split_target
from handsfree.quantity import Kind, Reading, inches, written
from handsfree.record import entries as record
from handsfree.record.entries import Frame

LIBRARY = library()
AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
BARE = {
    "length": "eight inches", "angle": "forty five degrees", "gauge pressure": "ten psi",
    "vacuum": "four hundred microns", "temperature": "seventy fahrenheit",
    "temperature difference": "ten fahrenheit", "torque": "forty newton metres",
    "mass": "twenty pounds", "mass per length": "half an ounce a foot", "flow": "three cfm",
    "time": "twenty minutes", "count": "six", "volume": "forty cubic feet",
    "ratio": "zero point eight",
}  # fmt: skip
IN_BAND = {
    "projection": "one point nine millimetres", "flare_diameter": "thirteen millimetres",
    "slack": "four inches", "cut_off": "a quarter inch", "proud": "a half inch",
    "nitrogen_flow": "three cubic feet an hour", "purge": "thirty seconds",
    "flattening": "a thirty second", "angle_made": "ninety degrees", "liquid_size": "three eighths",
    "gas_line_size": "five eighths", "hub_depth": "forty millimetres",
    "widest": "nine and a half millimetres", "narrowest": "nine millimetres",
    "lift": "a half inch", "lifted_leg": "ten inches", "gap": "three thou",
    "wrench": "three hundred millimetres", "extension": "fifty millimetres",
    "bottle": "forty cubic feet", "lagging": "a half inch", "wall": "nine inches",
    "bottle_left": "two thousand psi", "held_by_lines": "three hundred cubic inches",
    "offcut": "twenty inches", "first_leg": "ten and seven thirty seconds",
    "second_leg": "ten and seven thirty seconds", "new_flare": "a quarter inch",
    "radius_taken": "one inch", "between": "three inches", "longest_line": "fifty feet",
    "line_length": "forty five feet", "suction_temperature": "sixty fahrenheit",
    "suction_pressure": "one hundred eighteen psi", "liquid_pressure": "three hundred psi",
    "liquid_temperature": "eighty fahrenheit",
}  # fmt: skip
SUITED = {
    "vacuum_limit": Reading(500, "micron", Kind.VACUUM),
    "charge_rate": Reading(Fraction(3, 5), "ounce_per_foot", Kind.MASS_PER_LENGTH),
    "longest_line": Reading(100, "foot", Kind.LENGTH),
}
"""Facts that a verdict or a sum of the walk can be made with."""
LISTED = {"legs": 3, "turns": 2}
"""How many of a list are said, where it is not one: a piece has one leg more than it has bends."""
Edge = tuple[str, str]
"""A step and the fault that leaves it; an empty name where it is closed."""


def edges(procedure: Procedure) -> set[Edge]:
    found = {(step.id, "") for step in procedure.steps}
    return found | {(step.id, fault.name) for step in procedure.steps for fault in step.faults}


class Walk:
    """One conversation in a procedure."""

    def __init__(self, known: Library, procedure: Procedure, facts: dict[str, str]) -> None:
        self.known, self.procedure, self.at = known, procedure, AT
        self.given = facts
        self.seen: set[Edge] = set()
        self.state = State()
        self.begin()

    def begin(self) -> None:
        """Stand at the first step of a new job in which everything that is needed holds."""
        self.state = State()
        size = inches(3 / 8)
        for name, fact in self.known.facts.items():
            value = self.given.get(name) or next(iter(fact.options), "")
            held: Reading | str = value
            asked_here = any(step.fact == name for step in self.procedure.steps)
            own = any(s.value and s.value.fact == name for s in self.procedure.steps)
            if name not in self.given and (asked_here or own) and name != "size":
                continue
            if not fact.options and not fact.words:
                plain = Reading(20, fact.unit, Kind(str(fact.kind)))
                held = size if name == "size" else SUITED.get(name, plain)
            if name == "mode" and "mode" not in self.given:
                continue
            key = fact_key(name, size_key(size) if fact.per == "size" else "")
            self._write(record.FactSet, name=key, value=held)
        self._write(record.BenderSet, size=size, radius=inches(15 / 16))
        for flag in self.procedure.needs_first:
            self._write(record.FlagSet, flag=flag, evidence="walk")
        self.stand(self.procedure.steps[0].id)

    def _write(self, form: type, **content: object) -> None:
        job = fold(self.state.job, form(at=self.at, **content))
        self.state = State(job, self.state.moment)

    def stand(self, step: str) -> None:
        frame = Frame(procedure=self.procedure.id, step=step)
        self._write(record.ProcedureStarted, procedure=self.procedure.id, place=(frame,))
        self._prompt()

    def _prompt(self) -> None:
        turn = Turn(self.state, self.known, self.at)
        walking.prompt(turn)
        self.state, effects = turn.result(View(), None)
        self._mark(effects)
        self._come_back()

    def _come_back(self) -> None:
        """Take whatever lies on top of the procedure as done."""
        mine = self.procedure.id
        while len(self.state.job.place) > 1 and self.state.job.place[0].procedure == mine:
            for flag in self.procedure.needs_first:
                if flag not in self.state.job.flags:
                    self._write(record.FlagSet, flag=flag, evidence="walk")
            top = self.state.job.place[-1].procedure
            below = resting(self.state.job.place[:1])
            self._write(record.ProcedureEnded, procedure=top, complete=True, place=below)
            turn = Turn(self.state, self.known, self.at)
            walking.finish(turn)
            walking.prompt(turn)
            self.state, effects = turn.result(View(), None)
            self._mark(effects)

    @property
    def step(self) -> Step | None:
        place = self.state.job.place
        if len(place) != 1 or place[0].procedure != self.procedure.id:
            return None
        return self.procedure.by_id.get(place[0].step)

    def say(self, text: str) -> None:
        self.at += timedelta(seconds=4)
        self.state, effects = advance(self.state, Typed(text, self.at), self.known)
        self._mark(effects)

    def _mark(self, effects: tuple[Effect, ...]) -> None:
        for effect in effects:
            entry = effect.entry if isinstance(effect, Write) else None
            if isinstance(entry, record.StepClosed) and entry.procedure == self.procedure.id:
                self.seen.add((entry.step, ""))
            if isinstance(entry, record.Reworked) and entry.procedure == self.procedure.id:
                self.seen.add((entry.step, entry.fault))
            if isinstance(entry, record.Refused) and entry.what == self.procedure.id:
                for step in self.procedure.steps:
                    if step.kind == "halt" and entry.reason == step.title:
                        self.seen.add((step.id, ""))
                    stops = [f.name for f in step.faults if f.stops and f.name == entry.reason]
                    self.seen.update((step.id, name) for name in stops)

    def take(self, edge: Edge) -> None:
        """Say what takes this way out of the step in hand."""
        step = self.procedure.by_id[edge[0]]
        if edge[1]:
            fault = next(fault for fault in step.faults if fault.name == edge[1])
            self.say(" ".join(next(iter(sentences(parse_phrase(fault.words[0]), {})))))
        else:
            self._close(step)
        self._come_back()

    def _close(self, step: Step) -> None:
        match step.kind:
            case "done":
                self.say("done")
                if self.state.job.place and self.state.job.place[-1].phase == "check":
                    self.say("yes")  # an apprentice looks what good looks like
            case "seen":
                if self.state.job.place[-1].phase == "act":
                    self.say("done")
                self.say("yes")
            case "stated":
                self.say(" ".join(next(iter(sentences(parse_phrase(step.states[0]), {})))))
            case "hold":
                self.say("done")
                self.at += timedelta(hours=1)
                self.state, effects = advance(self.state, Tick(self.at), self.known)
                self._mark(effects)
                self.say("done")
            case "fact":
                fact = self.known.facts[step.fact]
                words = next(iter(fact.options.values()), ("",))[0]
                number = IN_BAND.get(step.fact) or BARE.get(str(fact.kind), "seven three")
                self.say(words or number)
            case "value":
                self._value(step)

    def _value(self, step: Step) -> None:
        asked = step.value
        assert asked is not None
        pending = self.state.job.pending
        if self.state.job.place[-1].phase == "confirm":
            repeated = asked.repeated and isinstance(pending, Reading)
            self.say(written(pending) if repeated else "yes")  # type: ignore[arg-type]
            return
        if asked.kind == "words":
            self.say("seven three")
        else:
            for _ in range(LISTED.get(asked.name, 1)):
                self.say(IN_BAND.get(asked.name) or BARE[str(asked.kind)])
        if asked.many:
            self.say("done")
        self.say(IN_BAND.get(asked.name) or BARE[str(asked.kind)] if asked.repeated else "yes")


def ways(walk: Walk, wanted: set[Edge]) -> list[Edge]:
    """Return the shortest way from the step in hand to a wanted edge, that edge included."""
    start = walk.step
    if start is None:
        return []
    procedure = walk.procedure
    waiting: deque[tuple[str, list[Edge]]] = deque([(start.id, [])])
    met = {start.id}
    while waiting:
        here, path = waiting.popleft()
        step = procedure.by_id[here]
        if any(walk.given.get(name, value) != value for name, value in step.only_if.items()):
            step_after = procedure.after(step)
            if step_after != END and step_after not in met:
                met.add(step_after)
                waiting.append((step_after, path))
            continue
        for target, fault in procedure.targets(step):
            edge = (here, fault.name if fault else "")
            if edge in wanted:
                return [*path, edge]
            owner, to = split_target(target, procedure.id)
            if owner == procedure.id and to != END and to not in met:
                met.add(to)
                waiting.append((to, [*path, edge]))
        for fault in step.faults:
            if (here, fault.name) in wanted:
                return [*path, (here, fault.name)]
    return []


def variants(procedure: Procedure) -> list[dict[str, str]]:
    """Return the facts with which every step of a procedure applies at one time or another."""
    found: list[dict[str, str]] = [{}]
    for step in procedure.steps:
        if step.only_if and dict(step.only_if) not in found:
            found.append(dict(step.only_if))
    return found


def walked(procedure: Procedure, known: Library) -> set[Edge]:
    seen: set[Edge] = set()
    for facts in variants(procedure):
        walk = Walk(known, procedure, facts)
        walk.seen |= seen
        for _ in range(4 * len(edges(procedure))):
            wanted = edges(procedure) - walk.seen
            if not wanted:
                break
            path = ways(walk, wanted)
            if not path:
                walk.begin()
                path = ways(walk, wanted)
                if not path:
                    break
            for edge in path:
                if walk.step is not None and walk.step.id == edge[0]:
                    walk.take(edge)
        seen = walk.seen
    return seen


@pytest.mark.parametrize("name", sorted(LIBRARY.procedures))
def test_every_way_out_of_every_step_is_walked(name: str) -> None:
    procedure = LIBRARY.procedures[name]
    wanted = edges(procedure)
    seen = walked(procedure, LIBRARY) & wanted
    print(f"{name}: {len(seen)} of {len(wanted)} ways walked")  # noqa: T201 - the coverage is asked for
    assert wanted - seen == set()
