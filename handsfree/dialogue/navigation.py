"""What can be said at any time: repeat, where am I, why, undo, pause, timers, settings."""

from __future__ import annotations

from handsfree.dialogue import requests, steps
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.understand import Do, step_in_hand
from handsfree.procedures.model import Procedure, Step
from handsfree.record import entries as record


def handle(turn: Turn, command: Do) -> None:
    """Carry out a command."""
    step = step_in_hand(turn.state, turn.library)
    if command.name in _STEP_COMMANDS:
        if step is None:
            turn.say("nothing_open")
        else:
            _step_command(turn, step, command.name)
        return
    match command.name:
        case "repeat":
            turn.say_text(" ".join(turn.moment.said) or turn.library.says["nothing_said"])
        case "number_again":
            _number(turn)
        case "where":
            _where(turn, step)
        case "left":
            _left(turn, step)
        case "why" | "more" | "good":
            _explain(turn, step, command.name)
        case "tools":
            _tools(turn, step)
        case "undo":
            _undo(turn)
        case "back":
            _back(turn)
        case "pause":
            turn.write(record.Paused, reason=turn.words)
            turn.say("paused")
        case "resume":
            _resume(turn, step)
        case "leave":
            _leave(turn)
        case "help":
            _help(turn, step)
        case "note":
            turn.write(record.Noted, text=command.text)
            turn.say("noted", text=" ".join(command.text.split()[-5:]))
        case "worker":
            turn.write(record.WorkerNamed, name=command.text)
            turn.say("worker", name=command.text)
        case "slower" | "faster" | "louder" | "quieter":
            name = "rate" if command.name in ("slower", "faster") else "volume"
            turn.write(record.SettingChanged, name=name, value=command.name)
            turn.say("rate", how=command.name)
        case "timer":
            seconds = float(command.seconds or 0)
            turn.write(record.TimerStarted, name="Timer", seconds=seconds)
            turn.say("timer_started", name="Timer", time=steps.said_time(seconds))
        case "how_long":
            _how_long(turn, step)
        case _:
            turn.say("not_understood")


_STEP_COMMANDS = ("done", "loose_done", "yes", "no", "wrong", "failed", "skip")


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
        case "failed":
            steps.failed(turn, step)
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
    if step is None:
        if question is not None:
            turn.say("where_open", question=question.question)
        else:
            turn.say("nothing_open")
        return
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
        turn.say("nothing_open")
        return
    procedure = _procedure(turn)
    rest = procedure.steps[procedure.steps.index(step) + 1 :]
    if rest:
        turn.say("left", title=_title(turn, rest[0]), count=str(len(rest)))
    else:
        turn.say("left_last")


def _title(turn: Turn, step: Step) -> str:
    title = step.title or step.say or step.check
    for name, value in steps.fillings(turn, step).items():
        title = title.replace("{" + name + "}", str(value))
    return title.rstrip(".")


def _explain(turn: Turn, step: Step | None, name: str) -> None:
    """Give the reason: of the sum where a sum was the last thing, of the step otherwise."""
    calculated = turn.job.calculated
    if name == "why" and calculated is not None and turn.moment.sum_told:
        requests.explain(turn, calculated)
        return
    text = "" if step is None else getattr(step, name)
    if text and step is not None:
        turn.say_text(text, steps.fillings(turn, step))
    else:
        turn.say("no_good" if name == "good" else "no_why")


def _tools(turn: Turn, step: Step | None) -> None:
    tools = _procedure(turn).tools if step is not None else ()
    if tools:
        turn.say("tools", tools=", ".join(tools))
    else:
        turn.say("no_tools")


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
    turn.write(record.Reopened, procedure=procedure, step=step, stale=stale, place=place)
    title = _title(turn, turn.library.procedures[procedure].by_id[step])
    turn.say("undone", title=title)
    steps.prompt(turn)


def _back(turn: Turn) -> None:
    """Say the previous step again; the place stays."""
    if not turn.job.trail:
        turn.say("nothing_to_undo")
        return
    procedure, name, _ = turn.job.trail[-1]
    step = turn.library.procedures[procedure].by_id[name]
    turn.say_text(step.say or step.check or step.title, steps.fillings(turn, step))


def _resume(turn: Turn, step: Step | None) -> None:
    turn.write(record.Resumed)
    if step is None:
        turn.say("resumed")
        return
    _where(turn, step)
    steps.prompt(turn)


def _leave(turn: Turn) -> None:
    if turn.job.question is not None:
        turn.write(record.AskedDropped, what=turn.job.question.what)
        turn.say("left_question")
        return
    if not turn.job.place:
        turn.say("nothing_open")
        return
    step = step_in_hand(turn.state, turn.library)
    if step is not None and turn.job.place[-1].phase == "reason":
        steps.await_phase(turn, step, "act")
        steps.prompt(turn)
        return
    procedure = turn.library.procedures[turn.job.place[0].procedure]
    turn.write(record.ProcedureEnded, procedure=procedure.id, complete=False, place=())
    turn.say("left_procedure", procedure=procedure.title)


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
            turn.say("timer_left", name=timer.name, time=steps.said_time(max(0.0, left)))
        return
    turn.say("no_timer")
    _left(turn, step)
