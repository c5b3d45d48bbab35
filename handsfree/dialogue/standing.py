"""States of the work: set with evidence, ended by time, by a break or by a word, asked for first.

A procedure goes on only while everything that it needs holds. Where something does not, the
procedure that sets it is put on top, and when that one has ended the work comes back.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from handsfree.dialogue import places
from handsfree.dialogue.turn import Turn
from handsfree.procedures.model import Step
from handsfree.quantity import Reading, written
from handsfree.record import entries as record

MINUTE, HOUR = 60.0, 3600.0


def expire(turn: Turn) -> None:
    """End every state of the work whose time is over, or that a break has ended."""
    last = turn.job.last
    silence = 0.0 if last is None else (turn.at - last).total_seconds()
    for name, flag in turn.job.flags.items():
        if flag.expires is not None and turn.at >= flag.expires:
            end(turn, name, "time")
        elif flag.after_break is not None and silence > flag.after_break:
            end(turn, name, "break")


def end(turn: Turn, name: str, reason: str) -> None:
    """Write that a state of the work no longer holds, and say so."""
    if name in turn.job.flags:
        turn.write(record.FlagCleared, flag=name, reason=reason)
        turn.say_text(turn.library.flags[name].told)


def closed(turn: Turn, step: Step) -> None:
    """Change the states of the work as a closed step says."""
    for name in step.clears:
        if name in turn.job.flags:
            turn.write(record.FlagCleared, flag=name, reason=step.title or step.id)
    read = [r for r in turn.job.values.values() if step.value and r.name == step.value.name]
    shown = written(read[-1].value) if read and isinstance(read[-1].value, Reading) else ""
    begin(turn, step.sets, shown or turn.words or step.title)


def begin(turn: Turn, names: Iterable[str], evidence: str) -> None:
    """Write that states of the work hold from now on, for as long as each one does."""
    for name in names:
        flag = turn.library.flags[name]
        hours, after = flag.hours, flag.after_break
        turn.write(
            record.FlagSet,
            flag=name,
            evidence=evidence,
            expires=None if hours is None else turn.at + timedelta(seconds=float(hours) * HOUR),
            after_break=None if after is None else float(after) * MINUTE,
        )


def missing(turn: Turn) -> str | None:
    """Return the first state of the work that the procedure in hand needs and has not."""
    if not turn.job.place:
        return None
    procedure = turn.library.procedures.get(turn.job.place[-1].procedure)
    if procedure is None:
        return None
    held = turn.job.flags
    unless = (f for f, others in procedure.needs_unless.items() if held.keys().isdisjoint(others))
    now = (f for f, others in procedure.needs_while.items() if not held.keys().isdisjoint(others))
    return next((flag for flag in (*procedure.needs, *unless, *now) if flag not in held), None)


def require(turn: Turn) -> None:
    """Put what sets a missing state of the work on top, until nothing is missing in hand."""
    pushed = ""
    while (flag := missing(turn)) is not None:
        name, step = turn.library.flags[flag].beginning()
        setter = turn.library.procedures[name]
        place = (*places.resting(turn.job.place), places.opened(setter, step))
        turn.write(record.ProcedureStarted, procedure=setter.id, place=place)
        pushed = setter.title
    if pushed:
        turn.say("needs_first", procedure=pushed)
