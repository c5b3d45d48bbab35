"""What was meant: a sentence, in the state of the conversation, as one of a few meanings.

The order is the rule: words of danger first, then what the open question or the step in hand is
waiting for, then what can be said at any time, and likeness only for what is left.
"""

from __future__ import annotations

from dataclasses import replace

from handsfree.dialogue.amended import amendment
from handsfree.dialogue.answers import to_question, to_step, words_wanted
from handsfree.dialogue.correcting import correction
from handsfree.dialogue.filing import filing
from handsfree.dialogue.matched import PLAIN, meaning_of
from handsfree.dialogue.meanings import (
    Answer,
    By,
    Danger,
    Do,
    Faulty,
    Like,
    Meaning,
    Nothing,
    Reason,
    Request,
    Several,
    Take,
    Unreadable,
)
from handsfree.dialogue.puzzling import about_the_number, spoilt, unreadable
from handsfree.dialogue.slots import (
    is_plausible,
)
from handsfree.dialogue.state import State
from handsfree.language.confusables import ToldApart, swaps
from handsfree.language.corrections import corrections, repaired
from handsfree.language.matching import Hit
from handsfree.language.numbers import Spoken
from handsfree.language.padding import unpadded
from handsfree.language.slips import normalised
from handsfree.language.tokens import LONGEST, as_given, tokenise
from handsfree.language.trouble import STAND_INS, without_nothing
from handsfree.library import Library
from handsfree.record.entries import as_slots

SURE, UNSURE, GAP = 86.0, 55.0, 25.0
"""Likeness from which a sentence is taken, from which it is asked about, and the lead it needs."""
LONGEST_WAKE = 3
"""How many words the longest of the wake words has."""
MOST_WORDS = 60
"""A longer line is no request: the longest plan of a piece takes about forty words. It may be taken
down as a note or a field of the record."""


def understand(text: str, state: State, library: Library) -> Meaning:
    """Return what a sentence means now. Total: any text has a meaning, if only `Nothing`."""
    tokens = tokenise(text)
    if not 0 < len(tokens) <= MOST_WORDS:
        return _taken_down(text, tokens, state, library)
    hits = library.book.matches(tokens)
    for hit in hits:
        if hit.phrase.kind in ("stop", "emergency"):
            return Danger(hit.phrase.id)
    if state.job.paused:
        return _paused(hits)
    called = after_wake(tokens, library)
    if called:
        return understand(as_given(text, called), state, library)
    sworn = _sworn(tokens, state, library)
    if sworn is not None:
        return sworn
    if tokens[0].capitalize() in state.job.workers and len(tokens) > 1:
        return By(tokens[0].capitalize(), as_given(text, tokens[1:]))
    to_file = filing(text)
    if to_file is not None:
        return to_file
    reason = _reason(text, hits, state)
    if reason is not None:
        return reason
    found = (
        to_question(tokens, hits, state, library)
        or to_step(tokens, state, library)
        or _put_right(tokens, state, library)
        or _misfit(text, hits, state, library)
        or _noted(text, meaning_of(hits, state, library))
        or words_wanted(text, state, library)
    )
    return found or _second_try(text, tokens, state, library)


def _noted(text: str, meaning: Meaning | None) -> Meaning | None:
    """Return a meaning: a note in the words that were given, not as the grammar reads them."""
    if isinstance(meaning, Do) and meaning.name == "note":
        return replace(meaning, text=as_given(text, tuple(meaning.text.split())))
    return meaning


def _taken_down(text: str, tokens: tuple[str, ...], state: State, library: Library) -> Meaning:
    """Return what a line that is too long for a request notes or files, or nothing."""
    if state.job.paused or len(text) > LONGEST:
        return Nothing()
    noted = meaning_of(library.book.matches(tokens[:MOST_WORDS]), state, library)
    if isinstance(noted, Do) and noted.name == "note":
        begun = MOST_WORDS - len(noted.text.split())
        return Do(noted.name, as_given(text, tokens[begun:]))
    return filing(text) or Nothing()


def _sworn(tokens: tuple[str, ...], state: State, library: Library) -> Meaning | None:
    """Return what is offered after an oath at the step in hand, or None where there was none."""
    for oath in library.safety.oaths:
        words = tokenise(oath)
        if tokens[: len(words)] == words and state.job.place:
            rest = " ".join(tokens[len(words) :])
            meant = understand(rest, state, library)
            if isinstance(meant, Faulty):
                return Do("offer_failed", meant.name)
            failed = isinstance(meant, Do) and meant.name == "failed"
            return Do("offer_failed", rest.removeprefix("it's ")) if failed else Nothing()
    return None


def after_wake(tokens: tuple[str, ...], library: Library) -> tuple[str, ...]:
    """Return what was said after the wake words; empty where they were not said first."""
    for length in range(1, min(len(tokens), LONGEST_WAKE + 1)):
        hits = library.book.matches(tokens[:length])
        if any((hit.phrase.kind, hit.phrase.id) == ("command", "wake") for hit in hits):
            return tokens[length:]
    return ()


def _put_right(tokens: tuple[str, ...], state: State, library: Library) -> Meaning | None:
    """Return what a sentence puts right: the last request, or what was said since or before."""
    job = state.job
    later = bool(job.said) and job.said[-1].number > job.calculated_at and job.question is None
    found = corrections(tokens)
    earlier = amendment(found, state, library)
    return (earlier if later else None) or correction(found, state, library) or earlier


