"""Steps that fail: which fault it is."""

from __future__ import annotations

from handsfree.dialogue.turn import Turn
from handsfree.dialogue.walking import await_phase, follow
from handsfree.procedures.model import Step

MOST_CHOICES = 3


def failed(turn: Turn, step: Step) -> None:
    """Take a failure: the one fault there is, or the question which one it is."""
    if not step.faults:
        await_phase(turn, step, "act")
        turn.say("stay" if step.kind in ("done", "seen", "stated") else "no_fault")
    elif len(step.faults) == 1:
        follow(turn, step, step.faults[0])
    else:
        await_phase(turn, step, "branch")
        names = [one.name for one in step.faults[:MOST_CHOICES]]
        turn.say("what_do_you_see", faults=", ".join(names[:-1]) + f" or {names[-1]}")
