"""How words sound: sequences of the acoustic model's phonemes, from `data/pronunciations.tsv`.

The file holds a row for each way of saying a word, American and British. A word without a row is
spelled out by the letter-to-sound model of the `hama` wheel, which guesses one way of saying it;
`missing` names such words, so that `check` can say so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from importlib import resources
from typing import Any

from handsfree.errors import DataError

__all__ = ["Lexicon", "Phonemes", "missing", "pronunciations", "written_down"]

Phonemes = tuple[str, ...]
FILE = "pronunciations.tsv"
_COLUMNS = "word\tpronunciation\tsource"


@cache
def written_down() -> Mapping[str, tuple[Phonemes, ...]]:
    """Return every way of saying each word of the data file; raises `DataError`."""
    text = (resources.files("handsfree") / "data" / FILE).read_text(encoding="utf-8")
    found: dict[str, list[Phonemes]] = {}
    lines = [
        (number, line)
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip() and not line.startswith("#")
    ]
    if not lines or lines[0][1] != _COLUMNS:
        raise DataError(FILE, "the first row", "the columns are word, pronunciation, source")
    for number, line in lines[1:]:
        word, sounds, source = [*line.split("\t"), "", ""][:3]
        if not sounds.split() or not source or line.count("\t") > _COLUMNS.count("\t"):
            raise DataError(
                FILE, f"line {number}", "a row is a word, its phonemes and where they are from"
            )
        found.setdefault(word, []).append(tuple(sounds.split()))
    return {word: tuple(dict.fromkeys(ways)) for word, ways in found.items()}


def pronunciations(word: str) -> tuple[Phonemes, ...]:
    """Return every way of saying a word; none where it is not a word but a figure or a sign."""
    known = written_down().get(word)
    return known if known is not None else _guessed(word)


def missing(words: Iterable[str]) -> list[str]:
    """Return the words that can be said but have no row in the data file, in order."""
    known = written_down()
    return sorted({word for word in words if word not in known and _sayable(word)})


def _sayable(word: str) -> bool:
    return word.replace("'", "").isalpha() and word.isascii()


@cache
def _letters_to_sounds() -> Any:
    import hama  # noqa: PLC0415 - only a word that nobody has written down needs it

    return hama.G2PModel()


@cache
def _guessed(word: str) -> tuple[Phonemes, ...]:
    if not _sayable(word):
        return ()
    found = tuple(part.phoneme for part in _letters_to_sounds().predict(word).alignments)
    return (found,) if found else ()


class Lexicon:
    """Numbers for words, from 1, given as they are asked for, and how each sounds and begins.

    `tokens` maps each phoneme of the acoustic model to its column; a guess that uses any other
    phoneme is dropped.
    """

    def __init__(self, tokens: Mapping[str, int]) -> None:
        self._tokens = tokens
        self._numbers: dict[str, int] = {}
        self.words: list[str] = [""]
        self.ways: list[tuple[tuple[int, ...], ...]] = [()]
        self.begins: list[tuple[int, ...]] = [()]

    def number(self, word: str) -> int | None:
        """Return a word's number; None where it cannot be heard."""
        if word not in self._numbers:
            ways = tuple(
                tuple(self._tokens[phoneme] for phoneme in way)
                for way in pronunciations(word)
                if all(phoneme in self._tokens for phoneme in way)
            )
            self._numbers[word] = len(self.words) if ways else 0
            if ways:
                self.words.append(word)
                self.ways.append(ways)
                self.begins.append(tuple(dict.fromkeys(way[0] for way in ways)))
        return self._numbers[word] or None
