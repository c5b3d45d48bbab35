"""The marks of a whole piece: planned once, told one at a time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from handsfree.calculators.bends.advice import Change
from handsfree.calculators.bends.asking import (
    DIMENSION_TO,
    RADIUS,
    SIZE_OF_SIDE,
    TOOL,
    angle,
    bender,
    held,
    length,
    mark,
    piece_of,
)
from handsfree.calculators.bends.drawing.compose import draw
from handsfree.calculators.bends.drawing.tape import tape
from handsfree.calculators.bends.drawing.words import LengthUnit
from handsfree.calculators.bends.piece import SQUARE, Piece
from handsfree.calculators.bends.planner import NoPlan, Plan, Step, left_to_right, plan
from handsfree.calculators.bends.room import refuse, shortages
from handsfree.calculators.bends.rounding import notes
from handsfree.calculators.bends.turning import (
    TURNS,
    WAYS,
    rolls_of_bends,
    rolls_of_legs,
    rolls_said,
)
from handsfree.calculators.card import Answer, Condition, Option, Parameter, Result, calculator
from handsfree.errors import Refusal
from handsfree.quantity import Kind, Number, inches

MOST_BENDS = 11
ASKED_OF_IT = ("bend", "move", "tell", "fineness")
READ_BACK = {"way": "ways", "toward": "turns", "roll": "rolls"}
"""The sentences that read the ways of a piece back."""
NUMBERS = range(1, MOST_BENDS + 1)
HALF_TURN = 180.0
_STILL = 1e-6

PIECE = (
    length("leg", many=True),
    Option("turns", ("said", "square"), default="said"),
    angle(many=True, only_if=Condition("turns", ("said",))),
    Option("way", tuple(WAYS), optional=True, many=True),
    Option("toward", TURNS, optional=True, many=True),
    angle("roll", low=0, high=360, optional=True, many=True),
    DIMENSION_TO,
    SIZE_OF_SIDE,
    RADIUS,
    *TOOL,
)
"""What a piece is told by: legs and angles from one end, and which way it turns.

`way` is the way of each leg, `toward` that of each bend, `roll` the twist between bend planes;
one of the three or none. Without any, marks and cut are known, but not how to turn the tube.
"""


def planned(  # noqa: PLR0913 - what a piece is told by
    leg: tuple[Number, ...],
    turns: str,
    angle: tuple[Number, ...] | None,
    way: str | None,
    toward: str | None,
    roll: tuple[Number, ...] | None,
    dimension_to: str,
    size: Number | None,
    radius: Number,
    **tool: Number | str | None,
) -> Plan:
    """Return the plan for a piece.

    Raises `Refusal` where the piece, the ways or the tool do not allow it.
    """
    angles = (SQUARE,) if turns == "square" or angle is None else angle
    piece = piece_of(leg, angles, size, bender(radius, **tool), dimension_to)
    rolls = _rolls(piece, way, toward, roll)
    if rolls is None and len(piece.bends) > 1:
        return left_to_right(held(piece))
    if rolls is not None:
        bends = (replace(bend, roll=one) for bend, one in zip(piece.bends, rolls, strict=True))
        piece = replace(piece, bends=tuple(bends))
    made = plan(piece)
    if isinstance(made, NoPlan):
        raise _refused(made)
    return made


def _rolls(
    piece: Piece, way: str | None, toward: str | None, roll: tuple[Number, ...] | None
) -> tuple[float, ...] | None:
    angles = [bend.angle for bend in piece.bends]
    if way is not None:
        return rolls_of_legs(way.split(), angles)
    if toward is not None:
        return rolls_of_bends(toward.split(), angles)
    return None if roll is None else rolls_said(roll, angles)


def _refused(made: NoPlan) -> Refusal:
    """Return the refusal that says what is in the way, and what change would help."""
    short = shortages(made.piece)
    if short:
        return refuse(short[0], len(made.piece.bends))
    change = made.changes[0] if made.changes else Change("join")
    stop = made.blocked[0]
    by = inches(change.by)
    values = {"bend": stop.bend + 1, "trouble": stop.trouble, "leg": change.leg or 0, "by": by}
    return Refusal(f"in_the_way_{change.kind}", values)


@dataclass(frozen=True, slots=True)
class PieceSketch:
    """The drawings of a plan, in inches or millimetres."""

    plan: Plan
    unit: LengthUnit

    def tape(self) -> str:
        """Return the tube with its marks as lines of text."""
        return tape(self.plan, self.unit)

    def svg(self) -> str:
        """Return the drawing sheet as SVG."""
        return draw(self.plan, self.unit)


def sketch(unit: str, **asked: Any) -> PieceSketch:
    """Return the drawings of the piece that a question is about."""
    about = {name: value for name, value in asked.items() if name not in ASKED_OF_IT}
    return PieceSketch(planned(**about), "millimetre" if unit == "millimetre" else "inch")


@calculator(
    "piece_marks",
    parameters=(
        Parameter("bend", Kind.COUNT, "one", low=1, high=MOST_BENDS, assume="one", optional=True),
        Option("move", ("stay", "next", "before"), default="stay"),
        Option("tell", ("mark", "all", "check", "cut"), default="mark"),
        Option("fineness", ("sixteenths", "thirty-seconds"), default="sixteenths"),
        *PIECE,
    ),
    results=(
        *(mark(f"mark_{number}", "leg") for number in NUMBERS),
        *(mark(f"start_{number}", "leg") for number in NUMBERS),
        *(mark(f"told_{number}", "leg") for number in NUMBERS),
        mark("straight", "leg"),
        mark("along", "leg", "decimal"),
        mark("gained", "leg", "decimal"),
        mark("back", "leg", "decimal"),
        Result("turn", Kind.ANGLE, "degree", "angle"),
        Result("pull", Kind.ANGLE, "degree", "angle"),
        Result("bend", Kind.COUNT, "one", "exact"),
        mark("other_check", "leg"),
        mark("check", "leg"),
        mark("cut", "leg", "cut"),
        mark("fine", "leg", "fine"),
        mark("mark", "leg"),
    ),
    sources=("geometry",),
    sketch=sketch,
)
def piece_marks(
    bend: Number | None,
    move: str,
    tell: str,
    fineness: str,
    **piece: Any,
) -> Answer:
    """Return every index and start mark of a piece, the cut length, and the mark of one bend.

    Inches from the end that the legs were told from. Without `bend`, the cut and the first mark
    are told; `move` goes on to the next bend in the order of the plan, or back. `along`, `gained`
    and `back` make up the mark told: legs up to it, less gains before it, less its setback.
    `check` is a leg that can be measured after this bend; with a `fineness` of thirty-seconds the
    mark of the bend is told in those. Raises `Refusal` where the piece or the
    tool does not allow it. Source: geometry.
    """
    made = planned(**piece)
    place = _place(made, bend, move)
    step = made.steps[place]
    values = {**_all_marks(made), **_sum(made, step)}
    words = {"number": str(step.bend + 1)}
    if tell == "cut":
        values["cut"] = values.pop("cut")
        return Answer(values, sentence="cut")
    if tell == "check":
        return _check(made, step, values, words)
    if tell == "all":
        told = sorted((one.bend + 1, one.mark, one.index) for one in made.steps)
        values |= {f"told_{number}": place_of for number, place_of, _ in told}
        words |= {f"index_{number}": index for number, _, index in told}
        return Answer(values, sentence=f"all_{len(told)}", words=words)
    whole = bend is None and move == "stay"
    warnings = _to_do_first(step) if made.turned and place else ()
    if fineness == "thirty-seconds":
        values["fine"] = step.mark
        return Answer(values, f"fine_{step.index}", words, warnings)
    if whole:
        square = all(bent.angle == SQUARE for bent in made.piece.bends)
        ways = [name for key, name in READ_BACK.items() if piece[key] is not None]
        rounding, more = notes(made)
        warnings = ("all_square" if square else "angles", *ways, *rounding)
        words |= more
    values["mark"] = step.mark
    return Answer(values, f"{'whole' if whole else 'bend'}_{step.index}", words, warnings)


def _place(made: Plan, bend: Number | None, move: str) -> int:
    """Return the place in the plan's order of the bend that is asked about."""
    count = len(made.steps)
    order = [step.bend + 1 for step in made.steps]
    if bend is not None and int(bend) not in order:
        raise Refusal("no_such_bend", {"bends": count})
    place = 0 if bend is None else order.index(int(bend))
    place += {"stay": 0, "next": 1, "before": -1}[move]
    if not 0 <= place < count:
        raise Refusal("no_more", {"bends": count})
    return place


