"""What the voice tests share: a synthesiser, skipped aloud where there is none, and devices."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from handsfree.edge.voice.render import Renderer

Run = Callable[[str, str], subprocess.CompletedProcess[str]]


@pytest.fixture
def renderer() -> Iterator[Renderer]:
    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed: apt install espeak-ng")
    renderer = Renderer()
    yield renderer
    renderer.close()


@pytest.fixture
def alsa(tmp_path: Path) -> Callable[[str], str]:
    """Return a function that makes an ALSA set-up with one device, and gives its file."""
    if shutil.which("aplay") is None or not Path("/usr/share/alsa/alsa.conf").exists():
        pytest.skip("aplay is not installed: apt install alsa-utils")

    def made(device: str) -> str:
        file = tmp_path / "alsa.conf"
        file.write_text(
            f"</usr/share/alsa/alsa.conf>\npcm.!default {device}\nctl.!default {{ type null }}\n"
        )
        return str(file)

    return made


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Return a function that runs a program with an ALSA set-up of its own."""

    def run(program: str, setup: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-W", "error", "-c", program, str(tmp_path)],
            env={**os.environ, "ALSA_CONFIG_PATH": setup},
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )

    return run
