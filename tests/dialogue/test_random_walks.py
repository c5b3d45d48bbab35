"""Random conversations over all procedures, wrong words included: no promise is broken.

A few here; `scripts/bench walks` does 5,000 of 100 events.
"""

from __future__ import annotations

import sys
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.library import library

sys.path.insert(0, str(Path(__file__).parent.parent.parent / "scripts" / "benchmarks"))

from _walking import walk

LIBRARY = library()


@given(seed=st.integers(0, 10**9))
@settings(max_examples=40, deadline=None)
def test_no_promise_is_broken_on_any_walk(seed: int) -> None:
    *_, broken = walk(LIBRARY, seed, events=60)
    assert broken == []
