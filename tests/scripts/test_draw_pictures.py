"""The pictures of the README are those that this version draws, and are small."""

from __future__ import annotations

import importlib.util
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import ModuleType
from xml.etree import ElementTree as ET

import pytest

ROOT = Path(__file__).resolve().parents[2]
LARGEST, LARGEST_BOARD = 20_000, 150_000
"""A picture in the repository is at most this many bytes."""


def _script() -> ModuleType:
    loader = SourceFileLoader("draw_pictures", str(ROOT / "scripts" / "draw_pictures"))
    spec = importlib.util.spec_from_loader("draw_pictures", loader)
    assert spec is not None
    module = importlib.util.module_from_spec(spec)
    loader.exec_module(module)
    return module


def test_the_pictures_are_fresh_small_and_shown() -> None:
    drawn = _script().pictures()
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    kept = {file.name for file in (ROOT / "scripts" / "pictures").glob("*.svg")}
    assert kept == set(drawn)
    for name, svg in drawn.items():
        file = ROOT / "scripts" / "pictures" / name
        assert file.read_text(encoding="utf-8") == svg, f"{name}: run scripts/draw_pictures"
        assert len(svg) < LARGEST
        assert f"(scripts/pictures/{name})" in readme
        ET.fromstring(svg)  # noqa: S314 - our own drawing


def test_the_board_is_drawn_small_and_shown(tmp_path: Path) -> None:
    kept = (ROOT / "scripts" / "pictures" / "board.png").read_bytes()
    assert "(scripts/pictures/board.png)" in (ROOT / "README.md").read_text(encoding="utf-8")
    assert len(kept) < LARGEST_BOARD
    if not _script().draw_board(tmp_path / "board.png"):
        pytest.skip("there is no Chromium: the board was not drawn")
    drawn = (tmp_path / "board.png").read_bytes()
    assert drawn[:24] == kept[:24], "the same form and the same size (PNG, ISO/IEC 15948, 11.2.2)"
