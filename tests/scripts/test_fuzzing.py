"""A small slice of `scripts/bench fuzz`: damaged input to every parser of bytes from outside."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parents[2] / "scripts" / "benchmarks"))
from _fuzzing import Target, fuzz, targets

CASES = 400
"""Of all parsers together; the bench takes 100,000."""
CHANCE = 20260105
NAMES = ("journal", "procedure", "pack", "sound", "command line", "script")


@pytest.fixture(scope="module")
def parsers() -> Iterator[dict[str, Target]]:
    with targets() as found:
        yield {target.name: target for target in found}


def test_every_parser_is_fuzzed(parsers: dict[str, Target]) -> None:
    assert tuple(parsers) == NAMES
    assert sum(target.share for target in parsers.values()) == pytest.approx(1)


@pytest.mark.parametrize("name", NAMES)
def test_damaged_input_is_taken_or_told(
    name: str, parsers: dict[str, Target], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HANDSFREE_JOBS", str(tmp_path))
    cases = round(CASES * parsers[name].share)
    assert fuzz(parsers[name], cases, CHANCE) >= cases


def test_a_parser_that_crashes_is_found(parsers: dict[str, Target]) -> None:
    def crash(data: bytes) -> None:
        if len(data) % 7 == 3:
            raise RuntimeError("not as it should be")

    sound = parsers["sound"]
    with pytest.raises(RuntimeError):
        fuzz(Target("crash", sound.cases, crash, 1), 200, CHANCE)
