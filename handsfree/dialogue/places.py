"""Places: where the open procedures stand, and where a step or a fault leads. Pure look-ups."""

from __future__ import annotations

from collections.abc import Iterator

from handsfree.library import Library
from handsfree.procedures.model import END, Procedure, Step, split_target
from handsfree.record.entries import Frame, Place


def opened(procedure: Procedure, step: str = "") -> Frame:
    """Return a frame that stands at a step of a procedure (default: its first)."""
    return Frame(procedure=procedure.id, step=step or procedure.steps[0].id)


def at(place: Place, phase: str) -> Place:
    """Return the place with its last frame waiting for something else."""
    return (*place[:-1], place[-1].model_copy(update={"phase": phase}))


def advanced(place: Place, step: Step, library: Library) -> Place:
    """Return the place after a step is closed, with the procedure that it calls opened.

    A frame at `end` is finished; `finished` takes it off.
    """
    procedure = library.procedures[place[-1].procedure]
    target = procedure.after(step)
    if step.calls:
        name, first = called(step)
        frame = place[-1].model_copy(update={"step": target, "phase": "act"})
        return (*place[:-1], frame, opened(library.procedures[name], first))
    return led(place, target, library)


def called(step: Step) -> tuple[str, str]:
    """Return the procedure that a step calls, and the step to begin at (empty: the first)."""
    name, _, first = step.calls.partition("/")
    return name, first


def led(place: Place, target: str, library: Library) -> Place:
    """Return the place that a target leads to.

    A step of the same procedure moves its frame. A procedure that an open one needs beforehand
    starts that open one again, with the target on top; an open procedure is gone back to; any
    other takes the place of the one in hand.
    """
    here = place[-1]
    name, step = split_target(target, here.procedure)
    if name == here.procedure:
        return (*place[:-1], Frame(procedure=name, step=step))
    wanted = opened(library.procedures[name], step)
    for depth in range(len(place) - 1, -1, -1):
        procedure = library.procedures[place[depth].procedure]
        if name in procedure.before:
            return (*place[:depth], opened(procedure), wanted)
        if place[depth].procedure == name:
            return (*place[:depth], wanted)
    return (*place[:-1], wanted)


def finished(place: Place) -> Iterator[tuple[str, Place]]:
    """Yield each procedure that has come to its end, innermost first, and the place after it."""
    while place and place[-1].step == END:
        name, place = place[-1].procedure, place[:-1]
        yield name, place


def holds_at(place: Place, library: Library) -> Iterator[Step]:
    """Yield the holds at which the procedures of a place stand."""
    for frame in place:
        procedure = library.procedures.get(frame.procedure)
        step = procedure.by_id.get(frame.step) if procedure is not None else None
        if step is not None and step.kind == "hold":
            yield step


def resting(place: Place) -> Place:
    """Return the place with every procedure waiting at the beginning of its step."""
    return tuple(frame.model_copy(update={"phase": "act"}) for frame in place)
