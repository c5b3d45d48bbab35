"""Everything the conversation knows, read from `data/` once, joined and cross-checked.

A `Library` is frozen: calculators with their words, procedures, facts, commands, safety lines,
one grammar for all of them. All faults of all files are told at once (`DataErrors`), except that
a broken procedure only takes itself out: `broken` says which and why.
"""

from __future__ import annotations

from handsfree.library.forms import (
    Command,
    Earcon,
    Enrolment,
    Fact,
    Hearing,
    Room,
    Safety,
    Sound,
    Watch,
    Words,
)
from handsfree.library.joined import Library
from handsfree.library.packs import with_pack
from handsfree.library.reading import library, read_library

__all__ = [
    "Command",
    "Earcon",
    "Enrolment",
    "Fact",
    "Hearing",
    "Library",
    "Room",
    "Safety",
    "Sound",
    "Watch",
    "Words",
    "library",
    "read_library",
    "with_pack",
]
