"""What a dead device or a clock set back leaves in doubt: said once, and written down."""

from __future__ import annotations

from datetime import timedelta

from handsfree.dialogue import standing
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.walking import said_time
from handsfree.record import entries as record

SET_BACK = 30.0
"""Seconds; a clock that is kept by a network goes back by less. Common practice, no source."""


def doubt_clock(turn: Turn) -> None:
    """Say and write that the clock went back since the entry before, where it did.

    States of the work that end by time or by a break are over: how long they held is not known.
    """
    last = turn.job.last
    back = 0.0 if last is None else (last - turn.at).total_seconds()
    if back <= SET_BACK:
        return
    turn.write(record.ClockDoubted, seconds=back)
    turn.say("clock_back", time=said_time(back))
    for name, flag in turn.job.flags.items():
        if flag.expires is not None or flag.after_break is not None:
            standing.end(turn, name, "clock")


def ran_on(turn: Turn, gone: timedelta) -> None:
    """Say of every hold how long it ran, and for how long nobody listened."""
    away = said_time(max(0.0, gone.total_seconds()))
    for timer in turn.job.timers.values():
        ran = said_time(max(0.0, (turn.at - timer.at).total_seconds()))
        turn.say("timer_ran_on", name=timer.name, time=ran, away=away)
