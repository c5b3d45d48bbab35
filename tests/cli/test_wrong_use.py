"""What a stranger gets wrong is told in words with what to do, not as an error of the machine."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from handsfree.cli import main

BENCH = str(Path(__file__).parents[2] / "scripts" / "pictures" / "bench.txt")
PIECE = "ten up, ninety, eighteen across, ninety, twelve up"


@pytest.fixture(autouse=True)
def at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HANDSFREE_JOBS", str(tmp_path / "jobs"))
    (tmp_path / "sound").write_bytes(b"\xd0\x00")
    (tmp_path / "empty").mkdir()
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["ask", "--script", "none", "x"], "none cannot be read: No such file or directory. Check"),
        (["replay", "sound"], "The script sound is not text. Give lines as in"),
        (
            ["ask", "--script", BENCH, "--drawing", "p.png", PIECE],
            "a name that ends in .svg",
        ),
        (["ask", "--script", BENCH, "--drawing", "no/p.svg", PIECE], "Choose another place."),
    ],
)
def test_a_wrong_file_is_told_with_what_to_do(
    arguments: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 4
    shown = capsys.readouterr().err
    assert told in shown
    assert "Errno" not in shown
    assert "codec" not in shown


def test_a_pack_that_is_left_out_says_what_names_its_faults(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["ask", "--with", "empty", "what's 19 mil in inches"]) == 0
    assert "handsfree check --data, with the same pack" in capsys.readouterr().err


def test_a_new_job_does_not_go_on_and_its_papers_say_where_they_are(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO())
    main(["chat", "--job", "yard"])
    capsys.readouterr()
    main(["record", "yard"])
    assert "went on" not in capsys.readouterr().out
    assert main(["record", "yard", "--certificate", "yard.html", "--json", "yard.json"]) == 0
    shown = capsys.readouterr().out
    assert "Written: yard.html. Open it in a browser to read or print it." in shown
    assert "Written: yard.json" in shown
    assert Path("yard.html").is_file()
