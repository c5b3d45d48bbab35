"""A firm's own pack on disk: a folder, read as a whole and within bounds, or told why not."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

from handsfree.errors import DataError
from handsfree.library import Library, library, with_pack

SETTING = "HANDSFREE_WITH"
MOST_FILES = 200
LARGEST = 200_000
"""Files of a pack, and bytes of one: far above what a firm writes, far below what hurts."""


def library_with(folder: str | None) -> Library:
    """Return the library with the pack of this folder, or of `HANDSFREE_WITH`; shipped without.

    A pack that cannot be read or has a fault is left out; `left_out` of the library says why.
    """
    chosen = folder or os.environ.get(SETTING)
    return _read(Path(chosen).expanduser().absolute()) if chosen else library()


@cache
def _read(folder: Path) -> Library:
    texts: dict[str, str] = {}
    faults: list[DataError] = []
    try:
        for number, path in enumerate(_files(folder)):
            name = path.relative_to(folder).as_posix()
            if number == MOST_FILES:
                hint = f"A pack holds at most {MOST_FILES} files."
                faults.append(DataError(str(folder), "", "there is too much in it", hint))
                break
            fault = _text(path, name, texts)
            faults.extend([fault] if fault else [])
    except OSError as error:
        hint = "Give the folder that holds pack.toml."
        faults.append(DataError(str(folder), "", f"it cannot be read: {error.strerror}", hint))
    return replace(library(), left_out=tuple(faults)) if faults else with_pack(texts)


def _files(folder: Path) -> Iterator[Path]:
    """Yield the files of the folder and of the folders in it, in order, hidden ones left out."""
    for path in sorted(folder.iterdir()):
        if path.name.startswith("."):
            continue
        if path.is_dir():
            yield from (one for one in sorted(path.iterdir()) if not one.name.startswith("."))
        else:
            yield path


def _text(path: Path, name: str, texts: dict[str, str]) -> DataError | None:
    """Put the text of a file among the texts, or return why it cannot be one."""
    if not path.is_file():
        return DataError(name, "", "this is no file", "A pack holds files one folder deep.")
    with path.open("rb") as file:
        content = file.read(LARGEST + 1)
    if len(content) > LARGEST:
        return DataError(name, "", f"it is larger than {LARGEST} bytes", "Split it.")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        return DataError(name, f"byte {error.start}", "this is not UTF-8", "Save it as UTF-8.")
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.replace("\t", " ").rstrip("\r").isprintable():
            return DataError(name, f"line {number}", "it holds a control character", "Delete it.")
    texts[name] = text
    return None
