"""Diagnosis against slips made on the virtual bench, measured with a tape that is not exact."""

from __future__ import annotations

import random
from collections import Counter

import pytest
from bends_slips import NAMES, random_slip

from handsfree.calculators.bends.diagnosis import Cause, diagnose, diagnose_size, effects
from handsfree.calculators.bends.piece import Bend, Bender, Piece

MISTAKES = 1_000
TAPE = 1 / 32
RADIUS = 15 / 16
GAIN = 0.4024  # 0.4292 of the radius, by hand
TOOL = Bender(RADIUS)


def _piece(*legs: float) -> Piece:
    bends = tuple(Bend(90, 180) for _ in legs[1:])
    return Piece(legs, bends, 0.375, TOOL)


def test_of_a_thousand_mistakes_the_cause_is_first_or_second() -> None:
    chance = random.Random(1000)  # noqa: S311 - the same mistakes each time
    first = second = 0
    for _ in range(MISTAKES):
        slip = random_slip(chance)
        legs = [error + chance.gauss(0, TAPE) for error in slip.legs]
        angles = [error + chance.gauss(0, 0.5) for error in slip.angles]
        causes = [likely.cause for likely in diagnose(slip.piece, legs, angles).causes]
        true = Cause(slip.name, slip.bend)  # type: ignore[arg-type]
        first += causes[0] == true
        second += true in causes[:2]
    assert first >= 0.75 * MISTAKES
    assert second >= 0.90 * MISTAKES


def test_from_the_legs_alone_most_causes_are_found() -> None:
    # an angle by itself hardly shows on a leg, so those are left out here
    names = tuple(name for name in NAMES if name not in ("angle", "springback"))
    chance = random.Random(1001)  # noqa: S311 - the same mistakes each time
    first = second = 0
    for _ in range(MISTAKES):
        slip = random_slip(chance, names)
        legs = [error + chance.gauss(0, TAPE) for error in slip.legs]
        causes = [likely.cause for likely in diagnose(slip.piece, legs).causes]
        true = Cause(slip.name, slip.bend)  # type: ignore[arg-type]
        first += causes[0] == true
        second += true in causes[:2]
    assert first >= 0.75 * MISTAKES
    assert second >= 0.90 * MISTAKES


@pytest.mark.parametrize("name", [name for name in NAMES if name not in ("angle", "springback")])
def test_each_slip_is_predicted_as_it_happens_on_the_bench(name: str) -> None:
    chance = random.Random(name)  # noqa: S311 - the same mistakes each time
    for _ in range(60):
        slip = random_slip(chance, (name,))
        near = []
        for effect in effects(slip.piece):
            if effect.cause != Cause(slip.name, slip.bend):  # type: ignore[arg-type]
                continue
            size = 1.0
            if effect.usual:  # the size that fits: shown by any leg that feels it
                most = max(range(len(slip.legs)), key=lambda leg, told=effect: abs(told.legs[leg]))
                size = slip.legs[most] / effect.legs[most] if effect.legs[most] else 0.0
            gaps = (abs(size * t - s) for t, s in zip(effect.legs, slip.legs, strict=True))
            near.append(max(gaps))
        assert min(near) < 1e-6


def test_wrong_index_and_forgotten_gain_are_named_as_alike() -> None:
    # two bends, the second a gain too far along, the cut right: both slips do exactly that
    found = diagnose(_piece(10, 18, 12), (0.0, GAIN, -GAIN), (0.0, 0.0), TAPE)
    named = {found.causes[0].cause, *found.alike}
    assert {Cause("other_index", 1), Cause("gain_forgotten")} <= named
    assert found.ask_leg is None


def test_the_leg_that_would_tell_is_asked_for() -> None:
    # the first leg half a tube long: outside for centre, or half an inch of anything else; the
    # first leg a gain long with the others not measured: the index of bend 1, or of every bend
    found = diagnose(_piece(10, 18, 12), (GAIN, None, None), (0.0, 0.0), TAPE)
    assert found.causes[0].cause.name == "other_index"
    assert Cause("other_index", None) in {found.causes[0].cause, *found.alike}
    assert found.ask_leg in (2, 3)


def test_nothing_wrong_is_said_to_be_nothing() -> None:
    found = diagnose(_piece(10, 18, 12), (0.01, -0.02, 0.0), (0.1, -0.2), TAPE)
    assert found.causes[0].cause == Cause("nothing")


def test_what_no_slip_explains_is_unclear() -> None:
    found = diagnose(_piece(10, 18, 12, 9), (0.31, 0.67, -0.52, 0.23), (0, 0, 0), TAPE)
    assert found.causes[0].cause == Cause("unclear")


@pytest.mark.parametrize(
    ("error", "names"),
    [
        # C-20: 3/8 OD on a radius of 15/16
        (3 / 16, {"half_tube"}),
        (-3 / 16, {"half_tube"}),
        (0.40, {"other_index", "gain_forgotten"}),
        (-0.40, {"other_index", "gain_forgotten"}),
        (15 / 16, {"start_on_index"}),
        (1.0, {"burnt_inch"}),
        (-1.0, {"burnt_inch"}),
        (1 / 16, {"mark"}),
        (0.70, {"unclear"}),
        (2.3, {"unclear"}),
    ],
)
def test_an_error_alone_is_matched_by_size(error: float, names: set[str]) -> None:
    found = diagnose_size(_piece(20, 20, 20), error)
    assert found.causes[0].cause.name in names
    told = {found.causes[0].cause.name, *(cause.name for cause in found.alike[:1])}
    assert names <= told


def test_every_cause_is_simulated_here() -> None:
    known = Counter(effect.cause.name for effect in effects(_piece(10, 18, 12)))
    outside = Piece((10, 18, 12), (Bend(90), Bend(90)), 0.375, TOOL, "outside")
    known += Counter(effect.cause.name for effect in effects(outside))
    assert set(known) == set(NAMES)
