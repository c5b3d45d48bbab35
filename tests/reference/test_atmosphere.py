"""The air's pressure against the U.S. Standard Atmosphere, 1976, Table I (geometric altitude)."""

from __future__ import annotations

import pytest

from handsfree.reference.atmosphere import atmosphere


@pytest.mark.parametrize(
    ("metre", "kilopascal"),
    [(0, 101.325), (500, 95.46), (1000, 89.87), (1500, 84.56), (2000, 79.50), (3000, 70.12)],
)
def test_standard_atmosphere(metre: int, kilopascal: float) -> None:
    assert float(atmosphere(metre).to("kilopascal").value) == pytest.approx(kilopascal, abs=0.01)


def test_without_an_altitude_it_is_the_sea_s() -> None:
    assert float(atmosphere(None).to("psi").value) == pytest.approx(14.696, abs=0.0005)