def _all_marks(made: Plan) -> dict[str, Number]:
    """Return each index mark and each start mark by number from the end, the straight, the cut."""
    piece = made.piece
    values: dict[str, Number] = {}
    for number, (apex, start) in enumerate(zip(piece.apexes, piece.starts, strict=True), start=1):
        values[f"mark_{number}"], values[f"start_{number}"] = apex, start
    if len(piece.bends) > 1:
        values["straight"] = min(piece.straights[1:-1])
    values["cut"] = piece.cut
    return values


def _sum(made: Plan, step: Step) -> dict[str, Number]:
    """Return the sum behind a mark, how far to pull and to turn, and which bend it is."""
    piece, bend = made.piece, step.bend
    return {
        "along": sum(piece.centre_legs[: bend + 1]),
        "gained": sum(piece.gains[:bend]),
        "back": piece.setbacks[bend],
        "turn": abs(step.turn),
        "pull": step.pull_to,
        "bend": Fraction(bend + 1),
    }


def _check(made: Plan, step: Step, values: dict[str, Number], words: dict[str, str]) -> Answer:
    """Return the answer that tells the legs to measure after a bend."""
    if not step.legs:
        return Answer(values, sentence="check_none", words=words)
    *other, leg = step.legs
    words |= {"leg": str(leg), "other": str(other[0]) if other else ""}
    if other:
        values["other_check"] = float(made.piece.legs[other[0] - 1])
    values["check"] = float(made.piece.legs[leg - 1])
    return Answer(values, sentence="check_two" if other else "check", words=words)


def _to_do_first(step: Step) -> tuple[str, ...]:
    """Return what to do with the tube and the tool before a bend, by the names of its sentences."""
    if abs(step.turn) < _STILL:
        turn = "line_up"
    elif abs(abs(step.turn) - HALF_TURN) < _STILL:
        turn = "flip"
    else:
        turn = "clockwise" if step.turn > 0 else "anticlockwise"
    swap = ("end_for_end",) if step.swap else ()
    over = ("tool_over",) if step.face == "over" else ()
    return (*swap, turn, *over)
