"""A spoken number to a reading: which unit was meant, by the trade's rules.

The slot's kind has already decided between units of one name when the grammar read it: "pounds"
is psi in a pressure and lb on a scale. What is left here: no unit at all.
"""

from __future__ import annotations

from handsfree.language.numbers import Spoken
from handsfree.quantity import Kind, Reading


def to_reading(spoken: Spoken, kind: Kind, default_unit: str | None) -> Reading | None:
    """Return the reading, or None where no unit was said and none can be assumed.

    Raises `WrongKind` for a unit that does not measure this kind.
    """
    unit = spoken.unit or default_unit
    return None if unit is None else Reading(spoken.value, unit, kind)
