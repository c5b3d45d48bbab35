"""What can be said now, as one grammar: the recogniser hears just that."""

from __future__ import annotations

from handsfree.calculators.card import Parameter
from handsfree.dialogue.answers import step_in_hand
from handsfree.dialogue.attention import WAITING_KINDS
from handsfree.dialogue.slots import fact_rule, slot_rule
from handsfree.dialogue.state import State
from handsfree.language.grammar import Choice, Expansion, Grammar, Maybe, Rule, Sequence, Word
from handsfree.language.tokens import tokenise
from handsfree.library import Library
from handsfree.procedures.model import Step
from handsfree.record.entries import Asked

STEP_COMMANDS = ("done", "yes", "no")
"""What can be said to a step after one's name."""
ALWAYS = ("stop", "emergency")
ORDINALS = ("first", "second", "the first", "the second", "the first one", "the second one")


def vocabulary(state: State, library: Library) -> Grammar:
    """Return the grammar of everything that has a meaning in this state.

    Asleep, only danger, going on and the wake words; while a step waits, what answers and steers
    it, and anything after the wake words.
    """
    job = state.job
    if job.paused:
        awake = (p for p in library.phrases if p.kind in ALWAYS or p.id in ("resume", "wake"))
        return Grammar(Choice(tuple(phrase.expansion for phrase in awake)), library.rules)
    small = [p.expansion for p in library.phrases if p.kind in WAITING_KINDS]
    small.extend(_question(state, library))
    step = step_in_hand(state, library)
    if step is not None:
        answers = _step(job.place[-1].procedure, step, library)
        answers.extend(p.expansion for p in library.phrases if p.id in STEP_COMMANDS)
        small.extend(answers)
        small.extend(Sequence((_words(name), Choice(tuple(answers)))) for name in job.workers)
    rest = [p.expansion for p in library.phrases if p.kind not in WAITING_KINDS]
    if not state.moment.waiting:
        return Grammar(Choice((*small, *rest)), library.rules)
    wake = [p.expansion for p in library.phrases if (p.kind, p.id) == ("command", "wake")]
    called = Sequence((Choice(tuple(wake)), Choice(tuple(rest))))
    return Grammar(Choice((*small, called)), library.rules)


def _question(state: State, library: Library) -> list[Expansion]:
    question = state.job.question
    if question is None:
        return []
    found: list[Expansion] = [_words(choice) for choice in question.choices if tokenise(choice)]
    if question.choices:
        found.extend(_words(text) for text in (*ORDINALS, "neither"))
        found.append(Rule("figures"))
    if question.bare:
        found.extend(_words(text) for text in ORDINALS)
    for name in question.bare:
        kind = library.cards[question.what].by_name[name]
        if isinstance(kind, Parameter):
            found.append(Rule("unit_of_" + kind.kind.replace(" ", "_")))
    found.extend(phrase.expansion for phrase in library.answers.get(question.what, ()))
    found.extend(_missing(question, library))
    if len(found) > 1 and not question.choices:
        found.append(Sequence((found[0], Maybe(Word("and")), found[1])))
    return found


def _missing(question: Asked, library: Library) -> list[Expansion]:
    """Return what each value that the question asks for can be."""
    if question.what.startswith("procedure:"):
        return [Rule(fact_rule(name, library.facts[name])) for name in question.missing]
    card = library.cards.get(question.what)
    if card is None:
        return []
    return [Rule(slot_rule(card, card.by_name[name], library)) for name in question.missing]


def _step(procedure: str, step: Step, library: Library) -> list[Expansion]:
    found = [phrase.expansion for phrase in library.step_books[procedure, step.id].phrases]
    if step.value is not None:
        found.append(Rule(step.value.grammar_rule))
    if step.kind == "fact" and step.fact in library.facts:
        found.append(Rule(fact_rule(step.fact, library.facts[step.fact])))
    return found


def _words(text: str) -> Expansion:
    return Sequence(tuple(Word(word) for word in tokenise(text)))
