"""Coming back to the work: where it stands, what was done last, and what is asked anew."""

from __future__ import annotations

from datetime import timedelta

from handsfree.dialogue import walking
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.meanings import Do, Meaning
from handsfree.dialogue.turn import Turn
from handsfree.record import entries as record

LONG = timedelta(minutes=5)
"""A longer interruption is a known way to leave something out. Common practice, no source."""
RECHECK = "recheck"
"""What the question is about that asks again what is left out after an interruption."""


def come_back(turn: Turn, away: timedelta) -> None:
    """Say the step in hand again; after a long while also what was done last.

    On a joint, what interruptions make people leave out is asked before the work goes on.
    """
    if away <= LONG or step_in_hand(turn.state, turn.library) is None:
        walking.prompt(turn)
        return
    if turn.job.trail:
        procedure, name, _ = turn.job.trail[-1]
        step = turn.library.procedures[procedure].by_id[name]
        turn.say("last_done", title=walking.title(turn, step))
    if turn.library.procedures[turn.job.place[-1].procedure].part_of_joint:
        question = turn.library.says["recheck"]
        turn.write(record.Asked, what=RECHECK, question=question, words=turn.words)
        turn.say_text(question)
    else:
        walking.prompt(turn)


def rechecking(turn: Turn) -> bool:
    """Return whether the question after a long interruption is open."""
    return turn.job.question is not None and turn.job.question.what == RECHECK


def rechecked(turn: Turn, meaning: Meaning) -> None:
    """Take the answer to what was asked anew: only a yes lets the work go on."""
    if isinstance(meaning, Do) and meaning.name == "yes":
        turn.write(record.AskedDropped, what=RECHECK)
        walking.prompt(turn)
    elif isinstance(meaning, Do) and meaning.name in ("no", "wrong", "failed"):
        turn.say("recheck_no")
    else:
        turn.say("recheck")
