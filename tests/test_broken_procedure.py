"""A broken procedure file: the talk goes on without it and says so; the check fails."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    """Return a folder with a copy of the package in which the unrolling has a bad step."""
    shutil.copytree(ROOT / "handsfree", tmp_path / "handsfree")
    file = tmp_path / "handsfree" / "data" / "procedures" / "unroll.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('goto = "4"', 'goto = "44"'), encoding="utf-8")
    return tmp_path


def run(folder: Path, *words: str, typed: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "handsfree", *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder), "HANDSFREE_JOBS": str(folder / "jobs")},
        input=typed,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


def test_the_check_fails_and_points_at_it(broken: Path) -> None:
    done = run(broken, "check", "--data")
    assert done.returncode == 4
    assert "unroll.toml, step \"6\": goes to '44', which is not a step" in done.stdout
    assert "^" in done.stdout


def test_the_talk_says_which_is_out_and_leads_through_the_others(broken: Path) -> None:
    done = run(broken, "chat", "--new", typed="start a cut\n")
    told = done.stdout + done.stderr
    assert "Left out: unroll.toml" in told
    assert "First: Protection and work area." in told
    assert done.returncode == 0
