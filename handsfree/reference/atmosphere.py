"""The pressure of the air around a gauge, by altitude.

Source: U.S. Standard Atmosphere, 1976, the troposphere's law with its constants.
"""

from __future__ import annotations

from handsfree.quantity import Kind, Number, Reading

SEA_LEVEL_PASCAL = 101_325.0
SEA_LEVEL_KELVIN = 288.15
LAPSE_KELVIN_PER_METRE = 0.0065
EARTH_RADIUS_METRE = 6_356_766.0
EXPONENT = 9.80665 * 0.0289644 / (8.31432 * LAPSE_KELVIN_PER_METRE)


def atmosphere(altitude_metre: Number | None) -> Reading:
    """Return the pressure of the air at a height above the sea, pascals absolute.

    Without a height: at sea level. Good to 11 km, as no job is higher.
    """
    height = float(altitude_metre or 0)
    geopotential = EARTH_RADIUS_METRE * height / (EARTH_RADIUS_METRE + height)
    warmth = 1 - LAPSE_KELVIN_PER_METRE * geopotential / SEA_LEVEL_KELVIN
    return Reading(SEA_LEVEL_PASCAL * warmth**EXPONENT, "pascal", Kind.ABSOLUTE_PRESSURE)
