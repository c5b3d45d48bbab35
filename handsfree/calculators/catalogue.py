"""Every calculator, in one visible list. Everything else reads this tuple."""

from __future__ import annotations

from handsfree.calculators import (
    charge,
    conversions,
    fixing,
    fractions,
    joints,
    lengths,
    pressure_test,
    saturation,
    sockets,
    tubes,
    vacuum,
)
from handsfree.calculators.bends import cards_single
from handsfree.calculators.card import Card

CARDS: tuple[Card, ...] = (
    cards_single.bend_mark,
    cards_single.cut_length,
    joints.flare_size,
    joints.torque,
    joints.crowfoot,
    sockets.socket_depth,
    sockets.braze_gap,
    tubes.tube_pressure,
    pressure_test.test_pressure_now,
    vacuum.vacuum_decay,
    charge.added_charge,
    pressure_test.purge_time,
    charge.cylinder_limit,
    saturation.superheat,
    saturation.subcooling,
    saturation.saturation,
    fractions.fractions,
    conversions.convert_length,
    conversions.convert_pressure,
    conversions.convert_vacuum,
    conversions.convert_temperature,
    conversions.convert_weight,
    conversions.convert_torque,
    fixing.wall_hole,
    fixing.supports,
    fixing.fall,
    fixing.insulation,
    lengths.twist,
    lengths.ovality,
    lengths.growth,
    tubes.tube_weight,
    tubes.line_volume,
    pressure_test.nitrogen_left,
    lengths.running_total,
    lengths.equal_spacing,
    tubes.tube_size,
    charge.carbon_equivalent,
)
