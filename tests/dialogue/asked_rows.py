"""The sentences of a table, and what each must come to."""

from __future__ import annotations

import csv
from pathlib import Path


def asked_rows(file: Path) -> list[tuple[str, str, str]]:
    """Return the rows of a table of three columns, without the names of its columns."""
    with file.open(encoding="utf-8", newline="") as text:
        return [(one, two, three) for one, two, three in csv.reader(text, delimiter="\t")][1:]
