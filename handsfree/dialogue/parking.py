"""Work put aside and taken up again: one procedure in hand, at most two parked, holds running."""

from __future__ import annotations

from handsfree.dialogue import places
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.walking import prompt
from handsfree.procedures.model import Procedure, split_target
from handsfree.record import entries as record
from handsfree.record.entries import Place

MOST_PARKED = 2


def set_aside(turn: Turn, procedure: Procedure) -> bool:
    """Make room for a procedure; False, with the reason said, where there is none."""
    place = turn.job.place
    if not place or procedure.id in {frame.procedure for frame in place}:
        return True
    step = step_in_hand(turn.state, turn.library)
    if step is not None:
        hand = turn.library.procedures[place[-1].procedure]
        targets = {split_target(target, hand.id)[0] for target, _ in hand.targets(step)}
        if procedure.id in targets:
            return True
    return park(turn)


def park(turn: Turn) -> bool:
    """Put the work in hand aside; False, with the reason said, where two are parked already."""
    if not turn.job.place:
        turn.say("nothing_open")
        return False
    if len(turn.job.parked) >= MOST_PARKED:
        turn.say("too_many_parked")
        return False
    root = turn.library.procedures[turn.job.place[0].procedure]
    place = places.resting(turn.job.place)
    turn.write(record.ProcedureParked, procedure=root.id, place=place)
    turn.say("parked_now", procedure=root.title)
    return True


def take(turn: Turn, procedure: Procedure) -> None:
    """Take a parked procedure up again; what was in hand is parked in its stead."""
    wanted = [
        place for place in turn.job.parked if procedure.id in {frame.procedure for frame in place}
    ]
    if not wanted:
        in_hand = procedure.id in {frame.procedure for frame in turn.job.place}
        turn.say("in_hand" if in_hand else "not_parked", procedure=procedure.title)
        return
    held = turn.job.place
    swap(turn, wanted[0])
    if held:
        turn.say("parked_now", procedure=turn.library.procedures[held[0].procedure].title)
    prompt(turn)


def swap(turn: Turn, wanted: Place) -> None:
    """Put parked work in hand, and park what was in hand in its stead."""
    held = places.resting(turn.job.place)
    if held:
        turn.write(record.ProcedureParked, procedure=held[0].procedure, place=held)
    turn.write(record.ProcedureTaken, procedure=wanted[0].procedure, place=wanted)
