"""Text to tokens: what was typed or heard, as the words that the grammar knows.

Total: any text gives tokens, and the empty text gives none. A typed numeral (`14-1/4`, `0.63`)
stays one token; `"` and `'` after a number become inch and foot; hyphens between words part them.
"""

from __future__ import annotations

import re
import unicodedata

LONGEST = 10_000
"""Text beyond this many characters is left out: nobody says so much at once."""

_QUOTES = str.maketrans({"’": "'", "‘": "'", "“": '"', "”": '"', "′": "'", "″": '"', "×": " x ", "−": "-", "–": "-"})
_VULGAR = re.compile(r"(\d)?\s?([¼½¾⅐-⅞])")
_THOUSANDS = re.compile(r"(?<=\d),(?=\d{3}(?!\d))")
_TORQUE = re.compile(r"\b(ft|in)[ .·-]?(lbf|lbs|lb)\b|\b(lbf|lb)[ .·-](ft|in)\b|\bn[·.]?m\b")
_FEET = re.compile(r"(\d)\s?'(?=[\s\d]|$)")
_INCHES = re.compile(r'(\d)\s?"')
_TOKEN = re.compile(
    r"""-?\d+[- ]\d+/\d+(?!\d) | -?\d+/\d+ | -?\d*\.\d+ | -?\d+
      | [a-z]+(?:'[a-z]+)* | °[fc]? | %
      | [^\W\d_]+""",
    re.VERBOSE,
)


def _vulgar(found: re.Match[str]) -> str:
    top, _, bottom = unicodedata.normalize("NFKC", found[2]).partition("\u2044")
    return f"{found[1]}-{top}/{bottom}" if found[1] else f"{top}/{bottom}"


def _torque(found: re.Match[str]) -> str:
    text = found[0]
    if text.startswith("n"):
        return "nm"
    return " inlb " if "in" in text else " ftlb "


def tokenise(text: str) -> tuple[str, ...]:
    """Return the tokens of any text, in lower case."""
    line = text[:LONGEST].translate(_QUOTES)
    line = _VULGAR.sub(_vulgar, line).lower()
    line = _THOUSANDS.sub("", line)
    line = _FEET.sub(r"\1 foot ", line)
    line = _INCHES.sub(r"\1 inch ", line)
    line = _TORQUE.sub(_torque, line)
    line = re.sub(r"(?<=[a-z])-(?=[a-z])", " ", line)
    line = re.sub(r"(?<=\d)(?=[a-z])", " ", line)
    return tuple(_TOKEN.findall(line))
