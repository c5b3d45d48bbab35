"""Steps that compute: a calculator asked with the readings and facts that the job holds."""

from __future__ import annotations

from dataclasses import replace

from handsfree.calculators.card import Card, Option, Outcome, Parameter, Slot
from handsfree.dialogue import results
from handsfree.dialogue.knowing import known, preset
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import Band, Filling
from handsfree.errors import Refusal, WrongKind
from handsfree.procedures.model import Counted, Number, Step, Taken, Verdict, Working
from handsfree.quantity import Reading


def number(turn: Turn, asked: Number) -> Filling:
    """Return what a calculator gives for a sentence, or the words for where it gives nothing."""
    outcome = _outcome(turn, asked)
    if not isinstance(outcome, Outcome):
        return asked.without
    told = results.rounded_answers(turn, outcome)
    answers = [one for a in asked.answers if isinstance(one := told.get(a), Reading)]
    if not answers:
        return asked.without
    return answers[0] if len(answers) == 1 else Band(answers[0], answers[-1])


def counted(turn: Turn, asked: Counted) -> Reading | None:
    """Tell how a value is worked out and return it, rounded as it is told; None where it can't be.

    Why it is refused is said.
    """
    outcome = _outcome(turn, asked)
    if isinstance(outcome, Refusal):
        turn.say_text(turn.library.words[asked.calculator].refusals[outcome.key])
    if not isinstance(outcome, Outcome):
        return None
    found = results.rounded_answers(turn, outcome).get(asked.answer)
    if not isinstance(found, Reading):
        return None
    _tell(turn, outcome)
    return found


def tell_verdict(turn: Turn, verdict: Verdict) -> None:
    """Say what the calculator makes of the readings, and write it down."""
    outcome = _outcome(turn, verdict)
    if isinstance(outcome, Outcome):
        _tell(turn, outcome)
    elif isinstance(outcome, Refusal):
        turn.say_text(turn.library.words[verdict.calculator].refusals[outcome.key])
    else:
        turn.say_text(verdict.without)


def _tell(turn: Turn, outcome: Outcome) -> None:
    """Say and write an answer; a "why" after it asks for its sum, and not for the step's reason."""
    results.tell(turn, outcome)
    turn.moment = replace(turn.moment, sum_told=True)


def shown_fault(turn: Turn, step: Step) -> str:
    """Return the name of the fault that the step's verdict shows, or nothing."""
    if step.verdict is None:
        return ""
    outcome = _outcome(turn, step.verdict)
    sentence = outcome.sentence if isinstance(outcome, Outcome) else ""
    return step.verdict.faults.get(sentence, "")


def _outcome(turn: Turn, asked: Working) -> Outcome | Refusal | None:
    """Return what the calculator answers or why it refuses; None where something is missing."""
    card = turn.library.cards[asked.calculator]
    slots = known(card, _slots(turn, asked, card), turn.job)
    try:
        if card.guard is not None:
            card.guard(slots)
        return None if card.missing(slots) else card.run(slots)
    except Refusal as refusal:
        return refusal
    except WrongKind:
        return None


def _slots(turn: Turn, asked: Working, card: Card) -> dict[str, Slot]:
    """Return the slots that a step fills itself; what was not read stays open."""
    found: dict[str, Slot] = {}
    for name, text in asked.given.items():
        found[name] = _given(card.by_name[name], text)
    for name, source in asked.takes.items():
        several = (source,) if isinstance(source, str) else source
        held = [one for one in (_held(turn, single) for single in several) if one is not None]
        if isinstance(source, tuple):
            if len(held) == len(source):
                found[name] = tuple(one for one in held if isinstance(one, Reading))
        elif held:
            found[name] = held[0]
    return found


def _given(parameter: Parameter | Option, text: Taken) -> Slot:
    if isinstance(parameter, Option):
        return text if isinstance(text, str) else " ".join(text)
    if isinstance(text, str):
        return preset(parameter, text)
    return tuple(preset(parameter, one) for one in text)


def _held(turn: Turn, name: str) -> Slot | None:
    """Return a value read in the procedure in hand, or else the fact of that name."""
    read = turn.job.values.get(f"{turn.job.place[-1].procedure}/{name}")
    held = turn.job.fact(name) if read is None else read.value
    return held if isinstance(held, Reading | str | tuple) else None
