"""Scripted conversations: the replay form of the documents and of the conversation tests.

# a comment                         @fact dimension_to = centre
> what is heard                     @bender 3/8 radius=15/16 between=1-1/4 grip=1 indexes=yes
< what must be said (tests)         @flag isolated      @at cut/5
! intent=… outcome=… (tests)        @clock +60s         @worker Sam
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from typing import Any

from handsfree.dialogue import walking
from handsfree.dialogue.effects import Effect, Say
from handsfree.dialogue.engine import advance
from handsfree.dialogue.events import Alternative, Heard, Spoken, Tick
from handsfree.dialogue.folding import fold
from handsfree.dialogue.slots import fact_rule
from handsfree.dialogue.state import State, fact_key, size_key
from handsfree.dialogue.telling import Told, tell
from handsfree.dialogue.turn import Turn
from handsfree.errors import HandsfreeError
from handsfree.language.numbers import readings
from handsfree.language.tokens import tokenise
from handsfree.library import Library
from handsfree.quantity import Kind, Reading
from handsfree.record import entries as record
from handsfree.record.entries import Frame

START = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)
"""When a script begins, unless it is told otherwise: scripts must give the same each day."""
BETWEEN_LINES = timedelta(seconds=3)


class ScriptError(HandsfreeError):
    """A line of a script cannot be read; the text says which and what to write."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a script: its number, its mark (`>`, `<`, `!`, `@`), and the rest."""

    number: int
    mark: str
    text: str


def read_script(text: str) -> Iterator[Line]:
    """Yield the lines of a script that say something; raises `ScriptError`."""
    for number, raw in enumerate(text.splitlines(), start=1):
        line = raw.strip()
        if not line or line.startswith("#"):
            continue
        if line[0] not in "><!@":
            raise ScriptError(f"Line {number}: a line begins with > < ! @ or #.")
        body = line[1:].strip()
        if line[0] == "@":
            body = re.sub(r"\s+#.*$", "", body)
        yield Line(number, line[0], body)


def _beat(left: timedelta) -> timedelta:
    """Return how far the clock goes at once: a long wait is looked at a minute at a time."""
    hour, minutes = timedelta(hours=1), timedelta(minutes=5)
    return hour if left > hour else timedelta(minutes=1) if left > minutes else timedelta(seconds=5)


class Player:
    """Plays a script: keeps the state and the clock, and gives what each heard line came to."""

    def __init__(self, library: Library, at: datetime = START) -> None:
        self.library = library
        self.state = State()
        self.at = at

    def hear(self, text: str) -> tuple[Told, tuple[Effect, ...]]:
        """Hear a sentence for certain, and return what came of it."""
        before = self.state
        event = Heard((Alternative(text),), self.at)
        self.state, effects = advance(before, event, self.library)
        self._said(effects)
        told = tell(text, before, self.state, effects, self.library)
        self.at += BETWEEN_LINES
        return told, effects

    def _said(self, effects: Iterable[Effect]) -> None:
        """Let what is to be said be said at once."""
        last = max((e.id for e in effects if isinstance(e, Say)), default=0)
        if last:
            self.state, _ = advance(self.state, Spoken(last, self.at), self.library)

    def set(self, line: Line) -> tuple[Effect, ...]:
        """Carry out an `@` line; raises `ScriptError` where it cannot be read."""
        name, _, rest = line.text.partition(" ")
        ways: dict[str, Callable[[str], tuple[Effect, ...] | None]] = {
            "fact": self._fact,
            "bender": self._bender,
            "flag": lambda flag: self._write(record.FlagSet, flag=flag, evidence="script"),
            "at": self._stand,
            "clock": self._clock,
            "worker": lambda worker: self._write(record.WorkerNamed, name=worker),
        }
        if name not in ways:
            raise ScriptError(f"Line {line.number}: '@{name}' is not known; see the replay form.")
        try:
            return ways[name](rest.strip()) or ()
        except (ScriptError, KeyError, ValueError) as error:
            raise ScriptError(f"Line {line.number}: @{line.text}: {error}.") from error

    def _write(self, form: type[Any], **content: Any) -> None:
        job = fold(self.state.job, form(at=self.at, worker=self.state.job.worker, **content))
        self.state = State(job, self.state.moment)

    def _fact(self, text: str) -> None:
        name, equals, value = (part.strip() for part in text.partition("="))
        fact = self.library.facts[name]
        if not equals or not value:
            raise ScriptError("write @fact name = value")
        held: Reading | str
        if value in fact.options:
            held = value
        elif fact.options:
            raise ScriptError(f"one of {', '.join(fact.options)}")
        else:
            held = self._reading(value, fact_rule(name, fact), Kind(str(fact.kind)), fact.unit)
        size = self.state.job.facts.get("size")
        per = size_key(size) if fact.per == "size" and isinstance(size, Reading) else ""
        self._write(record.FactSet, name=fact_key(name, per), value=held, words=value)

    def _reading(self, text: str, rule: str, kind: Kind, unit: str) -> Reading:
        found = readings(tokenise(text), rule)
        if not found:
            raise ScriptError(f"'{text}' is not a {kind}")
        return Reading(found[0].value, found[0].unit or unit, kind)

    def _bender(self, text: str) -> None:
        size, *settings = text.split()
        values: dict[str, Any] = {"size": self._reading(size, "length", Kind.LENGTH, "inch")}
        for setting in settings:
            name, _, value = setting.partition("=")
            fact = self.library.facts.get(name)
            if fact is None or not fact.bender:
                known = (name for name, fact in self.library.facts.items() if fact.bender)
                raise ScriptError(f"a bender has {', '.join(known)}")
            if fact.options:
                values[name] = value == "yes"
            else:
                rule = fact_rule(name, fact)
                values[name] = self._reading(value, rule, Kind(str(fact.kind)), fact.unit)
        self._write(record.BenderSet, **values)

    def _stand(self, text: str) -> None:
        """Stand at a step, its prompt just said; what its procedure needs holds."""
        name, _, step = text.partition("/")
        if step not in self.library.procedures[name].by_id:
            raise ScriptError(f"'{step}' is not a step of {name}")
        for flag in self.library.procedures[name].needs_first:
            if flag not in self.state.job.flags:
                self._write(record.FlagSet, flag=flag, evidence="script")
        place = (Frame(procedure=name, step=step),)
        self._write(record.ProcedureStarted, procedure=name, place=place)
        turn = Turn(self.state, self.library, self.at)
        walking.prompt(turn)
        self.state = turn.state
        said = self.state.moment.sentences
        self.state, _ = advance(self.state, Spoken(said, self.at), self.library)

    def _clock(self, text: str) -> tuple[Effect, ...]:
        found = re.fullmatch(r"\+(\d+(?:\.\d+)?)(s|min|h)", text.strip())
        if found is None:
            raise ScriptError("write @clock +60s, +5min or +2h")
        seconds = Fraction(found[1]) * {"s": 1, "min": 60, "h": 3600}[found[2]]
        end, effects = self.at + timedelta(seconds=float(seconds)), list[Effect]()
        while self.at < end:
            self.at = min(end, self.at + _beat(end - self.at))
            self.state, new = advance(self.state, Tick(self.at), self.library)
            effects.extend(new)
            self._said(new)
        return tuple(effects)


def played(player: Player, text: str) -> Iterator[tuple[Line, Told | None, tuple[Effect, ...]]]:
    """Yield each `@` and `>` line of a script as it is played, and what came of it."""
    for line in read_script(text):
        if line.mark == "@":
            yield line, None, player.set(line)
        elif line.mark == ">":
            yield line, *player.hear(line.text)
