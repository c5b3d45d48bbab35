"""Every calculator, in one visible list. Everything else reads this tuple."""

from __future__ import annotations

from handsfree.calculators import conversions, fractions, joints
from handsfree.calculators.bends import (
    cards_bender,
    cards_fault,
    cards_marks,
    cards_offsets,
    cards_piece,
    cards_saddles,
    cards_single,
    cards_truth,
)
from handsfree.calculators.card import Card

CARDS: tuple[Card, ...] = (
    cards_single.bend_mark,
    cards_marks.piece_marks,
    cards_piece.cut_length,
    cards_piece.u_bend,
    cards_offsets.offset,
    cards_offsets.smallest_offset,
    cards_saddles.saddle_three,
    cards_saddles.saddle_four,
    cards_offsets.rolling_offset,
    cards_piece.tube_left,
    cards_offsets.kick,
    cards_bender.springback,
    cards_offsets.parallel_bends,
    cards_piece.bend_room,
    cards_piece.straight_for_flare,
    cards_single.bend_terms,
    cards_single.dimension_to_centre,
    cards_bender.test_bend,
    cards_fault.bend_fault,
    cards_truth.rebase_marks,
    cards_truth.bend_budget,
    joints.flare_size,
    joints.torque,
    fractions.fractions,
    conversions.convert_length,
    conversions.convert_pressure,
    conversions.convert_vacuum,
    conversions.convert_torque,
)
