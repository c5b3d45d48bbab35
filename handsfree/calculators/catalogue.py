"""Every calculator, in one visible list. Everything else reads this tuple."""

from __future__ import annotations

from handsfree.calculators import conversions, fractions, joints
from handsfree.calculators.bends import cards_single
from handsfree.calculators.card import Card

CARDS: tuple[Card, ...] = (
    cards_single.bend_mark,
    cards_single.cut_length,
    joints.flare_size,
    joints.torque,
    fractions.fractions,
    conversions.convert_length,
    conversions.convert_pressure,
    conversions.convert_vacuum,
    conversions.convert_torque,
)
