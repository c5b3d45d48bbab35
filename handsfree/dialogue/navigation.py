"""What can be said at any time: repeat, where am I, why, undo, pause, timers, settings."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from handsfree.dialogue import (
    parking,
    results,
    returning,
    reworks,
    standing,
    steps,
    summary,
    walking,
)
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.manner import DIALS
from handsfree.dialogue.meanings import Do
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import as_written
from handsfree.procedures.model import Procedure, Step
from handsfree.record import entries as record


def handle(turn: Turn, command: Do) -> None:
    """Carry out a command."""
    step = step_in_hand(turn.state, turn.library)
    if command.name not in STEP_COMMANDS:
        _COMMANDS[command.name](turn, step, command)
    elif step is None:
        turn.say("nothing_open")
    else:
        _step_command(turn, step, command.name)


LAST_WORDS = 5
"""A note is said back by its last words only."""
STEP_COMMANDS = ("done", "loose_done", "go_on", "accept", "yes", "no", "wrong", "failed", "skip")


def _step_command(turn: Turn, step: Step, name: str) -> None:
    match name:
        case "done":
            steps.done(turn, step, loose=False)
        case "loose_done":
            steps.done(turn, step, loose=True)
        case "yes":
            steps.yes(turn, step)
        case "no" | "wrong":
            steps.no(turn, step)
        case "go_on" if turn.moment.aside:
            turn.moment = replace(turn.moment, aside=False)
            walking.name_step(turn, step)
        case "go_on":
            steps.done(turn, step, loose=False)
        case "accept":
            steps.accept(turn, step)
        case "failed":
            reworks.failed(turn, step)
        case _:
            steps.skip(turn, step)


def _number(turn: Turn) -> None:
    if turn.moment.number:
        turn.say("number_twice", number=turn.moment.number)
    else:
        turn.say("no_number")


def _procedure(turn: Turn) -> Procedure:
    return turn.library.procedures[turn.job.place[-1].procedure]


def _where(turn: Turn, step: Step | None) -> None:
    question = turn.job.question
    if step is None and question is None:
        summary.where(turn)
    if step is not None:
        _where_in_work(turn, step)
    if question is not None:
        turn.say("where_open", question=question.question)


def _where_in_work(turn: Turn, step: Step) -> None:
    procedure = _procedure(turn)
    turn.say(
        "where_joint",
        procedure=procedure.title,
        position=str(procedure.steps.index(step) + 1),
        count=str(len(procedure.steps)),
        joint=str(turn.job.joints + 1),
    )


def _left(turn: Turn, step: Step | None) -> None:
    if step is None:
        summary.left(turn)
        return
    procedure = _procedure(turn)
    rest = procedure.steps[procedure.steps.index(step) + 1 :]
    if rest:
        turn.say("left", title=walking.title(turn, rest[0]), count=str(len(rest)))
    else:
        turn.say("left_last")


def _explain(turn: Turn, step: Step | None, name: str) -> None:
    """Give the reason: of the sum where a sum was the last thing, of the step otherwise."""
    calculated = turn.job.calculated
    if name == "why" and calculated is not None and turn.moment.sum_told:
        results.explain(turn, calculated)
        return
    text = "" if step is None else getattr(step, name)
    if text and step is not None:
        turn.say_text(text, walking.fillings(turn, step))
    else:
        turn.say("no_good" if name == "good" else "no_why")


def _tools(turn: Turn, step: Step | None) -> None:
    tools = _procedure(turn).tools if step is not None else ()
    if tools:
        turn.say("tools", tools=", ".join(tools))
    else:
        turn.say("no_tools")


def _goes_wrong(turn: Turn, step: Step | None) -> None:
    """Say what can go wrong at the step in hand, and what is seen then."""
    names = [fault.name for fault in step.faults] if step is not None else []
    if names:
        turn.say("goes_wrong", faults=", ".join(names[: reworks.MOST_CHOICES]))
    else:
        turn.say("no_fault_known")


def _undo(turn: Turn) -> None:
    if not turn.job.trail:
        turn.say("nothing_to_undo")
        return
    procedure, step, place = turn.job.trail[-1]
    stale = tuple(
        name
        for name, read in turn.job.values.items()
        if (read.procedure, read.step) == (procedure, step)
    )
    for flag in turn.library.procedures[procedure].by_id[step].sets:
        standing.end(turn, flag, "undone")
    read = [turn.job.values[name] for name in stale]
    turn.write(record.Reopened, procedure=procedure, step=step, stale=stale, place=place)
    title = walking.title(turn, turn.library.procedures[procedure].by_id[step])
    turn.say("undone", title=title)
    if read:
        told = ", ".join(f"{one.name.replace('_', ' ')} {as_written(one.value)}" for one in read)
        turn.say("no_longer", values=told)
    walking.prompt(turn)


def _redo(turn: Turn) -> None:
    """Close again what was opened again; words that were said for safety are said anew."""
    if not turn.job.reopened:
        turn.say("nothing_to_redo")
        return
    undone = turn.job.reopened[-1]
    step = turn.library.procedures[undone.procedure].by_id[undone.step]
    if step.kind == "stated" or step.sets or step.clears:
        turn.say("say_it_again")
        walking.prompt(turn)
        return
    title = walking.title(turn, step)
    turn.write(record.Redone, procedure=undone.procedure, step=step.id, place=undone.was)
    turn.say("redone", title=title)
    walking.prompt(turn)


def _back(turn: Turn) -> None:
    """Say the previous step again; the place stays."""
    if not turn.job.trail:
        turn.say("nothing_to_undo")
        return
    procedure, name, _ = turn.job.trail[-1]
    step = turn.library.procedures[procedure].by_id[name]
    turn.say_text(step.say or step.check or step.title, walking.fillings(turn, step))


def _resume(turn: Turn, step: Step | None) -> None:
    turn.write(record.Resumed)
    if step is None:
        turn.say("resumed")
        return
    _where(turn, step)
    returning.come_back(turn, turn.away)


def _wake(turn: Turn) -> None:
    """Listen for anything for a while; from a pause, go on."""
    if turn.job.paused:
        turn.write(record.Resumed)
    turn.moment = replace(turn.moment, called=turn.at)
    turn.say("listening")


def _leave(turn: Turn) -> None:
    if turn.job.question is not None:
        turn.write(record.AskedDropped, what=turn.job.question.what)
        turn.say("left_question")
        return
    if not turn.job.place:
        turn.say("nothing_open")
        return
    step = step_in_hand(turn.state, turn.library)
    if step is not None and turn.job.place[-1].phase in ("reason", "accept"):
        walking.await_phase(turn, step, "act")
        walking.prompt(turn)
        return
    procedure = turn.library.procedures[turn.job.place[0].procedure]
    turn.write(record.ProcedureEnded, procedure=procedure.id, complete=False, place=())
    turn.say("left_procedure", procedure=procedure.title)
    summary.parked(turn)


def _help(turn: Turn, step: Step | None) -> None:
    commands = turn.library.commands
    if turn.job.question is not None:
        names = ("repeat", "leave", "where")
    elif step is None:
        turn.say("nothing_open")
        return
    else:
        first = {"check": "yes", "confirm": "yes"}.get(turn.job.place[-1].phase, "done")
        names = (first, "repeat", "why")
    first_three = [commands[name].help for name in names]
    turn.say("help", first=first_three[0], second=first_three[1], third=first_three[2])


def _how_long(turn: Turn, step: Step | None) -> None:
    if turn.job.timers:
        for timer in turn.job.timers.values():
            left = timer.seconds - (turn.at - timer.at).total_seconds()
            turn.say("timer_left", name=timer.name, time=walking.said_time(max(0.0, left)))
        return
    turn.say("no_timer")
    _left(turn, step)


def _repeat(turn: Turn) -> None:
    turn.say_text(" ".join(turn.moment.said) or turn.library.says["nothing_said"])


def _park(turn: Turn) -> None:
    if parking.park(turn):
        summary.parked(turn)


def _pause(turn: Turn) -> None:
    turn.write(record.Paused, reason=turn.words)
    turn.say("paused")


def _note(turn: Turn, text: str) -> None:
    turn.write(record.Noted, text=text)
    last = " ".join(text.split()[-LAST_WORDS:])
    turn.say("noted", text=last.rstrip(".,;:!?") or last)


def _worker(turn: Turn, name: str) -> None:
    turn.write(record.WorkerNamed, name=name)
    turn.say("worker", name=name)


def _setting(turn: Turn, how: str) -> None:
    """Turn how we speak a step; what is at its end already is said to be there."""
    dial = DIALS[how]
    level = turn.job.settings.get(dial.name, 0)
    if dial.turned(level, how) == level:
        turn.say("rate_end", how=how)
        return
    turn.write(record.SettingChanged, name=dial.name, value=how)
    turn.say("rate", how=how)


def _timer(turn: Turn, seconds: float) -> None:
    turn.write(record.TimerStarted, name="Timer", seconds=seconds)
    turn.say("timer_started", name="Timer", time=walking.said_time(seconds))


_COMMANDS: Mapping[str, Callable[[Turn, Step | None, Do], None]] = {
    "repeat": lambda turn, _, __: _repeat(turn),
    "number_again": lambda turn, _, __: _number(turn),
    "where": lambda turn, step, _: _where(turn, step),
    "left": lambda turn, step, _: _left(turn, step),
    "why": lambda turn, step, command: _explain(turn, step, command.name),
    "more": lambda turn, step, command: _explain(turn, step, command.name),
    "good": lambda turn, step, command: _explain(turn, step, command.name),
    "tools": lambda turn, step, _: _tools(turn, step),
    "undo": lambda turn, _, __: _undo(turn),
    "redo": lambda turn, _, __: _redo(turn),
    "offer_failed": lambda turn, _, command: turn.say(
        "offer_failed", fault=command.text.capitalize()
    ),
    "wake": lambda turn, _, __: _wake(turn),
    "back": lambda turn, _, __: _back(turn),
    "pause": lambda turn, _, __: _pause(turn),
    "resume": lambda turn, step, _: _resume(turn, step),
    "leave": lambda turn, _, __: _leave(turn),
    "help": lambda turn, step, _: _help(turn, step),
    "note": lambda turn, _, command: _note(turn, command.text),
    "worker": lambda turn, _, command: _worker(turn, command.text),
    "slower": lambda turn, _, command: _setting(turn, command.name),
    "faster": lambda turn, _, command: _setting(turn, command.name),
    "shorter": lambda turn, _, command: _setting(turn, command.name),
    "longer": lambda turn, _, command: _setting(turn, command.name),
    "louder": lambda turn, _, command: _setting(turn, command.name),
    "quieter": lambda turn, _, command: _setting(turn, command.name),
    "park": lambda turn, _, __: _park(turn),
    "unknown": lambda turn, step, _: steps.unknown(turn, step),
    "goes_wrong": lambda turn, step, _: _goes_wrong(turn, step),
    "job_left": lambda turn, _, __: summary.left(turn),
    "van": lambda turn, _, __: summary.van(turn),
    "record": lambda turn, _, __: summary.tell(turn),
    "timer": lambda turn, _, command: _timer(turn, float(command.seconds or 0)),
    "how_long": lambda turn, step, _: _how_long(turn, step),
}
"""Every command of `data/phrases/commands.toml` that is not an answer to a step."""
