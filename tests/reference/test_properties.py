"""Properties against a second library: `chemicals`, which has its own equations and sources."""

from __future__ import annotations

import pytest
from chemicals.vapor_pressure import Psat_data_VDI_PPDS_3, Wagner
from chemicals.virial import BVirial_Tsonopoulos_extended, CVirial_Orbey_Vera

from handsfree.reference import properties

CAS = {"R22": "75-45-6", "R32": "75-10-5", "R290": "74-98-6", "R744": "124-38-9"}


@pytest.mark.parametrize("refrigerant", CAS)
def test_pure_refrigerants_boil_where_the_heat_atlas_says(refrigerant: str) -> None:
    """VDI Heat Atlas vapour pressures: within 0.1 %."""
    row = Psat_data_VDI_PPDS_3.loc[CAS[refrigerant]]
    for celsius in range(-40, 21, 10):
        kelvin = celsius + 273.15
        theirs = float(Wagner(kelvin, *(row[name] for name in ("Tc", "Pc", "A", "B", "C", "D"))))
        ours = properties.saturation_pressure(refrigerant, kelvin, "bubble")
        assert ours == pytest.approx(theirs, rel=1e-3)
        assert properties.saturation_temperature(refrigerant, theirs, "dew") == pytest.approx(
            kelvin, abs=0.05
        )


def test_nitrogen_is_as_dense_as_its_virial_equation_says() -> None:
    """B of Tsonopoulos, C of Orbey and Vera: within 0.15 % up to 45 bar."""
    for kelvin in (260.0, 290.0, 320.0):
        for bar in (1, 10, 25, 45):
            density = properties.density(bar * 1e5, kelvin)
            moles = density / 0.0280134
            second = float(BVirial_Tsonopoulos_extended(kelvin, 126.192, 3_395_800.0, 0.0372))
            third = float(CVirial_Orbey_Vera(kelvin, 126.192, 3_395_800.0, 0.0372)[0])
            theirs = moles * 8.314462618 * kelvin * (1 + second * moles + third * moles**2)
            assert theirs == pytest.approx(bar * 1e5, rel=1.5e-3)
            assert properties.pressure(density, kelvin) == pytest.approx(bar * 1e5, rel=1e-9)


@pytest.mark.parametrize(
    ("refrigerant", "bubble", "dew"),
    [("R410A", 800.71, 798.08), ("R407C", 567.89, 460.72), ("R404A", 610.18, 600.27)],
)
def test_blends_have_a_bubble_and_a_dew_side(refrigerant: str, bubble: float, dew: float) -> None:
    """At 0 °C, kPa, by Lemmon (2003) as pseudo-pure fluids; as mixtures they agree to 0.02 %."""
    for side, theirs in (("bubble", bubble), ("dew", dew)):
        found = properties.saturation_pressure(refrigerant, 273.15, side)  # type: ignore[arg-type]
        assert found == pytest.approx(theirs * 1000, rel=2e-4)
    assert refrigerant in properties.GLIDING


def test_nothing_boils_above_its_critical_point() -> None:
    """Carbon dioxide is critical at 31 °C."""
    assert properties.saturation_pressure("R744", 273.15 + 35, "bubble") is None
    assert properties.saturation_temperature("R744", 8e6, "bubble") is None


def test_who_waits_for_the_library_is_told_once(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[str] = []
    properties._model.cache_clear()  # noqa: SLF001 - as at the start of the program
    monkeypatch.setattr(properties._Loading, "done", False)  # noqa: SLF001 - the same
    properties.while_loading(lambda: told.append("one moment"))
    try:
        properties.density(1e6, 300.0)
        properties.density(2e6, 300.0)
        properties.saturation_pressure("R32", 273.15, "dew")
    finally:
        properties.while_loading(None)
    assert told == ["one moment"]
    assert properties.ready()
