"""Text to tokens: what was typed or heard, as the words that the grammar knows.

Total: any text gives tokens, and the empty text gives none. A typed numeral (`14-1/4`, `0.63`)
stays one token, and so does a count of parts (`3 eighths` is `3/8`); `"` and `'` after a number
become inch and foot; hyphens between words part them; a unit that is typed with a mark inside
(`ft-lb`, `g/m`) is one token; a hyphen between two numbers is a `-` ("to"), one before a number is
`minus`. A comma inside a number parts thousands (`1,000`), or is a decimal comma where a metric
unit follows and leaves no doubt (`12,7 mm`); otherwise the token keeps it, and no number reads it.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from math import gcd

from handsfree.quantity import units

LONGEST = 10_000
"""Text beyond this many characters is left out: nobody says so much at once."""

_VULGAR = re.compile(r"([0-9]?)([¼½¾⅐-⅞])")
_ANY_JOINT, _TIGHT_JOINT = r"(?:\.?[ ]|[.\u00b7*-])", "[.\u00b7*-]"


def _vulgar(found: re.Match[str]) -> str:
    """Return a fraction sign as `1/2`, joined to the whole number before it."""
    top, _, bottom = unicodedata.normalize("NFKC", found[2]).partition("\u2044")
    return f"{found[1]}-{top}/{bottom}" if found[1] else f"{top}/{bottom}"


@cache
def _written() -> Mapping[str, Mapping[str, str]]:
    text = (resources.files("handsfree") / "data" / "written.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def _characters() -> Mapping[int, str]:
    return str.maketrans(dict(_written()["characters"]))


@cache
def _names() -> Mapping[str, tuple[str, ...]]:
    return {name: tuple(said.split()) for name, said in _written()["names"].items()}


@cache
def _words() -> Mapping[str, tuple[str, ...]]:
    return {token: tuple(said.split()) for token, said in _written()["words"].items()}


@cache
def _parts() -> Mapping[str, int]:
    return {name: int(parts) for name, parts in _written()["parts"].items()}


def _either(patterns: Iterator[str]) -> str:
    return "|".join(sorted(patterns, key=len, reverse=True))


@cache
def _pieces() -> re.Pattern[str]:
    """Return the pattern of one token; the name of the group says what it is."""
    symbols = {symbol for unit in units().values() for symbol in unit.typed}
    marked = (
        re.escape(symbol)
        .replace("·", _TIGHT_JOINT)
        .replace(r"\.", _ANY_JOINT)
        .replace("/", "[ ]?/[ ]?")
        for symbol in symbols
        if re.search(r"[./·]", symbol)
    )
    # "6ft3" is six foot three: a power stands apart from its number.
    powers = (symbol for symbol in symbols if re.fullmatch(r"[a-z]+[0-9][a-z]*", symbol))
    metric = (
        re.escape(form)
        for unit in units().values()
        if unit.system == "metric"
        for form in (*unit.typed, *unit.say, *unit.also)
        if " " not in form
    )
    return re.compile(
        rf"""(?P<name>(?<![a-z0-9])(?:{_either(re.escape(name) for name in _names())})(?![a-z0-9]))
          | (?P<thread>[0-9]+/[0-9]+(?=-[0-9]+(?![0-9]*/)))
          | (?P<mixed>[0-9]+-[0-9]+/[0-9]+)
          | (?P<fraction>[0-9]+/[0-9]+)
          | (?P<thousands>(?<![0-9],)[0-9]{{1,3}}(?:,[0-9]{{3}})+(?![0-9,])(?:\.[0-9]+)?)
          | (?P<comma>(?<![0-9],)[0-9]+,[0-9]+(?![0-9,]))(?=\ ?(?:{_either(metric)})(?![a-z]))
          | (?P<doubt>(?<![0-9],)[0-9]+,[0-9]+(?![0-9,]))
          | (?P<counted>(?<![0-9/.,-])[0-9]{{1,2}}(?:[ -]|(?![0-9]))
              (?:{_either(iter(_parts()))})(?![a-z0-9]))
          | (?P<number>[0-9]*\.[0-9]+ | [0-9]+)
          | (?P<inch>(?<=[0-9])\ ?"|(?<=[0-9])\ ?'')
          | (?P<foot>(?<=[0-9])\ ?'(?![a-z]))
          | (?P<symbol>(?<![a-z])(?:{_either(marked)})(?![a-z]))
          | (?P<power>(?<![a-z0-9])(?:{_either(powers)})(?![a-z0-9]))
          | (?P<times>(?<=[0-9])\ ?x(?=\ ?[0-9.]))
          | (?P<word>[^\W\d_]+(?:'[^\W\d_]+)*)
          | (?P<degree>°(?:[fc](?![a-z]))?)
          | (?P<hyphen>-)
          | (?P<mark>[{re.escape("".join(mark for mark in _words() if not mark.isalpha()))}%])""",
        re.VERBOSE,
    )


def tokenise(text: str) -> tuple[str, ...]:
    """Return the tokens of any text, in lower case."""
    line = _VULGAR.sub(_vulgar, text[:LONGEST].translate(_characters()))
    line = unicodedata.normalize("NFKC", line).translate(_characters()).lower()
    tokens: list[str] = []
    for found in _pieces().finditer(line):
        tokens.extend(_token(found, line))
    return tuple(tokens)


def as_given(text: str, tokens: tuple[str, ...]) -> str:
    """Return the end of a text that these tokens came of, with the capitals and marks it has.

    Where no end of it gives them, since words of it were put right first, they stand in a row.
    """
    words = text.split()
    while words:
        found = tokenise(" ".join(words))
        if found == tokens and tokenise(words[0]):
            return " ".join(words)
        if len(found) < len(tokens):
            break
        words = words[1:]
    return " ".join(tokens)


def _token(found: re.Match[str], line: str) -> tuple[str, ...]:
    text = found[0]
    match found.lastgroup:
        case "name":
            return _names()[text]
        case "counted":
            return _counted(text)
        case "thousands":
            return (text.replace(",", ""),)
        case "comma":
            return (text.replace(",", "."),)
        case "inch" | "foot":
            return (found.lastgroup,)
        case "times":
            return ("x",)
        case "symbol":
            return (_symbol(text),)
        case "hyphen":
            return _hyphen(line, found.start())
        case _:
            return _words().get(text, (text,))


def _counted(text: str) -> tuple[str, ...]:
    """Return a count of parts (`3 eighths`, `5 16ths`) as a fraction where it is one.

    "2 quarter inch nuts" are two nuts: one part's name is only taken for a fraction that can't be
    said with fewer.
    """
    count, name = re.match(r"([0-9]+)[ -]?(.*)", text, re.DOTALL).groups()  # type: ignore[union-attr]  # the pattern of a piece has both
    parts = _parts()[name]
    if int(count) < parts and (name.endswith("s") or gcd(int(count), parts) == 1):
        return (f"{int(count)}/{parts}",)
    return (count, name)


def _symbol(text: str) -> str:
    """Return the unit's symbol as `data/units.toml` writes it."""
    return _joints()[re.sub(r"[ .·*-]", "", text)]


@cache
def _joints() -> Mapping[str, str]:
    return {
        re.sub("[.·]", "", symbol): symbol for unit in units().values() for symbol in unit.typed
    }


def _hyphen(line: str, place: int) -> tuple[str, ...]:
    """Return what a hyphen says: "to" between numbers, "minus" before one, or nothing."""
    before, after = line[:place], line[place + 1 :]
    if not re.match(r" ?\.?[0-9]", after):
        return ()
    if re.search(r"[0-9]/[0-9]+$", before) and re.match(r"[0-9]+(?![0-9]*/)", after):
        return ()
    if re.search(r"[0-9]$", before) and re.match(r"[.0-9]", after):
        return ("-",)
    if re.search(r"[a-z'\"]$", before):
        return ()
    return ("minus",)
