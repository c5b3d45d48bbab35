"""Time that passes: timers that run out, a question's beat, one nudge, and then quiet."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from handsfree.dialogue import places, standing, walking
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.state import State
from handsfree.dialogue.turn import Turn
from handsfree.library import Library
from handsfree.record import entries as record

BEAT = timedelta(seconds=20)
"""How long after the answer to a question in between the step is named again. Common practice."""
NUDGE = timedelta(seconds=90)
"""How long a step waits before it is named once more. Common practice, no source."""


def passed(turn: Turn) -> None:
    """Say what this moment brings: silence is no consent, so nothing is closed by it."""
    if turn.job.paused:
        return
    _timers(turn)
    if turn.silent():
        _reminder(turn)


def _timers(turn: Turn) -> None:
    """Announce timers that have run out; a hold is closed by the person, never by the clock."""
    over = [
        timer
        for timer in turn.job.timers.values()
        if (turn.at - timer.at).total_seconds() >= timer.seconds
    ]
    if over:
        standing.expire(turn)
    for timer in over:
        if _held_by_step(turn.state, turn.library, timer.name):
            if timer.name not in turn.moment.announced:
                turn.say("timer_done", name=timer.name)
                announced = (*turn.moment.announced, timer.name)
                turn.moment = replace(turn.moment, announced=announced)
            continue
        turn.write(record.TimerEnded, name=timer.name, announced=True)
        turn.say("timer_done", name=timer.name)


def _held_by_step(state: State, library: Library, name: str) -> bool:
    """Return whether a timer is the hold of a procedure in hand, below it, or parked."""
    return any(
        hold.timer_name == name
        for place in (state.job.place, *state.job.parked)
        for hold in places.holds_at(place, library)
    )


def _reminder(turn: Turn) -> None:
    """Name the step in hand: a beat after a question in between, and once after a long quiet."""
    moment, step = turn.moment, step_in_hand(turn.state, turn.library)
    if step is None or step.kind == "hold" or moment.prompt_ended is None or turn.job.stopped:
        return
    quiet: timedelta = turn.at - moment.prompt_ended
    if moment.aside and quiet > BEAT:
        turn.moment = replace(moment, aside=False)
    elif not moment.nudged and quiet > NUDGE:
        turn.moment = replace(moment, nudged=True)
    else:
        return
    if turn.job.question is not None:
        turn.say_text(turn.job.question.question)
    else:
        walking.name_step(turn, step)


def away(state: State, at: datetime) -> timedelta:
    """Return how long nothing has happened, by the record and by what was last said to us."""
    heard = [when for when in (state.job.last, state.moment.heard_at) if when is not None]
    return at - max(heard) if heard else timedelta(0)
