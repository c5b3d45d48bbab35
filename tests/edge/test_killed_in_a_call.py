"""Rules 5.3.1 to 5.3.3: killed in a call into the system, and full at random writes.

A small count of what `scripts/bench survival` does a thousand and a hundred times.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent.parent / "scripts" / "benchmarks"))

from _filling import filled
from _killing import CALLS, killed


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")
def test_rule_5_3_1_nothing_acknowledged_is_lost_when_killed_in_a_call(tmp_path: Path) -> None:
    toll = killed(tmp_path, 30, seed=3)
    assert toll.wrong == []
    assert sum(toll.kills.values()) == 30
    assert {aim.split()[0] for aim in toll.kills} == set(CALLS)
    assert toll.acknowledged > 0


def test_rule_5_3_1_nothing_is_said_to_be_saved_on_a_full_disk(tmp_path: Path) -> None:
    found = filled(tmp_path, 6, seed=5)
    assert found.wrong == []
    assert found.most > 0, "the disk was never full"
    assert found.written == 6 * 20
