"""Steps that fail: which fault it is, what it means, and where the work goes back to."""

from __future__ import annotations

from handsfree.dialogue import places, standing
from handsfree.dialogue.state import rework_key
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.walking import await_phase, fillings, finish, prompt
from handsfree.procedures.model import Fault, Step
from handsfree.record import entries as record

THIRD = 3
MOST_CHOICES = 3


def failed(turn: Turn, step: Step) -> None:
    """Take a failure: the one fault there is, or the question which one it is."""
    if not step.faults:
        await_phase(turn, step, "act")
        turn.say("stay" if step.kind in ("done", "seen", "stated") else "no_fault")
    elif len(step.faults) == 1:
        fault(turn, step, step.faults[0])
    else:
        await_phase(turn, step, "branch")
        names = [one.name for one in step.faults[:MOST_CHOICES]]
        turn.say("what_do_you_see", faults=", ".join(names[:-1]) + f" or {names[-1]}")


def fault(turn: Turn, step: Step, found: Fault) -> None:
    """Follow a fault: say what it means, count the pass, and go where it leads."""
    here = turn.job.place
    for flag in found.clears:
        standing.end(turn, flag, found.name)
    if found.say:
        turn.say_text(found.say, fillings(turn, step))
    if found.stops:
        turn.write(record.Refused, what=here[-1].procedure, reason=found.name, words=turn.words)
        turn.write(record.ProcedureEnded, procedure=here[-1].procedure, complete=False, place=())
        return
    if not found.goto:
        await_phase(turn, step, "act")
        return
    place = places.led(here, found.goto, turn.library)
    passes = turn.job.passes.get(rework_key(place), 1) + (1 if found.counts else 0)
    turn.write(
        record.Reworked,
        procedure=here[-1].procedure,
        step=step.id,
        fault=found.name,
        words=turn.words,
        passes=passes,
        place=place,
    )
    owner = turn.library.procedures[place[0].procedure if len(place) > 1 else here[-1].procedure]
    third = owner.third or turn.library.procedures[here[-1].procedure].third
    if found.counts and passes == THIRD:
        turn.say_text(third)
    finish(turn)
    prompt(turn)
