"""Drawings on disk: the last piece of a record, as an SVG file."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from handsfree.dialogue.results import last_sketch
from handsfree.errors import DeviceError, HandsfreeError
from handsfree.library import Library
from handsfree.record.entries import Calculated, Entry


class NothingToDraw(HandsfreeError):
    """No answer of this record has a drawing."""


def save(entries: Iterable[Entry], library: Library, file: str) -> None:
    """Write the last piece of a record as an SVG file.

    Raises `NothingToDraw`, and `DeviceError` where the file has another ending
    or cannot be written.
    """
    if Path(file).suffix.lower() != ".svg":
        raise DeviceError(f"{file} would hold SVG. Give it a name that ends in .svg.")
    sums = [entry for entry in entries if isinstance(entry, Calculated)]
    sketch = last_sketch(reversed(sums), library)
    if sketch is None:
        raise NothingToDraw(
            "Nothing there can be drawn. Ask for the marks of a whole piece, such as: "
            "ten up, ninety, eighteen across, ninety, twelve up."
        )
    try:
        Path(file).write_text(sketch.svg(), encoding="utf-8")
    except OSError as error:
        raise DeviceError(
            f"The drawing {file} cannot be written: {error.strerror}. Choose another place."
        ) from error