def _misfit(text: str, hits: list[Hit], state: State, library: Library) -> Nothing | None:
    """Return that a bare number does not fit what is waited for: the trouble is told then.

    "Fifty five psi" to a question about torque is a slip of the tongue, and no conversion.
    """
    tokens = tokenise(text)
    bare = hits and all(
        isinstance(value, Spoken) and value.words == tokens
        for hit in hits
        for _, value in hit.bound
    )
    return Nothing() if bare and about_the_number(text, state, library) else None


def _second_try(text: str, tokens: tuple[str, ...], state: State, library: Library) -> Meaning:
    """Return the meaning of a sentence that fits nothing as it stands.

    Put right by the speaker in the middle, misheard in a way that is known, with words round it
    that mean nothing, a request with one value that can't be read, or like a sentence that is
    known; in this order.
    """
    repair = repaired(text)
    if repair is not None and repair.tokens != tokens:
        meant = understand(" ".join(repair.tokens), state, library)
        if repair.certain or isinstance(meant, Nothing):
            return meant
        return Like((" ".join(repair.tokens),))
    for put_right in (normalised(tokens), unpadded(tokens)):
        if put_right != tokens:
            return understand(as_given(text, put_right), state, library)
    nothing = _but_for_zero(tokens, state, library)
    if nothing is not None:
        return nothing
    alike = _alike(tokens, state, library)
    if alike is not None and not isinstance(alike, Like):
        return alike
    return (
        unreadable(tokens, state, library)
        or (Nothing() if about_the_number(text, state, library) else None)
        or alike
        or _sounds_like(tokens, state, library)
    )


def _but_for_zero(tokens: tuple[str, ...], state: State, library: Library) -> Unreadable | None:
    """Return the request that this would be, but for a zero or a minus in one of its lengths."""
    question = state.job.question
    for stand_in in STAND_INS:
        for tried, sort in without_nothing(tokens, stand_in):
            hits = library.book.matches(tried)
            meant = to_question(tried, hits, state, library) or meaning_of(hits, state, library)
            if isinstance(meant, Several):
                meant = meant.meanings[0]
            found = None
            if isinstance(meant, Request):
                found = spoilt(meant.card, meant.slots, sort, stand_in, library)
            elif isinstance(meant, Answer) and question is not None:
                slots = {**as_slots(question.slots), **meant.slots}
                found = spoilt(question.what, slots, sort, stand_in, library)
            if found is not None:
                return found
    return None


def _sounds_like(tokens: tuple[str, ...], state: State, library: Library) -> Meaning:
    """Return the sentence to ask about where a word has the sound of another ("ninety two …")."""
    for other, told_apart in swaps(tokens):
        if told_apart is ToldApart.PLACE:
            found = meaning_of(library.book.matches(other), state, library)
            if isinstance(found, Request | Several):
                return Like((" ".join(other),))
            alike = _alike(other, state, library)
            if alike is not None:
                return alike
    return Nothing()


def _paused(hits: list[Hit]) -> Meaning:
    """While paused, only going on and the wake words are understood."""
    for hit in hits:
        if hit.phrase.kind == "command" and hit.phrase.id in ("resume", "wake"):
            return Do(hit.phrase.id)
    return Nothing()


def _reason(text: str, hits: list[Hit], state: State) -> Meaning | None:
    place = state.job.place
    if not place or place[-1].phase not in ("reason", "accept"):
        return None
    for hit in hits:
        if hit.phrase.kind == "command" and hit.phrase.id in ("leave", "no", "undo"):
            return Do("leave")
    return Reason(text.strip())


SLOT_RULES = (
    "length",
    "angle",
    "gauge_pressure",
    "vacuum",
    "torque",
    "temperature",
    "mass",
    "time",
    "slope",
    "flow",
    "volume",
    "mass_per_length",
    "number",
)
"""The rules of numbers that a sentence is compared without."""


def _makes_sense(sentence: tuple[str, ...], state: State, library: Library) -> bool:
    """Return whether a sentence means something now, and nothing that is out of all measure."""
    meant = meaning_of(library.book.matches(sentence), state, library)
    if isinstance(meant, Request):
        return is_plausible(library.cards[meant.card], meant)
    if isinstance(meant, Take):
        return any(place[0].procedure == meant.procedure for place in state.job.parked)
    return meant is not None


def _alike(tokens: tuple[str, ...], state: State, library: Library) -> Meaning | None:
    """Return what the sentence that this one is very like means, those to ask about, or None."""
    near = [
        found
        for found in library.book.nearest(tokens, SLOT_RULES)
        if found.phrase.kind in ("calculator", "command", "fact", *PLAIN)
        and found.sentence != tokens
        and _makes_sense(found.sentence, state, library)
    ]
    if not near or near[0].likeness < UNSURE:
        return None
    rivals = [found for found in near[1:2] if near[0].likeness - found.likeness < GAP]
    if near[0].likeness >= SURE and not rivals:
        return understand(" ".join(near[0].sentence), state, library)
    asked = [near[0], *(found for found in rivals if found.likeness >= UNSURE)]
    return Like(tuple(" ".join(found.sentence) for found in asked))
