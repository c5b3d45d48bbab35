"""What the phrases that matched a sentence mean, in the state of the conversation."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from handsfree.dialogue.following import ANY, following, that
from handsfree.dialogue.meanings import (
    Batch,
    Begin,
    Do,
    DoneWith,
    Facts,
    HandBack,
    Meaning,
    Over,
    Request,
    Several,
    StageDone,
    Take,
    Tell,
)
from handsfree.dialogue.slots import (
    described,
    fact_value,
    fewest_missing,
    request_of,
    tape,
    with_touch,
)
from handsfree.dialogue.state import State
from handsfree.dialogue.wording import as_it_stands
from handsfree.language.grammar import Rule
from handsfree.language.matching import Hit
from handsfree.language.numbers import Spoken
from handsfree.library import Library
from handsfree.quantity import Reading


def meaning_of(hits: list[Hit], state: State, library: Library) -> Meaning | None:
    """Return the meaning of the phrases that matched, the one with most words of its own."""
    if not hits:
        return None
    by_kind: dict[str, list[Hit]] = {}
    for hit in hits:
        by_kind.setdefault(hit.phrase.kind, []).append(hit)
    if "refuse" in by_kind:
        return HandBack(by_kind["refuse"][0].phrase.id)
    if "command" in by_kind:
        return _command(max(by_kind["command"], key=lambda hit: hit.literal))
    for kind, form in PLAIN.items():
        if kind in by_kind:
            return form(by_kind[kind][0].phrase.id)
    requests = _requests(by_kind.get("calculator", []), state, library)
    if requests is not None:
        return requests
    return _facts(by_kind.get("fact", []), state, library)


PLAIN: Mapping[str, Callable[[str], Meaning]] = {
    "procedure": Begin,
    "take": Take,
    "batch": Batch,
    "done with": DoneWith,
    "answer": Tell,
    "off": Over,
    "stage": StageDone,
}
"""Kinds of phrase that mean just their owner."""


def _command(hit: Hit) -> Do:
    slots = hit.slots
    if "text" in slots:
        words = slots["text"][0]
        return Do(hit.phrase.id, " ".join(words) if isinstance(words, tuple) else str(words))
    if "name" in slots:
        return Do(hit.phrase.id, str(slots["name"][0]).capitalize())
    if "duration" in slots:
        spoken: Spoken = slots["duration"][0]
        factor = {"second": 1, "minute": 60, "hour": 3600}[spoken.unit or "minute"]
        return Do(hit.phrase.id, seconds=spoken.value * factor, bare=spoken.unit is None)
    return Do(hit.phrase.id)


def _unitless(hit: Hit) -> bool:
    """Return whether nothing but a number without a unit was said."""
    return isinstance(hit.phrase.expansion, Rule) and all(
        isinstance(value, Spoken) and value.unit is None for _, value in hit.bound
    )


def _made(hits: list[Hit], state: State, library: Library) -> list[tuple[Hit, Request]]:
    """Return the requests that the hits make, what they follow filled in."""
    found: list[tuple[Hit, Request]] = []
    for hit in hits:
        card = library.cards[hit.phrase.id]
        for said in with_touch(card, hit.bound, state):
            bound = tuple((name, value) for name, value in said)
            request = request_of(card, bound, hit.phrase.presets, state)
            if request is None or (not hit.literal and (request.unsettled or _unitless(hit))):
                continue
            if hit.phrase.follows == (ANY,):
                request = that(request, card, state, library)
            elif hit.phrase.follows:
                request = following(request, card, hit.phrase.follows, state)
            found.append((hit, request))
    return found


def _those_that_know(
    made: list[tuple[Hit, Request]], library: Library
) -> list[tuple[Hit, Request]]:
    """Return the requests without those that "that" can't be meant for, where it can for others.

    Where it can for none, the first: each would ask the same.
    """
    vain = [
        (hit, request)
        for hit, request in made
        if hit.phrase.follows == (ANY,) and library.cards[request.card].missing(request.slots)
    ]
    kept = [one for one in made if one not in vain]
    return kept or vain[:1]


def _requests(hits: list[Hit], state: State, library: Library) -> Meaning | None:
    """Return the request that was made; where two were, both, to be asked about."""
    by_card: dict[str, list[Request]] = {}
    most: dict[str, int] = {}
    for hit, request in _those_that_know(_made(hits, state, library), library):
        by_card.setdefault(request.card, []).append(request)
        most[request.card] = max(most.get(request.card, 0), hit.literal)
    if not by_card:
        return None
    ranked: list[tuple[int, int, Request]] = []
    for name, requests in by_card.items():
        card = library.cards[name]
        best = fewest_missing(card, requests, {}, state)
        ranked.extend((len(request.unsettled), -most[name], request) for request in best)
    ranked.sort(key=lambda entry: entry[:2])
    top = [request for *rank, request in ranked if rank == list(ranked[0][:2])]
    if len(top) == 1:
        return top[0]
    if top[0].card == top[1].card:
        return Several(*described(top[0], top[1]), (top[0], top[1]))
    titles = [library.words[request.card].title for request in top[:2]]
    first, second = (as_it_stands(title) for title in titles)
    return Several(first, second, (top[0], top[1]))


def _facts(hits: list[Hit], state: State, library: Library) -> Meaning | None:
    for hit in hits:
        values: dict[str, Reading | str] = {}
        for name, value in hit.bound:
            kept = fact_value(library.facts[name], value, tape(state))
            if kept is None:
                break
            values[name] = kept
        else:
            if values:
                return Facts(values)
    return None
