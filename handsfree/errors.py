"""The whole error tree.

    HandsfreeError          anything this package raises on purpose
    ├── DataError           a data file is wrong: file, place, problem, what to do
    │   └── DataErrors      all faults of all files, told at once
    ├── ReadingError        a reading cannot be used as asked
    │   └── WrongKind       a difference is not a temperature, a vacuum is not a length
    ├── Refusal             the trade says no: why, and what instead
    ├── JournalError        a record on disk cannot be read or written
    └── DeviceError         microphone, loudspeaker, recogniser or file failed

Misunderstanding the user is a result, not an error, so it has no place here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence


class HandsfreeError(Exception):
    """Anything this package raises on purpose; `str()` is a sentence for the person."""


class DataError(HandsfreeError):
    """A data file is wrong.

    Attributes: `file` and `place` (where), `problem` (what), `hint` (what to do, or empty),
    `excerpt` (the line with a caret under the fault, or empty).
    """

    def __init__(
        self, file: str, place: str, problem: str, hint: str = "", excerpt: str = ""
    ) -> None:
        self.file, self.place, self.problem, self.hint = file, place, problem, hint
        self.excerpt = excerpt
        where = f"{file}, {place}" if place else file
        text = f"{where}: {problem}."
        if hint:
            text += f" {hint}"
        if excerpt:
            text += "\n" + excerpt
        super().__init__(text)


class DataErrors(DataError):
    """All faults of all data files, told at once; `faults` holds each."""

    def __init__(self, faults: Sequence[DataError]) -> None:
        self.faults = tuple(faults)
        HandsfreeError.__init__(self, "\n".join(str(fault) for fault in self.faults))


class ReadingError(HandsfreeError):
    """A reading cannot be used as asked."""


def _article(words: str) -> str:
    return "an" if words[:1] in "aeiou" else "a"


class WrongKind(ReadingError):
    """A reading of one kind stands where another is due (`got`, `wanted`: names of kinds)."""

    def __init__(self, got: str, wanted: str) -> None:
        self.got, self.wanted = got, wanted
        super().__init__(f"That is {_article(got)} {got}, and I need {_article(wanted)} {wanted}.")


class Refusal(HandsfreeError):
    """The trade says no. `key` names the words (they live in data), `values` fill them in."""

    def __init__(self, key: str, values: Mapping[str, object] | None = None) -> None:
        self.key = key
        self.values: dict[str, object] = dict(values or {})
        super().__init__(key)


class JournalError(HandsfreeError):
    """A record on disk cannot be read or written."""


class DeviceError(HandsfreeError):
    """A microphone, loudspeaker, recogniser or audio file failed; the text says what to do."""
