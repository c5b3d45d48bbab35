"""Two people on one job: whose work is in hand, and whose "done" it was."""

from __future__ import annotations

from handsfree.dialogue import parking, places, standing, steps
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.walking import prompt
from handsfree.record import entries as record
from handsfree.record.entries import Place


def which_work(turn: Turn) -> bool:
    """Ask whose work is meant where two people have some in hand; return whether that was asked.

    Work that only waits for a hold has nobody's hands on it.
    """
    here, other = turn.job.place, _other(turn)
    if not here or other is None:
        return False
    names = [turn.library.procedures[place[0].procedure].names[0] for place in (here, other)]
    question = turn.library.says["which_work"].format(first=names[0], second=names[1])
    choices = tuple(f"done with the {name}" for name in names)
    turn.offer(question, choices)
    return True


def _other(turn: Turn) -> Place | None:
    """Return the parked work of somebody else than who has the work in hand, or None."""
    owners = turn.job.owners
    mine = owners.get(turn.job.place[0].procedure, "") if turn.job.place else ""
    for place in turn.job.parked:
        theirs = owners.get(place[0].procedure, "")
        held = any(places.holds_at(place, turn.library))
        if mine and theirs and theirs != mine and not held:
            return place
    return None


def done_with(turn: Turn, procedure: str) -> None:
    """Take a "done" that names its work: that work comes into hand first."""
    if procedure not in {frame.procedure for frame in turn.job.place}:
        wanted = next(
            (
                place
                for place in turn.job.parked
                if procedure in {frame.procedure for frame in place}
            ),
            None,
        )
        if wanted is None:
            turn.say("not_open", procedure=turn.library.procedures[procedure].title)
            return
        parking.swap(turn, wanted)
    step = step_in_hand(turn.state, turn.library)
    if standing.missing(turn) is not None:
        prompt(turn)
    elif step is not None:
        steps.done(turn, step, loose=False)


def speaks(turn: Turn, name: str) -> None:
    """Write who speaks, and put their own work in hand where it is parked."""
    if turn.job.worker != name:
        turn.write(record.WorkerNamed, name=name)
    owners = turn.job.owners
    if turn.job.place and owners.get(turn.job.place[0].procedure) == name:
        return
    theirs = next((p for p in turn.job.parked if owners.get(p[0].procedure) == name), None)
    if theirs is not None:
        parking.swap(turn, theirs)
