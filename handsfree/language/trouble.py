"""What is wrong with a number that cannot be used, in one sentence that says what to do."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Any

from handsfree.language.expansions import words
from handsfree.language.grammar import Expansion, Rule, parse_phrase
from handsfree.language.numbers import SLOT_RULES, number_parser, number_rules, readings
from handsfree.language.numerals import numeral
from handsfree.language.speaking import say_number
from handsfree.language.spoken import LONGEST_NUMBER, Sense, Spoken
from handsfree.language.units import ABOVE_ZERO, NO_TAPE_FRACTIONS, SIGNED
from handsfree.quantity import Kind, units

Tokens = tuple[str, ...]
MOST_FIGURES = 7
_NAMES = {"size": "tube size", "decimal_inch": "diameter"}
_PLAIN = frozenset((Sense.SAID, Sense.FRACTION, Sense.FIGURES))
"""Ways of saying in which a unit was said and not only supplied."""
_MINUS = frozenset(("minus", "negative"))
STAND_INS = ("18.5", "22.5")
"""Lengths and angles alike, and no number's part; the second is an angle that is bent every day."""
_LONGEST_BELOW = 6
"""Words of a length that a minus may stand before: "twenty two and a half"."""
_JOINTS = frozenset(("to", "and", "by", "or", "then", "x", "-"))
_COMMA = re.compile(r"[0-9]+,[0-9]+")
_LARGE = frozenset(("million", "millions", "billion", "billions"))


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What is wrong: the name of its sentence in `data/trouble.toml`, and what fills it in."""

    name: str
    values: Mapping[str, str] = field(default_factory=dict)


@cache
def _data() -> Mapping[str, Any]:
    place = resources.files("handsfree") / "data" / "trouble.toml"
    return tomllib.loads(place.read_text(encoding="utf-8"))


@cache
def _expansion(text: str) -> Expansion:
    return parse_phrase(text, "trouble", "")


def _reads(text: str, tokens: Tokens) -> tuple[Any, ...] | None:
    """Return the values of the first parse of all tokens under a phrase, or None."""
    found = number_parser().readings(_expansion(text), tokens)
    return found[0] if found else None


def trouble(tokens: Tokens, rule: str) -> str | None:
    """Return one sentence on why these tokens are no `rule` (`length`, `size` …) to work with.

    None where they are. Total: any tokens.
    """
    found = diagnosis(tokens, rule)
    if found is None:
        return None
    sentence = _data()["sentences"][found.name].format(wanted=wanted(rule), **found.values)
    return str(sentence[:1].upper() + sentence[1:])


def wanted(rule: str) -> str:
    """Return how the value of a slot's rule is named to the person."""
    return _NAMES.get(rule, rule.replace("_", " "))


def diagnosis(tokens: Tokens, rule: str) -> Diagnosis | None:
    """Return what is wrong with tokens for a slot's rule, or None where they fit it."""
    found = readings(tokens, rule)
    if found:
        return _unusable(found, rule)
    for check in _CHECKS if len(tokens) <= LONGEST_NUMBER else ():
        result = check(tokens, rule)
        if result is not None:
            return result
    return Diagnosis("muddled" if any(map(_of_a_number, tokens)) else "nothing")


def _unusable(found: list[Spoken], rule: str) -> Diagnosis | None:
    """Return what rules out every reading: unsold, nothing at all, gauge for absolute."""
    first = found[0]
    if all(spoken.unsold for spoken in found):
        return Diagnosis("unsold", {"said": _said(first)})
    if first.sense is Sense.FRACTION and first.unit in NO_TAPE_FRACTIONS:
        return Diagnosis("mixed_systems")
    if first.value == 0 and _kind(rule) in ABOVE_ZERO:
        return Diagnosis("zero")
    other = {"gauge_pressure": "absolute", "absolute_pressure": "gauge"}.get(rule)
    if other is not None and first.basis == other:
        return _other_kind(f"{other}_pressure", rule)
    return None


