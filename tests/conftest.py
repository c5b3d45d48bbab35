"""What the tests share: the library, read once; the recordings, where they are at hand."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from handsfree.library import Library, library
from handsfree.reference import properties

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="session")
def known() -> Library:
    return library()


@pytest.fixture(autouse=True)
def _nobody_is_left_waiting() -> Iterator[None]:
    """A conversation of one test is not told of what another one waits for."""
    yield
    properties.while_loading(None)


@pytest.fixture(scope="session")
def recordings() -> Path:
    folder = ROOT.parent / "shared" / "speech"
    if not (folder / "manifest.tsv").exists():
        pytest.skip("the recordings of people are not beside the project")
    return folder
