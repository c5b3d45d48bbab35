"""Properties of nitrogen and of refrigerants, from reference equations of state (CoolProp).

CoolProp takes about two seconds to load, so it is loaded when first needed, or before that by
`warm`, which the app runs in the background. Who waits for it can be told: `while_loading`.

Temperatures in kelvin, pressures in pascals absolute.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any, Literal

Side = Literal["bubble", "dew"]

MODELS: Mapping[str, str] = {
    "R22": "R22",
    "R134a": "R134a",
    "R404A": "R404A",
    "R407C": "R407C",
    "R410A": "R410A",
    "R32": "R32",
    "R454B": "R454B.mix",
    "R290": "R290",
    "R744": "R744",
}
"""The refrigerants that have a model, and its name in the property library."""

GLIDING = frozenset(("R404A", "R407C", "R410A", "R454B"))
"""Blends: they begin and end to boil at two temperatures."""


class _Loading:
    """Whether the property library is there, and who wants to know while it is loaded."""

    done = False
    tell: Callable[[], None] | None = None


def while_loading(tell: Callable[[], None] | None) -> None:
    """Have `tell` called when a question must wait for the property library to load."""
    _Loading.tell = tell


def ready() -> bool:
    """Return whether properties answer at once."""
    return _Loading.done


def warm() -> None:
    """Load the property library and evaluate each model once.

    On states of its own: this runs beside the answers, and a state is set anew for each.
    """
    _load()
    nitrogen = _library().AbstractState("HEOS", "Nitrogen")
    nitrogen.update(_library().PT_INPUTS, 1e6, 300.0)
    for name in MODELS.values():
        _library().AbstractState("HEOS", name).update(_library().QT_INPUTS, 0.0, 273.15)


def _load() -> None:
    import CoolProp  # noqa: F401, PLC0415 - two seconds that no start may wait for

    _Loading.done = True


@cache
def _model(name: str) -> Any:
    """Return the property library's state of a fluid, made once; it is set anew for each answer."""
    if not _Loading.done:
        if _Loading.tell is not None:
            _Loading.tell()
        _load()
    return _library().AbstractState("HEOS", name)


def _library() -> Any:
    import CoolProp  # noqa: PLC0415 - loaded already

    return CoolProp


def density(pascal: float, kelvin: float) -> float:
    """Return the density of nitrogen, kg/m³. Source: Span et al. (2000)."""
    state = _model("Nitrogen")
    state.update(_library().PT_INPUTS, pascal, kelvin)
    return float(state.rhomass())


def pressure(density_kg_m3: float, kelvin: float) -> float:
    """Return the pressure of nitrogen at a density, pascals. Source: Span et al. (2000)."""
    state = _model("Nitrogen")
    state.update(_library().DmassT_INPUTS, density_kg_m3, kelvin)
    return float(state.p())


def saturation_pressure(refrigerant: str, kelvin: float, side: Side) -> float | None:
    """Return the pressure at which a refrigerant boils, or None outside its saturated range."""
    return _saturated(refrigerant, side, "QT_INPUTS", kelvin, "p")


def saturation_temperature(refrigerant: str, pascal: float, side: Side) -> float | None:
    """Return the temperature at which a refrigerant boils, or None outside its saturated range.

    `side` is the bubble side (liquid) or the dew side (vapour): for a blend they differ.
    """
    return _saturated(refrigerant, side, "PQ_INPUTS", pascal, "T")


def _saturated(
    refrigerant: str, side: Side, inputs: str, value: float, wanted: str
) -> float | None:
    state = _model(MODELS[refrigerant])
    quality = 0.0 if side == "bubble" else 1.0
    pair = (quality, value) if inputs == "QT_INPUTS" else (value, quality)
    try:
        state.update(getattr(_library(), inputs), *pair)
    except ValueError:
        return None
    return float(getattr(state, wanted)())
