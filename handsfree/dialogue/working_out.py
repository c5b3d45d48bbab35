"""Steps that compute: a calculator asked with the readings and facts that the job holds."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from handsfree.calculators.card import Card, Option, Outcome, Parameter, Slot
from handsfree.dialogue import keeping, results
from handsfree.dialogue.knowing import known, preset
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import Band, Filling
from handsfree.errors import Refusal, WrongKind
from handsfree.procedures.model import Counted, Fault, Judged, Number, Step, Taken, Verdict, Working
from handsfree.quantity import Reading
from handsfree.record.entries import ValueRead, minutes_between


def number(turn: Turn, asked: Number) -> Filling:
    """Return what a calculator gives for a sentence, or the words for where it gives nothing.

    Without all that it takes it would be the number of something else, so it gives nothing.
    """
    known_all = all(_held(turn, name) is not None for name in asked.taken)
    outcome = _outcome(turn, asked) if known_all else None
    if not isinstance(outcome, Outcome):
        return asked.without
    told = results.rounded_answers(turn, outcome)
    answers = [one for a in asked.answers if isinstance(one := told.get(a), Reading)]
    if not answers:
        return asked.without
    return answers[0] if len(answers) == 1 else Band(answers[0], answers[-1])


def counted(turn: Turn, asked: Counted) -> Reading | tuple[Reading, ...] | None:
    """Tell how a value is worked out and return it, rounded as it is told; None where it can't be.

    Why it is refused is said, and a sentence that shows a fault gives no value. An answer of
    several readings is not rounded: it is counted on with.
    """
    outcome = _outcome(turn, asked)
    if isinstance(outcome, Refusal):
        _refuse(turn, asked, outcome)
    if not isinstance(outcome, Outcome):
        return None
    _tell(turn, outcome)
    if outcome.sentence in asked.faults:
        return None
    several = outcome.answers.get(asked.answer)
    if isinstance(several, tuple):
        return several
    return results.rounded_answers(turn, outcome).get(asked.answer)


def _refuse(turn: Turn, asked: Working, refusal: Refusal) -> None:
    """Say why a calculator refuses, with its numbers."""
    card = turn.library.cards[asked.calculator]
    slots = known(card, _slots(turn, asked, card), turn.job)
    results.refuse(turn, card, refusal, slots)


def tell_verdict(turn: Turn, verdict: Verdict) -> None:
    """Say what the calculator makes of the readings, and write it down."""
    outcome = _outcome(turn, verdict)
    if isinstance(outcome, Outcome):
        _tell(turn, outcome)
    elif isinstance(outcome, Refusal):
        _refuse(turn, verdict, outcome)
    else:
        turn.say_text(verdict.without)


def _tell(turn: Turn, outcome: Outcome) -> None:
    """Say and write an answer; a "why" after it asks for its sum, and not for the step's reason."""
    results.tell(turn, outcome)
    turn.moment = replace(turn.moment, sum_told=True)


def shown_fault(turn: Turn, step: Step, asked: Judged | None) -> Fault | None:
    """Return the fault of a step that its calculator's sentence or refusal shows, if any."""
    if asked is None:
        return None
    outcome = _outcome(turn, asked)
    if isinstance(outcome, Refusal):
        shown = asked.faults.get(outcome.key)
    else:
        shown = asked.faults.get(outcome.sentence) if outcome is not None else None
    return next((one for one in step.faults if one.name == shown), None)


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
                listed = tuple(one for one in held if isinstance(one, Reading))
                found[name] = _fitted(card.by_name[name], listed)
        elif held:
            found[name] = _fitted(card.by_name[name], held[0])
    for name, values in asked.times.items():
        reads = [read for one in values if (read := _read(turn, one)) is not None]
        if len(reads) == len(values):
            found[name] = minutes_between(reads)
    return found


def _fitted(parameter: Parameter | Option, held: Slot) -> Slot:
    """Return what was read as a slot takes it: a list fills one reading by its total."""
    if not isinstance(held, tuple) or parameter.many:
        return held
    total = sum((Fraction(one.to(held[0].unit).value) for one in held), Fraction(0))
    return Reading(total, held[0].unit, held[0].kind)


def _given(parameter: Parameter | Option, text: Taken) -> Slot:
    if isinstance(parameter, Option):
        return text if isinstance(text, str) else " ".join(text)
    if isinstance(text, str):
        return preset(parameter, text)
    return tuple(preset(parameter, one) for one in text)


def _read(turn: Turn, name: str) -> ValueRead | None:
    """Return what was read in the procedure in hand or in the one that is named."""
    where = name if "/" in name else f"{turn.job.place[-1].procedure}/{name}"
    return turn.job.values.get(where)


def _held(turn: Turn, name: str) -> Slot | None:
    """Return a value read in the procedure in hand or in the one that is named, or else a fact."""
    read = _read(turn, name)
    found = read.value if read is not None else keeping.held(turn, name)
    return found if isinstance(found, Reading | str | tuple) else None
