"""Pointing at a fault in a procedure file: the file, the step, the line and a caret under it."""

from __future__ import annotations

from handsfree.errors import DataError
from handsfree.procedures.model import Step


def fault_at(  # noqa: PLR0913 - where it is, what it is, what to do, what to point at
    file: str, text: str, step: Step | None, problem: str, hint: str = "", word: str = ""
) -> DataError:
    """Return a fault of a file, at a step of it or (None) at its head."""
    place = f'step "{step.id}"' if step is not None else ""
    return DataError(
        file, place, problem, hint, excerpt(text, word, step.id if step is not None else "")
    )


def excerpt(text: str, word: str, step: str = "") -> str:
    """Return the line on which a word stands, with a caret under it.

    With the id of a step, the line is sought from the head of that step on, and the head itself
    is shown where the word is not found; empty where there is neither.
    """
    inside, head = not step, ""
    for line in text.splitlines():
        if not inside and line.strip() == f'id = "{step}"':
            inside, head = True, line
        if inside and word and word in line:
            return f"    {line}\n    {' ' * line.index(word)}^"
    return f"    {head}\n    ^" if head else ""
