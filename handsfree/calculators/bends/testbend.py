"""What a bender does, measured from test bends: radius, gain, index offset and springback.

Two legs and the length of the offcut give the gain, and the gain the radius; several bends are
put together by least squares. Lengths in inches, angles in degrees. Source: plane geometry and
the propagation of uncertainty.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from handsfree.calculators.bends.piece import SQUARE, check_radius, gain
from handsfree.errors import Refusal
from handsfree.quantity import Number

TAPE = 1 / 64
"""How truly a leg is read from a rule, one standard deviation: half of a thirty-second."""
PROTRACTOR = 0.5
"""How truly an angle is read, degrees, one standard deviation."""
MEASURES = 3
"""A gain is made of three lengths: the offcut and two legs."""
WITHIN = 2
"""Standard deviations in a stated uncertainty."""


@dataclass(frozen=True, slots=True)
class TestBend:
    """One offcut, bent once: its length, both legs on the centre line, and its angle now.

    `pulled` is the angle that the tool was set to; `mark` where the L index was put, from the
    end of the first leg. Both may be None.
    """

    length: Number
    first: Number
    second: Number
    angle: Number = SQUARE
    pulled: Number | None = None
    mark: Number | None = None

    @property
    def gain(self) -> float:
        """Return by how much the bend made the tube shorter than its legs."""
        return float(self.first) + float(self.second) - float(self.length)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A bender as the test bends show it; each `within` is two standard deviations.

    `gain` is that of a square bend. `index_error` is how far the apex falls beyond the L mark;
    it and `springback` (angle got over angle pulled) are None where nothing measured them.
    """

    radius: float
    radius_within: float
    gain: float
    index_error: float | None
    index_within: float | None
    springback: float | None
    springback_within: float | None


def estimate(
    tests: Sequence[TestBend], outside_diameter: Number | None = None, tape: float = TAPE
) -> Estimate:
    """Return the bender that fits the test bends best.

    `tape` is the standard deviation of one reading, inches. Where three or more bends scatter
    more than that, their scatter is believed instead. Raises `Refusal` `no_gain` where the legs
    are no longer than the offcut, `odd_radius` outside two to eight diameters.
    """
    if not tests or any(test.gain <= 0 for test in tests):
        raise Refusal("no_gain")
    units = [gain(1, test.angle) for test in tests]
    weight = sum(unit * unit for unit in units)
    radius = sum(unit * test.gain for unit, test in zip(units, tests, strict=True)) / weight
    check_radius(radius, outside_diameter)
    residuals = [test.gain - radius * unit for unit, test in zip(units, tests, strict=True)]
    spread = max(tape * sqrt(MEASURES), _spread(residuals))
    offsets = [float(test.first) - float(test.mark) for test in tests if test.mark is not None]
    ratios = [float(test.angle) / float(test.pulled) for test in tests if test.pulled is not None]
    pulls = [float(test.pulled) for test in tests if test.pulled is not None]
    index_error, index_within = _mean(offsets, [tape * sqrt(2)] * len(offsets))
    springback, springback_within = _mean(ratios, [PROTRACTOR / pull for pull in pulls])
    return Estimate(
        radius=radius,
        radius_within=WITHIN * spread / sqrt(weight),
        gain=gain(radius, SQUARE),
        index_error=index_error,
        index_within=index_within,
        springback=springback,
        springback_within=springback_within,
    )


def _spread(residuals: list[float]) -> float:
    """Return the standard deviation of what a fit of one figure leaves; 0 below three readings."""
    enough = 3
    if len(residuals) < enough:
        return 0.0
    return sqrt(sum(rest * rest for rest in residuals) / (len(residuals) - 1))


def _mean(values: list[float], deviations: list[float]) -> tuple[float | None, float | None]:
    """Return the mean and its uncertainty, from the readings or, if larger, from their scatter."""
    if not values:
        return None, None
    count = len(values)
    mean = sum(values) / count
    read = sqrt(sum(one * one for one in deviations)) / count
    scatter = _spread([value - mean for value in values]) / sqrt(count)
    return mean, WITHIN * max(read, scatter)
