"""Drawings of a record: the last piece, on disk, and what is told where there is none."""

from __future__ import annotations

from pathlib import Path

import pytest

from handsfree.dialogue.effects import Show, Write
from handsfree.edge.drawings import NothingToDraw, save
from handsfree.edge.replay import Player, played
from handsfree.errors import DeviceError
from handsfree.library import Library
from handsfree.record.entries import Entry

BENCH = """
@fact dimension_to = centre
@fact size = 3/8
@bender 3/8 radius=15/16 between=1-1/4 springback=3
"""


def _entries(known: Library, *said: str) -> tuple[list[Entry], list[str]]:
    player = Player(known)
    script = BENCH + "".join(f"> {text}\n" for text in said)
    entries, shown = list[Entry](), list[str]()
    for _, told, effects in played(player, script):
        if told is not None:
            entries += [effect.entry for effect in effects if isinstance(effect, Write)]
            shown += [e.view.drawing for e in effects if isinstance(e, Show) and e.view.drawing]
    return entries, shown


def test_the_last_piece_is_drawn_and_its_tape_shown(known: Library, tmp_path: Path) -> None:
    # C-03: cut 39-1/4, marks 10 and 27-5/8; up, across, up is a Z, so the tube is flipped
    said = ("ten up, ninety, eighteen across, ninety, twelve up", "gain on a ninety")
    entries, shown = _entries(known, *said)
    save(entries, known, str(tmp_path / "piece.svg"))
    svg = (tmp_path / "piece.svg").read_text(encoding="utf-8")
    for wanted in ("Cut 39-1/4", "27-5/8", "flip"):
        assert wanted in svg
    assert len(shown) == 1
    assert "2. 27-5/8 to L, 90°, pull to 93°, flip" in shown[0]


def test_a_piece_told_without_ways_is_drawn_without_turns(known: Library, tmp_path: Path) -> None:
    entries, shown = _entries(known, "ten, ninety, eighteen, ninety, twelve")
    save(entries, known, str(tmp_path / "piece.svg"))
    svg = (tmp_path / "piece.svg").read_text(encoding="utf-8")
    assert "27-5/8" in svg
    assert "line up" not in svg + shown[0]
    assert "flip" not in svg + shown[0]


def test_metric_legs_are_drawn_in_millimetres(known: Library, tmp_path: Path) -> None:
    legs = "250 millimetres up 450 millimetres across 300 millimetres up"
    entries, _ = _entries(known, legs)
    save(entries, known, str(tmp_path / "piece.svg"))
    svg = (tmp_path / "piece.svg").read_text(encoding="utf-8")
    # by hand: 250 + 450 + 300 - 2 x 0.4292 x 23.8125 = 979.56, up
    assert "Cut 980" in svg


def test_what_cannot_be_drawn_is_told(known: Library, tmp_path: Path) -> None:
    entries, _ = _entries(known, "gain on a ninety")
    with pytest.raises(NothingToDraw):
        save(entries, known, str(tmp_path / "piece.svg"))
    entries, _ = _entries(known, "ten up eighteen across twelve up")
    with pytest.raises(DeviceError):
        save(entries, known, str(tmp_path / "no folder" / "piece.svg"))