def without_nothing(tokens: Tokens, stand_in: str) -> Iterator[tuple[Tokens, str]]:
    """Yield tokens with a stand-in for what is `zero` or `below_zero` in them, and which it is."""
    zero = tuple(stand_in if _is_zero(token) else token for token in tokens)
    if zero != tokens:
        yield zero, "zero"
    for place, token in enumerate(tokens):
        if token.startswith("-") and numeral(token[1:]) is not None:
            yield (*tokens[:place], stand_in, *tokens[place + 1 :]), "below_zero"
        elif token in _MINUS:
            for end in range(min(len(tokens), place + 1 + _LONGEST_BELOW), place + 1, -1):
                if readings(tokens[place + 1 : end], "number"):
                    yield (*tokens[:place], stand_in, *tokens[end:]), "below_zero"


def nothing_trouble(sort: str, name: str) -> str:
    """Return one sentence on a slot that is `zero` or `below_zero`."""
    sentence = str(_data()["sentences"][f"{sort}_slot"]).format(wanted_one=_a(wanted(name)))
    return sentence[:1].upper() + sentence[1:]


@cache
def _is_zero(token: str) -> bool:
    return bool(number_parser().readings(Rule("zero"), (token,)))


def _kind(rule: str) -> Kind | None:
    name = "length" if rule in ("size", "decimal_inch") else rule.replace("_", " ")
    return next((kind for kind in Kind if kind == name), None)


def _said(spoken: Spoken) -> str:
    number = say_number(spoken.value)
    return f"{number} {units()[spoken.unit].say[1]}" if spoken.unit == "millimetre" else number


def _other_kind(got: str, rule: str) -> Diagnosis:
    return Diagnosis("other_kind", {"got": _a(wanted(got)), "wanted_one": _a(wanted(rule))})


def _a(name: str) -> str:
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"


@cache
def _number_words() -> frozenset[str]:
    rules = number_rules()
    return words(rules["amount"], rules) - {"a", "an", "and"}


def _of_a_number(token: str) -> bool:
    return token in _number_words() or numeral(token) is not None or token[0].isdigit()


# ---------------------------------------------------------------------------- the checks, in order


def _doubtful_comma(tokens: Tokens, _: str) -> Diagnosis | None:
    return Diagnosis("doubtful_comma") if any(map(_COMMA.fullmatch, tokens)) else None


def _thread(tokens: Tokens, _: str) -> Diagnosis | None:
    found = _reads("[a] <thread>", tokens)
    if found is None:
        return None
    diameter, pitch = found[-1].diameter, found[-1].pitch
    return Diagnosis("thread", {"said": f"{say_number(diameter)}, {say_number(Fraction(pitch))}"})


def _compound_gauge(tokens: Tokens, rule: str) -> Diagnosis | None:
    inches = _reads("<amount> <inch_word> [of (mercury | vacuum)] [vacuum]", tokens)
    return Diagnosis("compound_gauge") if rule == "vacuum" and inches is not None else None


def _below_zero(tokens: Tokens, rule: str) -> Diagnosis | None:
    signed = _kind(rule) in SIGNED
    below = not signed and tokens[:1] and tokens[0] in _MINUS and readings(tokens[1:], rule)
    return Diagnosis("below_zero") if below else None


def _zero(tokens: Tokens, rule: str) -> Diagnosis | None:
    unit = f" [<unit_of_{str(kind).replace(' ', '_')}>]" if (kind := _kind(rule)) else ""
    return Diagnosis("zero") if _reads(f"<zero>{unit}", tokens) is not None else None


def _not_tape(tokens: Tokens, _: str) -> Diagnosis | None:
    odd = next((token for token in tokens if token in _data()["not_tape"]), None)
    if odd is None:
        return None
    return Diagnosis("not_tape", {"said": odd if odd.endswith("s") else f"{odd}s"})


def _half_of(tokens: Tokens, _: str) -> Diagnosis | None:
    part = _reads(
        "half [of] (a | an) [heavy] (<eighth_word> | <sixteenth_word>) [of an inch]", tokens
    )
    return (
        None
        if part is None
        else Diagnosis("half_of", {"part": {"8": "eighth"}.get(part[0], "sixteenth")})
    )


def _too_long(tokens: Tokens, _: str) -> Diagnosis | None:
    count = sum(1 for token in tokens if _figure(token))
    typed = max((len(token) for token in tokens if token.isdecimal()), default=0)
    if count > MOST_FIGURES or typed > MOST_FIGURES:
        return Diagnosis("too_long", {"count": say_number(Fraction(max(count, typed)))})
    return Diagnosis("too_big") if _LARGE & set(tokens) and any(map(_of_a_number, tokens)) else None


