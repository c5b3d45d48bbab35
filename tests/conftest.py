"""What the tests share: the library, read once; the recordings, where they are at hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from handsfree.library import Library, library

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="session")
def known() -> Library:
    return library()


@pytest.fixture(scope="session")
def recordings() -> Path:
    folder = ROOT.parent / "shared" / "speech"
    if not (folder / "manifest.tsv").exists():
        pytest.skip("the recordings of people are not beside the project")
    return folder
