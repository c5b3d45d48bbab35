"""The tables of DEVELOPERS.md that nothing makes: each names what there is, and nothing else."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def part(start: str, end: str) -> str:
    return TEXT.partition(start)[2].partition(end)[0]


def plain(package: str) -> str:
    """Return a package's name as indexes compare it (PyPA, normalised names)."""
    return re.sub(r"[-_.]+", "-", package).lower()


def test_every_script_and_benchmark_has_its_line() -> None:
    table = part("## Scripts", "## Calculators")
    told = set(re.findall(r"^\| `scripts/(\w+)", table, re.MULTILINE))
    files = {file.name for file in (ROOT / "scripts").iterdir() if file.is_file()}
    assert told == {name for name in files if "." not in name}
    (line,) = (line for line in table.splitlines() if line.startswith("| `scripts/bench"))
    benchmarks = {file.stem for file in (ROOT / "scripts" / "benchmarks").glob("[a-z]*.py")}
    assert {name for name in re.findall(r"`(\w+)`", line) if name != "NAME"} == benchmarks


def test_every_package_is_reviewed_in_the_version_that_is_installed() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needed = {plain(re.split(r"[<>=]", one)[0]) for one in project["dependencies"]}
    versions = {}
    for line in (ROOT / "scripts/constraints-linux-3.11.txt").read_text("utf-8").splitlines():
        name, found, version = line.partition("==")
        if found:
            versions[plain(name)] = version
    rows = re.findall(r"^\| ([^|]+) \|", part("<!-- review", "## Decisions"), re.MULTILINE)
    told = {plain(name): version for name, version in re.findall(r"([\w-]+) (\d[\d.]*)", str(rows))}
    assert told == {name: versions[name] for name in needed}
