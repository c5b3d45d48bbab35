"""The README: what is made from runs is fresh, and every command and sentence of it works."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from handsfree.edge.replay import Player
from handsfree.library import library

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"^```(sh|text)\n(.*?)^```", re.MULTILINE | re.DOTALL)


def blocks(kind: str) -> list[str]:
    return [text for form, text in BLOCK.findall(README) if form == kind]


def test_what_is_made_from_runs_is_fresh() -> None:
    done = subprocess.run(
        [sys.executable, ROOT / "scripts" / "write_readme", "--check"],
        env={**os.environ, "HANDSFREE_VENV": sys.prefix},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_command_of_the_recipes_works(tmp_path: Path) -> None:
    place, programs = tmp_path / "place", tmp_path / "bin"
    place.mkdir()
    programs.mkdir()
    for name in ("scripts", "tests"):
        (place / name).symlink_to(ROOT / name)
    command = programs / "handsfree"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m handsfree "$@"\n')
    command.chmod(0o755)
    commands = [line for block in blocks("sh") for line in block.splitlines()]
    assert len(commands) > 5
    for line in commands:
        done = subprocess.run(
            ["/bin/sh", "-c", line],
            cwd=place,
            env={
                "PATH": f"{programs}:/usr/bin:/bin",
                "HOME": str(tmp_path),
                "PYTHONPATH": str(ROOT),
                "LC_ALL": "C.UTF-8",
            },
            input="",
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
        )
        assert done.returncode == 0, f"{line}: {done.stdout}{done.stderr}"
    assert "<svg" in (place / "piece.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize("block", blocks("text"))
def test_every_sentence_of_the_recipes_is_understood(block: str) -> None:
    player, said = Player(library()), list[str]()
    for line in block.splitlines():
        if line.startswith("> "):
            told, _ = player.hear(line[2:])
            assert told.outcome != "ignored", line
            said = list(told.say)
        else:
            assert line[2:] in said, (line, said)


def test_every_command_is_in_the_table() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "handsfree", "--help"], capture_output=True, text=True, check=True
    )
    names = re.findall(r"^    (\w+) ", done.stdout, re.MULTILINE)
    assert len(names) > 8
    table = README.partition("## Commands")[2].partition("## Install")[0]
    assert [name for name in names if f"`handsfree {name}" not in table] == []
