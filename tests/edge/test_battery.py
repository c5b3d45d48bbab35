from __future__ import annotations

from types import SimpleNamespace

import psutil
import pytest

from handsfree.edge.battery import percent


@pytest.mark.parametrize(
    ("found", "left"),
    [
        (None, None),
        (SimpleNamespace(percent=17.4, power_plugged=False), 17.4),
        (SimpleNamespace(percent=17.4, power_plugged=True), None),
        (SimpleNamespace(percent=50, power_plugged=None), 50.0),
    ],
)
def test_rule_5_3_6_the_battery_counts_where_it_is_not_charged(
    monkeypatch: pytest.MonkeyPatch, found: object, left: float | None
) -> None:
    monkeypatch.setattr(psutil, "sensors_battery", lambda: found, raising=False)
    assert percent() == left


def test_rule_5_3_6_a_system_that_cannot_tell_is_no_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(psutil, "sensors_battery", raising=False)
    assert percent() is None
