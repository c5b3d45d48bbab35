"""A battery that runs low: said once a level, and at the last one with the place that is saved."""

from __future__ import annotations

from dataclasses import replace

from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.turn import Turn
from handsfree.record import entries as record

LEVELS = (20, 10, 5)
"""Per cent at which it is said. Common practice, no source."""
FULL = 100


def low(turn: Turn, percent: float) -> None:
    """Say the level that was reached, once; charged again, all are said anew."""
    reached = min((level for level in LEVELS if percent <= level), default=FULL)
    told = turn.moment.battery
    turn.moment = replace(turn.moment, battery=reached)
    if reached >= told:
        return
    if reached > LEVELS[-1]:
        turn.say("battery_low", percent=str(reached))
        return
    turn.write(record.Noted, text=f"battery at {reached} per cent")
    step = step_in_hand(turn.state, turn.library)
    if step is None:
        turn.say("battery_last_free", percent=str(reached))
        return
    procedure = turn.library.procedures[turn.job.place[-1].procedure]
    position = str(procedure.steps.index(step) + 1)
    turn.say("battery_last", percent=str(reached), procedure=procedure.title, position=position)
