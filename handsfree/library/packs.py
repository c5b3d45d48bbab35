"""The library with a firm's own pack, or without it where the pack has a fault."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from handsfree.errors import DataError, DataErrors
from handsfree.library.firm import read_additions
from handsfree.library.firm_rules import firm_faults
from handsfree.library.joined import Library
from handsfree.library.reading import library, read_library


def with_pack(texts: Mapping[str, str]) -> Library:
    """Return the library with a firm's pack, given as texts by their path within it.

    A pack with any fault is left out whole: the library is then the shipped one, and `left_out`
    holds every fault.
    """
    shipped = library()
    try:
        added = read_additions(texts)
        faults = tuple(firm_faults(added, shipped))
        joined = shipped if faults else read_library(added=added)
    except DataErrors as error:
        return replace(shipped, left_out=error.faults)
    return replace(shipped, left_out=faults) if faults else _sound(joined, shipped)


def _sound(joined: Library, shipped: Library) -> Library:
    """Return the joined library, or the shipped one where the pack broke a procedure."""
    known = {str(fault) for fault in shipped.broken}
    faults = tuple(_in_the_pack(fault) for fault in joined.broken if str(fault) not in known)
    return replace(shipped, left_out=faults) if faults else joined


def _in_the_pack(fault: DataError) -> DataError:
    """Return a fault of a procedure with the folder of the pack that it stands in."""
    file = f"procedures/{fault.file}"
    return DataError(file, fault.place, fault.problem, fault.hint, fault.excerpt)
