"""The wheel holds every file of the package, and works from any folder."""

from __future__ import annotations

import email
import os
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("dist")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", folder],
        cwd=ROOT,
        check=True,
        capture_output=True,
        timeout=120,
    )
    (built,) = folder.glob("*.whl")
    return built


def test_every_file_of_the_package_is_in_it_and_nothing_else(wheel: Path) -> None:
    package = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "handsfree").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if ".dist-info/" not in name}
    assert held == package


def test_it_names_its_command_and_lower_bounds(wheel: Path) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    with zipfile.ZipFile(wheel) as archive:
        (info,) = (name.split("/")[0] for name in archive.namelist() if name.endswith("/METADATA"))
        told = email.message_from_bytes(archive.read(f"{info}/METADATA"))
        points = archive.read(f"{info}/entry_points.txt").decode()
    assert "handsfree = handsfree.cli:main" in points
    assert told["Requires-Python"] == project["requires-python"]
    needs = told.get_all("Requires-Dist") or []
    assert len(needs) == len(project["dependencies"])
    assert [need for need in needs if ">=" not in need and "==" not in need] == []


def test_unpacked_anywhere_it_answers_from_any_folder(wheel: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path / "site")
    away = tmp_path / "away"
    away.mkdir()
    done = subprocess.run(
        [sys.executable, "-m", "handsfree", "ask", "what's 19 mil in inches"],
        cwd=away,
        env={**os.environ, "PYTHONPATH": str(tmp_path / "site")},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert (done.returncode, "3/4 in." in done.stdout) == (0, True), done.stderr
    assert list(away.iterdir()) == []
