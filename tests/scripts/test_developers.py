"""The tables of DEVELOPERS.md that nothing makes: each names what there is, and nothing else."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def part(start: str, end: str) -> str:
    return TEXT.partition(start)[2].partition(end)[0]


def test_every_script_and_benchmark_has_its_line() -> None:
    table = part("## Scripts", "## Calculators")
    told = set(re.findall(r"^\| `scripts/(\w+)", table, re.MULTILINE))
    files = {file.name for file in (ROOT / "scripts").iterdir() if file.is_file()}
    assert told == {name for name in files if "." not in name}
    (line,) = (line for line in table.splitlines() if line.startswith("| `scripts/bench"))
    benchmarks = {file.stem for file in (ROOT / "scripts" / "benchmarks").glob("[a-z]*.py")}
    assert {name for name in re.findall(r"`(\w+)`", line) if name != "NAME"} == benchmarks
