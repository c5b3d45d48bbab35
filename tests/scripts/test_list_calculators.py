from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
SCRIPT = ROOT / "scripts" / "list_calculators"


def _run(script: Path) -> subprocess.CompletedProcess[str]:
    # An environment of no project, so that the script stays in the one that runs the tests.
    return subprocess.run(
        [sys.executable, str(script), "--check"],
        capture_output=True,
        text=True,
        check=False,
        env={"HANDSFREE_VENV": "none", "PYTHONPATH": str(ROOT)},
    )


def test_the_table_in_the_documents_is_fresh() -> None:
    found = _run(SCRIPT)
    assert found.returncode == 0, found.stdout + found.stderr


def test_a_stale_table_is_told(tmp_path: Path) -> None:
    (tmp_path / "scripts").mkdir()
    shutil.copy(SCRIPT, tmp_path / "scripts")
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    (tmp_path / "DEVELOPERS.md").write_text(
        text.replace("| `torque` |", "| `tork` |"), encoding="utf-8"
    )
    found = _run(tmp_path / "scripts" / "list_calculators")
    assert found.returncode == 1
    assert "run scripts/list_calculators" in found.stdout
