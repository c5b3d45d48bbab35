"""Test bends: radius, index and springback found again from bends made on the virtual bench."""

from __future__ import annotations

import random
from statistics import stdev

import pytest
from bends_walk import Order, bend_all, measured_legs, turned_angles, walk

from handsfree.calculators.bends import testbend
from handsfree.errors import Refusal

RADIUS, RATIO = 1.5, 0.965


def _bend(offcut: float, mark: float, pulled: float, index_error: float) -> testbend.TestBend:
    """Return a test bend made with the mark at L, where L stands a little off."""
    order = Order(0, mark + index_error, "L", "left", pulled, 0.0)
    bends = bend_all([order], "left", offcut, RADIUS, RATIO)
    shape = walk(bends, offcut, RADIUS)
    first, second = measured_legs(shape, "centre", 0)
    return testbend.TestBend(offcut, first, second, turned_angles(shape)[0], pulled, mark)


def test_one_exact_bend_gives_the_bender_back() -> None:
    # pulled so that it is square after release: the L mark then is the apex
    found = testbend.estimate([_bend(20, 10, 90 / RATIO, 0.0625)])
    assert found.radius == pytest.approx(RADIUS)
    assert found.gain == pytest.approx(0.4292 * RADIUS, abs=1e-4)
    assert found.index_error == pytest.approx(0.0625)
    assert found.springback == pytest.approx(RATIO)


def test_bends_of_several_angles_are_put_together() -> None:
    tests = [_bend(20, 10, pulled, 0.0) for pulled in (46, 62, 93, 100)]
    found = testbend.estimate(tests)
    assert found.radius == pytest.approx(RADIUS)
    assert found.springback == pytest.approx(RATIO)


def _noisy(test: testbend.TestBend, chance: random.Random, tape: float) -> testbend.TestBend:
    return testbend.TestBend(
        float(test.length) + chance.gauss(0, tape),
        float(test.first) + chance.gauss(0, tape),
        float(test.second) + chance.gauss(0, tape),
        test.angle,
        test.pulled,
        test.mark,
    )


@pytest.mark.parametrize("count", [1, 2, 4])
def test_the_radius_scatters_as_its_uncertainty_says(count: int) -> None:
    chance = random.Random(count)  # noqa: S311 - the same draws each time
    exact = [_bend(20, 10, 90 / RATIO, 0.0) for _ in range(count)]
    tape = 1 / 64
    found = []
    stated = 0.0
    for _ in range(2_000):
        estimate = testbend.estimate([_noisy(one, chance, tape) for one in exact], tape=tape)
        found.append(estimate.radius)
        stated = max(stated, 0.0) + estimate.radius_within
    mean_stated = stated / len(found)
    # with several bends their own scatter is believed where it is larger, so never too sure
    assert 2 * stdev(found) == pytest.approx(mean_stated, rel=0.3)
    assert 2 * stdev(found) < mean_stated * 1.05


def test_the_examples() -> None:
    # P08 and C-19, worked by hand
    found = testbend.estimate([testbend.TestBend(20, 10 + 7 / 32, 10 + 7 / 32)])
    assert found.radius == pytest.approx(1.019, abs=5e-4)
    found = testbend.estimate([testbend.TestBend(16, 8.25, 8 + 5 / 32)])
    assert found.radius == pytest.approx(0.947, abs=5e-4)
    assert found.index_error is None
    assert found.springback is None


@pytest.mark.parametrize(
    ("test", "size", "key"),
    [
        (testbend.TestBend(20, 10, 10), None, "no_gain"),
        (testbend.TestBend(20, 9, 10), None, "no_gain"),
        (testbend.TestBend(20, 12, 12), 0.375, "odd_radius"),
        (testbend.TestBend(20, 10.1, 10.1), 0.375, "odd_radius"),
    ],
)
def test_what_cannot_be_measured_is_refused(
    test: testbend.TestBend, size: float | None, key: str
) -> None:
    with pytest.raises(Refusal) as refused:
        testbend.estimate([test], size)
    assert refused.value.key == key


def test_without_a_test_bend_there_is_no_estimate() -> None:
    with pytest.raises(Refusal):
        testbend.estimate([])