def _figure(token: str) -> bool:
    return bool(number_parser().readings(Rule("figure"), (token,)))


def _over(tokens: Tokens, large: str, small: str, most: int, name: str) -> Diagnosis | None:
    """Return the diagnosis for more of the small unit than makes one of the large."""
    found = _reads(f"[a {{1}} | <natural>] <{large}_word> [and] <amount> [<{small}_word>]", tokens)
    more = [part.value for part in found or () if isinstance(part, Spoken)]
    if not more or more[0] < most:
        return None
    return Diagnosis(name, {"number": say_number(more[0])})


def _over_a_foot(tokens: Tokens, _: str) -> Diagnosis | None:
    return _over(tokens, "foot", "inch", 12, "over_a_foot")


def _over_a_pound(tokens: Tokens, _: str) -> Diagnosis | None:
    return _over(tokens, "pound", "ounce", 16, "over_a_pound")


_PART_WORDS = (
    "(<quarter_word> | <eighth_word> | <sixteenth_word> | <thirty_second_word> "
    "| <sixty_fourth_word>)"
)


def _whole_or_more(tokens: Tokens, _: str) -> Diagnosis | None:
    found = _reads(f"[<natural> and] <below_hundred> {_PART_WORDS} [[of an] <inch_word>]", tokens)
    fraction = next((token for token in tokens if re.fullmatch(r"[0-9]+/[0-9]+", token)), None)
    if found is not None:
        said = " ".join(tokens)
        return Diagnosis("whole_or_more", {"said": said})
    if fraction is None or numeral(fraction) is not None:
        return None
    top, bottom = (int(part) for part in fraction.split("/"))
    return Diagnosis("whole_or_more" if top >= bottom else "not_tape", {"said": fraction})


def _not_lowest(tokens: Tokens, rule: str) -> Diagnosis | None:
    """Return that a tube size was told in parts that nobody sells it by: four eighths."""
    if rule != "size" or _reads("<counted> [<inch_word>]", tokens) is None:
        return None
    return Diagnosis("not_lowest", {"said": " ".join(tokens)})


def _units_said(tokens: Tokens) -> frozenset[str]:
    """Return the lengths' units that stand anywhere in the tokens."""
    parse = number_parser().session(tokens)
    return frozenset(
        str(values[-1])
        for start in range(len(tokens))
        for _, values in parse.rule("unit_of_length", start)
    )


def _mixed_systems(tokens: Tokens, _: str) -> Diagnosis | None:
    systems = {units()[unit].system for unit in _units_said(tokens)}
    return Diagnosis("mixed_systems") if len(systems) > 1 else None


def _another_slot(tokens: Tokens, rule: str) -> Diagnosis | None:
    for other in SLOT_RULES:
        found = readings(tokens, other) if other != rule else []
        if any(one.sense in _PLAIN and one.unit not in (None, "one") for one in found):
            return _other_kind(other, rule)
    return None


def _two_numbers(tokens: Tokens, rule: str) -> Diagnosis | None:
    for place in range(len(tokens) - 1, 0, -1):
        first = readings(tokens[:place], rule) or readings(tokens[:place], "number")
        rest = tokens[place + 1 :] if tokens[place] in _JOINTS else tokens[place:]
        second = readings(rest, rule) or readings(rest, "number")
        if first and second:
            texts = {"first": " ".join(tokens[:place]), "second": " ".join(rest)}
            return Diagnosis("two_numbers", texts)
    return None


def _vague(tokens: Tokens, _: str) -> Diagnosis | None:
    word = next((token for token in tokens if token in _data()["vague"]), None)
    return None if word is None else Diagnosis("vague", {"word": word})


_CHECKS: tuple[Callable[[Tokens, str], Diagnosis | None], ...] = (
    _doubtful_comma,
    _vague,
    _thread,
    _compound_gauge,
    _below_zero,
    _zero,
    _half_of,
    _not_tape,
    _too_long,
    _over_a_foot,
    _over_a_pound,
    _not_lowest,
    _whole_or_more,
    _mixed_systems,
    _another_slot,
    _two_numbers,
)

__all__ = [
    "STAND_INS",
    "Diagnosis",
    "diagnosis",
    "nothing_trouble",
    "trouble",
    "wanted",
    "without_nothing",
]
