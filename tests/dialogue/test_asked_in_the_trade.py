"""Every way in which the trade asks for a number goes to its own calculator, or is handed back.

`asked_in_the_trade.tsv`: the entry of the job description that the sentence belongs to, the
sentence as people say it, and the calculator, command or refusal that must answer. From job
practice; the right one in every case.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from asked_rows import asked_rows

from handsfree.edge.replay import Player
from handsfree.library import Library

ROWS = asked_rows(Path(__file__).parent / "asked_in_the_trade.tsv")


@pytest.mark.parametrize(
    ("entry", "sentence", "what"), ROWS, ids=[f"{entry} {text}" for entry, text, _ in ROWS]
)
def test_asked(entry: str, sentence: str, what: str, known: Library) -> None:
    told, _ = Player(known).hear(sentence)
    assert told.what == what, f"{entry}: {told.say}"
    assert told.say
    assert told.outcome in ("did", "asked", "refused")


def test_there_are_enough() -> None:
    assert len(ROWS) > 150
    assert {f"C-{number}" for number in range(21, 55)} <= {entry for entry, _, _ in ROWS}
