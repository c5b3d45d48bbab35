"""Re-basing: after a bend was measured, where the marks that are left go now.

If a bend sits off by some error, every later mark moves by it, and only the far leg takes it up;
where the far leg may not move, the marks stay and the next leg takes it up. Lengths in inches,
bends counted from 0 and legs from 1 at the left end. Source: geometry; a sixteenth is let pass by
common practice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from handsfree.calculators.bends.planner import Plan, Step
from handsfree.calculators.bends.room import TOUCHING, Shortage, needed, refuse
from handsfree.errors import Refusal
from handsfree.quantity import Number

LET_PASS = Fraction(1, 16)
"""An error up to this moves no mark."""


@dataclass(frozen=True, slots=True)
class Rebased:
    """What is left of a plan after a bend was measured.

    `error` is how far the bend sits from where it should, away from the leg that was measured;
    `steps` are the bends left, with their marks of now; `leg` takes the error up and will measure
    `length`. `moved` says whether any mark is another one now.
    """

    error: float
    moved: bool
    steps: tuple[Step, ...]
    leg: int
    length: float


def rebase(plan: Plan, bend: int, leg: int, measured: Number, *, far_leg_may_move: bool) -> Rebased:
    """Return where the marks left go, after a leg beside a bend was measured as the plan asks it.

    Raises `Refusal`: `not_beside` where the leg does not end at the bend or is not finished yet,
    `too_close`, `tail_short` or `too_short` where the leg that takes the error up would be too
    short for the tool.
    """
    done = next(position for position, step in enumerate(plan.steps) if step.bend == bend)
    if leg not in plan.steps[done].legs:
        raise Refusal("not_beside", {"leg": leg, "bend": bend + 1})
    piece = plan.piece
    error = float(measured) - float(piece.legs[leg - 1])
    to_the_right = leg == bend + 1  # the measured leg lies to the left of the bend
    left = plan.steps[done + 1 :]
    beyond = {step.bend for step in left if (step.bend > bend) == to_the_right}
    next_leg = bend + 2 if to_the_right else bend + 1
    far_leg = len(piece.legs) if to_the_right else 1
    move = abs(error) > LET_PASS and far_leg_may_move and bool(beyond)
    taker = far_leg if move else next_leg
    _check(plan, taker, error)
    rightward = error if to_the_right else -error
    shift = rightward if plan.measured_from == "left" else -rightward
    steps = tuple(_shifted(step, shift) if move and step.bend in beyond else step for step in left)
    return Rebased(error, move, steps, taker, float(piece.legs[taker - 1]) - error)


def _shifted(step: Step, by: float) -> Step:
    return replace(step, mark=step.mark + by, start=step.start + by)


def _check(plan: Plan, leg: int, error: float) -> None:
    """Raise the refusal where a leg that gives `error` away is too short for the tool then."""
    piece, count = plan.piece, len(plan.piece.bends)
    hooks = {step.bend: step.hook for step in plan.steps}
    have = piece.straights[leg - 1] - error
    need = needed(piece.bender, leg, count, hooks[0], hooks[count - 1])
    if have < need - TOUCHING:
        raise refuse(Shortage(leg, have, need), count)
