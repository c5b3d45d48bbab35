"""Values of a kind that comes several times, said one after the other: legs and angles in turn.

Such a run of number words can be cut in many ways. Meant is the one that reads fewest of them in
an unusual way, has most angles that have a name, and cuts fewest numbers apart: "ten forty five
twenty" is 10, 45, 20. Where two are as likely, it is asked.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from handsfree.calculators.card import Card, Parameter
from handsfree.dialogue.meanings import Request
from handsfree.dialogue.slots import request_of
from handsfree.dialogue.state import State
from handsfree.language.grammar import Choice, Expansion, Rule, bind, parse_phrase, sentences
from handsfree.language.numbers import readings
from handsfree.language.spoken import Sense, Spoken
from handsfree.library import Library
from handsfree.quantity import Kind

USUAL = (Sense.SAID, Sense.FRACTION)
"""The ways of reading a number that need no guess."""


def run_of(card: Card, names: Sequence[str]) -> Expansion | None:
    """Return what reads several values of one of these parameters, or two of them in turn.

    None where none of them can come several times. Two take turns in the order of the card, and
    the first of them also comes last.
    """
    many = [
        parameter
        for parameter in card.parameters
        if isinstance(parameter, Parameter) and parameter.many and parameter.name in names
    ]
    if not many:
        return None
    rules = {parameter.name: parameter.grammar_rule for parameter in many}
    if len(many) == 1:
        return bind(parse_phrase(f"<{many[0].name}> ([and] <{many[0].name}>)+"), rules)
    first, second = many[0].name, many[1].name
    return bind(parse_phrase(f"<{first}> (<{second}> <{first}>)+"), rules)


def requests_in_order(
    tokens: tuple[str, ...], card: Card, names: Sequence[str], state: State, library: Library
) -> list[Request]:
    """Return what such a run can mean, only the likeliest readings; none where it is no run."""
    expansion = run_of(card, names)
    if expansion is None:
        return []
    corners = _corners(library)
    angles = {p.name for p in card.parameters if isinstance(p, Parameter) and p.kind == Kind.ANGLE}
    found: list[tuple[tuple[int, int, int], Request]] = []
    for values in library.parser.readings(expansion, tokens):
        request = request_of(card, tuple(values), {}, state)
        spoken = [value for _, value in values if isinstance(value, Spoken)]
        if request is None or request.unsettled or card.implausible(request.slots):
            continue
        unusual = sum(value.sense not in USUAL for value in spoken)
        bends = [
            value.value for name, value in values if isinstance(value, Spoken) and name in angles
        ]
        odd = sum(bend not in corners for bend in bends)
        found.append(((unusual, odd, _cuts(spoken)), request))
    least = min((cost for cost, _ in found), default=None)
    return [request for cost, request in found if cost == least]


def _corners(library: Library) -> set[Fraction]:
    """Return the angles that are bent every day: those with names (nineties, forty fives)."""
    # figures with signs are no rules, and no names
    rules = defaultdict(lambda: Choice(()), library.rules)
    return {
        spoken.value
        for sentence in sentences(Rule("corners"), rules)
        for spoken in readings(sentence, "angle")
    }


def _cuts(spoken: Sequence[Spoken]) -> int:
    """Return how often two neighbours would be one number, were they not cut apart."""
    return sum(_one(before.words, after.words) for before, after in pairwise(spoken))


def _one(before: tuple[str, ...], after: tuple[str, ...]) -> bool:
    """Return whether the words on both sides of a cut make one number: forty and five, two hundred.

    Not just any: "fifteen ninety" may be a number, but not one that is made of the two.
    """
    lefts, rights = _values(before[-1:]), _values(after[:1])
    wholes = _values(before[-1:] + after[:1])
    return any(whole in (a + b, a * b) for whole in wholes for a in lefts for b in rights)


def _values(words: tuple[str, ...]) -> list[Fraction]:
    found = readings(words, "integer") if words else []
    return [spoken.value for spoken in found if spoken.sense is Sense.SAID]
