"""What a calculator answered: written, told in rounded readings, drawn, and explained."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from handsfree.calculators.card import Card, Option, Outcome, Sketch, Slot
from handsfree.dialogue.keeping import write_bender
from handsfree.dialogue.knowing import bender_for
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import Band, Filling, Sentence, as_written
from handsfree.errors import Refusal
from handsfree.library import Library
from handsfree.quantity import Reading
from handsfree.record import entries as record
from handsfree.reference import tables


def told_answers(turn: Turn, outcome: Outcome) -> dict[str, Filling]:
    """Return the answers as they fill a sentence: rounded, and low and high also as a `band`."""
    told: dict[str, Filling] = {**rounded_answers(turn, outcome)}
    low, high = told.get("low"), told.get("high")
    if isinstance(low, Reading) and isinstance(high, Reading):
        told["band"] = Band(low, high)
    return told


def rounded_answers(turn: Turn, outcome: Outcome) -> dict[str, Reading | tuple[Reading, ...]]:
    """Return the answers as they are told: rounded once each, from exact values."""
    return turn.library.told(outcome.card, outcome.answers)


def fillings_of(turn: Turn, card: Card, slots: Mapping[str, Slot]) -> dict[str, Filling]:
    """Return the inputs of a card as they are told: choices in the words of the trade."""
    found: dict[str, Filling] = {**slots}
    for parameter in card.parameters:
        value = slots.get(parameter.name)
        if isinstance(parameter, Option) and isinstance(value, str) and not parameter.units_of:
            found[parameter.name] = Sentence(*turn.library.option_told(card, parameter, value))
    return found


def tell(turn: Turn, outcome: Outcome) -> None:
    """Write a calculator's outcome into the record, and say it."""
    card = outcome.card
    words = turn.library.words[card.id]
    turn.write(
        record.Calculated,
        calculator=card.id,
        words=turn.asked_in,
        inputs=dict(outcome.inputs),
        answers=dict(outcome.answers),
        sentence=outcome.sentence,
        sources=outcome.sources,
        warnings=outcome.warnings,
    )
    _keep_in_profile(turn, outcome)
    told = told_answers(turn, outcome)
    fillings = {**fillings_of(turn, card, outcome.inputs), **outcome.words, **told}
    for warning in outcome.warnings:
        turn.say_text(words.warnings[warning], fillings)
    turn.say_text(words.sentences[outcome.sentence], fillings)
    last = list(told.values())
    if last:
        turn.number(as_written(last[-1]))


def refuse(turn: Turn, card: Card, refusal: Refusal, slots: Mapping[str, Slot]) -> None:
    """Write that a calculator refuses, and say why, with its numbers."""
    words = turn.library.words[card.id].refusals[refusal.key]
    fillings: dict[str, Filling] = {**slots}
    for name, value in refusal.values.items():
        if isinstance(value, Reading):
            step = turn.library.rounded("mark", value.unit, value.value)
            fillings[name] = Reading(step, value.unit, value.kind)
        else:
            fillings[name] = str(value)
    turn.write(record.Refused, what=card.id, reason=refusal.key, words=turn.asked_in)
    turn.say_text(words, fillings)


def drawing(turn: Turn) -> str:
    """Return the drawing of what was calculated in this turn as lines of text, or nothing."""
    calculated = turn.calculated
    if calculated is None:
        return ""
    sketch = last_sketch((calculated,), turn.library)
    return "" if sketch is None else sketch.tape()


def last_sketch(latest_first: Iterable[record.Calculated], library: Library) -> Sketch | None:
    """Return the drawing of the latest answer that has one, or None; the card may be gone."""
    for calculated in latest_first:
        card = library.cards.get(calculated.calculator)
        sketch = None if card is None else card.drawn(record.as_slots(calculated.inputs))
        if sketch is not None:
            return sketch
    return None


def _keep_in_profile(turn: Turn, outcome: Outcome) -> None:
    """Write what was measured of a bender into its profile, and say so.

    A radius that is known already is that on the tool, and beats a measured one.
    """
    size = outcome.inputs.get("size", turn.job.facts.get("size"))
    if not isinstance(size, Reading):
        return
    held = bender_for(size, turn.job)
    profile = {} if held is None else held.profile
    kept = {
        result.name: answer
        for result in outcome.card.results
        for answer in [outcome.answers.get(result.name)]
        if isinstance(answer, Reading)
        and (result.keeps == "always" or (result.keeps and result.name not in profile))
    }
    if kept:
        write_bender(turn, size, kept)
        turn.say("bender_kept", size=size)


def _says_of(sources: tuple[str, ...]) -> tuple[str, ...]:
    """Return the spoken names of sources, each once."""
    return tuple(dict.fromkeys(tables.sources()[name].say for name in sources))


def explain(turn: Turn, calculated: record.Calculated) -> None:
    """Say the sum behind the last answer: its formula in words, with the numbers put in."""
    card = turn.library.cards[calculated.calculator]
    words = turn.library.words[card.id]
    inputs = record.as_slots(calculated.inputs)
    outcome = card.run(inputs)
    template = words.why.get(outcome.sentence) or words.why.get("formula")
    if template is None:
        turn.say("no_why")
        return
    fillings = {
        **fillings_of(turn, card, inputs),
        **outcome.words,
        **told_answers(turn, outcome),
    }
    turn.say("sum_source", sources=", ".join(_says_of(outcome.sources)))
    turn.say_text(template, fillings)
