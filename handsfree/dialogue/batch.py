"""Several steps told to be done at once: closed up to the first that must be heard or read."""

from __future__ import annotations

from handsfree.dialogue import steps
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.walking import applies, close, prompt
from handsfree.library import Library
from handsfree.procedures.model import Step
from handsfree.record.entries import Place


def batch(turn: Turn, wanted: str) -> None:
    """Close actions and checks up to the end of a procedure; whatever else is met stops it.

    An apprentice closes one step at a time.
    """
    step = step_in_hand(turn.state, turn.library)
    if step is None:
        turn.say("nothing_open")
        return
    if turn.job.mode == "apprentice":
        steps.done(turn, step, loose=False)
        return
    if wanted not in _on_the_way(turn.job.place, turn.library):
        turn.say("not_on_the_way", procedure=turn.library.procedures[wanted].title)
        return
    closed = _close_up_to(turn, wanted)
    if closed:
        titles = [turn.library.procedures[name].title.lower() for name in closed]
        turn.say("closing", procedures=" and ".join(titles))
    prompt(turn)


def _close_up_to(turn: Turn, wanted: str) -> list[str]:
    """Close steps until the wanted procedure has ended or a step stops it; return whose."""
    closed: list[str] = []
    met = False
    while turn.job.place:
        here = turn.job.place[-1].procedure
        met = met or here == wanted
        if met and wanted not in {frame.procedure for frame in turn.job.place}:
            break
        step = step_in_hand(turn.state, turn.library)
        if step is None or not (step.kind == "call" or _closes(turn, step)):
            break
        close(turn, step, _how(step), say_next=False)
        if here not in closed:
            closed.append(here)
    return closed


def _how(step: Step) -> str:
    return {"call": "called", "seen": "seen"}.get(step.kind, "done")


def _closes(turn: Turn, step: Step) -> bool:
    """Return whether a step may be closed unheard: an action or a check that sets no state.

    A verdict must be heard: it may be one that sends the work back.
    """
    stateless = not step.sets and not step.clears and step.verdict is None
    plain = step.kind in ("done", "seen") and stateless
    return plain and applies(turn, step) and turn.job.place[-1].phase in ("act", "check")


def _on_the_way(place: Place, library: Library) -> set[str]:
    """Return the procedures that the work in hand is in, comes from or leads into."""
    found: set[str] = set()
    waiting = [frame.procedure for frame in place]
    while waiting:
        name = waiting.pop()
        if name in found or name not in library.procedures:
            continue
        found.add(name)
        procedure = library.procedures[name]
        waiting.extend(procedure.before)
        waiting.extend(step.calls.partition("/")[0] for step in procedure.steps if step.calls)
    return found
