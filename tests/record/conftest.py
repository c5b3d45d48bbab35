from __future__ import annotations

import pytest
from roof_unit import Builder, roof_unit

from handsfree.library import Library
from handsfree.library.reckoning import Reckoning


@pytest.fixture
def job(known: Library) -> Builder:
    return roof_unit(known)


@pytest.fixture
def reckoning(known: Library) -> Reckoning:
    return Reckoning(known)
