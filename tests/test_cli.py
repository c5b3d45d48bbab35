from __future__ import annotations

import json
import os
import pty
import re
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest

import handsfree

COMMANDS = [
    *("talk", "chat", "demo", "ask", "listen", "replay", "check", "jobs", "record"),
    "completion",
]


def run(*arguments: str, jobs: Path, text: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "handsfree", *arguments],
        input=text,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
        env={"HANDSFREE_JOBS": str(jobs), "PATH": "/usr/bin:/bin", "LC_ALL": "C.UTF-8"},
    )


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(command: str, tmp_path: Path) -> None:
    done = run(command, "--help", jobs=tmp_path)
    assert done.returncode == 0
    assert f"example:\n  handsfree {command}" in done.stdout


def test_ask_answers_asks_back_and_refuses_by_exit_code(tmp_path: Path) -> None:
    assert run("ask", "what's 19 mil in inches", jobs=tmp_path).returncode == 0
    assert run("ask", "torque on a half inch flare", jobs=tmp_path).returncode == 3
    assert run("ask", "can I test with oxygen", jobs=tmp_path).returncode == 3
    assert run("ask", jobs=tmp_path).returncode == 2
    assert run("nothing", jobs=tmp_path).returncode == 2


def test_ask_json_has_the_documented_form(tmp_path: Path) -> None:
    done = run("ask", "--json", "what's 19 mil in inches", jobs=tmp_path)
    told = json.loads(done.stdout)
    assert set(told) == {"heard", "outcome", "what", "slots", "answers", "say", "at", "sources"}
    assert told["outcome"] == "did"
    assert told["slots"]["value"] == {"value": 19.0, "unit": "millimetre"}
    assert told["answers"][0]["rounded"] == "3/4 in"
    assert set(told["answers"][0]) == {"name", "value", "unit", "rounded"}


def test_replay_plays_a_script(tmp_path: Path) -> None:
    script = tmp_path / "talk.txt"
    script.write_text(
        "@fact dimension_to = centre\n@bender 3/8 radius=15/16\n"
        "> where do I mark a ninety at twelve three eighths\n"
    )
    done = run("replay", str(script), jobs=tmp_path)
    assert "< Start of bend: 11-1/16 in." in done.stdout
    done = run("replay", str(script), "--json", jobs=tmp_path)
    assert json.loads(done.stdout)["what"] == "bend_mark"


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("@fact colour = red", "Line 1"),
        ("@fact dimension_to = sideways", "centre, outside, inside"),
        ("@at cut/99", "'99' is not a step of cut"),
        ("hello", "a line begins with"),
        ("@clock soon", "+60s"),
    ],
)
def test_a_bad_script_says_which_line(tmp_path: Path, line: str, told: str) -> None:
    script = tmp_path / "talk.txt"
    script.write_text(line + "\n")
    done = run("replay", str(script), jobs=tmp_path)
    assert done.returncode == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_a_missing_script_and_a_missing_job_are_told(tmp_path: Path) -> None:
    done = run("replay", str(tmp_path / "none.txt"), jobs=tmp_path)
    assert (done.returncode, done.stderr.count("\n")) == (4, 1)
    done = run("record", "none", jobs=tmp_path)
    assert (done.returncode, done.stderr.count("\n")) == (4, 1)


def test_chat_keeps_a_record_that_verifies(tmp_path: Path) -> None:
    done = run(
        "chat", "--job", "a/b 🙂", jobs=tmp_path, text="the tube is half inch\nnote clip loose\n"
    )
    assert done.returncode == 0
    assert "Noted: clip loose." in done.stdout
    assert "a/b 🙂" in run("jobs", jobs=tmp_path).stdout
    record = run("record", "a/b 🙂", jobs=tmp_path)
    assert "note: clip loose" in record.stdout
    assert "the chain is whole" in run("record", "a/b 🙂", "--verify", jobs=tmp_path).stdout


def test_talk_without_anything_says_how_to_go_on(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "handsfree", "talk", "--mute"],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
        env={"HANDSFREE_JOBS": str(tmp_path), "PATH": "/usr/bin:/bin", "LC_ALL": "C.UTF-8"},
    )
    if "microphone" not in done.stderr.lower() and "PortAudio" not in done.stderr:
        pytest.skip("this machine has a microphone")
    assert "handsfree listen FILE.wav" in done.stderr
    assert done.returncode == 4


def test_check_data_is_green(tmp_path: Path) -> None:
    done = run("check", "--data", jobs=tmp_path)
    assert done.returncode == 0
    assert done.stdout.startswith("works")


def test_data_is_printed_as_json_on_request(tmp_path: Path) -> None:
    assert run("jobs", "--json", jobs=tmp_path).stdout == ""
    run("chat", "--job", "Roof", jobs=tmp_path, text="where am I\n")
    (job,) = [json.loads(line) for line in run("jobs", "--json", jobs=tmp_path).stdout.splitlines()]
    assert job["name"] == "Roof"
    assert job["entries"] >= 1
    assert Path(job["file"]).parent == tmp_path
    done = run("check", "--data", "--json", jobs=tmp_path)
    (part,) = [json.loads(line) for line in done.stdout.splitlines()]
    assert (part["part"], part["works"], part["needed"]) == ("data", True, True)
    assert done.stderr == ""  # no display where there is no terminal


PACK = str(Path(__file__).parent / "packs" / "brightwater")


def test_a_company_pack_answers_and_is_checked(tmp_path: Path) -> None:
    done = run("ask", "--with", PACK, "who has the roof keys", jobs=tmp_path)
    assert done.stdout.startswith("Brightwater Cooling says: ")
    done = run("check", "--data", "--with", PACK, jobs=tmp_path)
    assert done.returncode == 0
    assert "Brightwater Cooling, edition 2026-03" in done.stdout


def test_a_pack_with_a_fault_is_left_out_and_the_check_points_at_it(tmp_path: Path) -> None:
    (tmp_path / "pack.toml").write_text('id = "firm"\nname = "Firm"\n')
    done = run("ask", "--with", str(tmp_path), "what's 19 mil in inches", jobs=tmp_path)
    assert (done.returncode, "3/4 in." in done.stdout) == (0, True)
    assert "The company pack is left out: one fault to mend." in done.stderr
    done = run("check", "--data", "--with", str(tmp_path), jobs=tmp_path)
    assert done.returncode == 4
    assert "pack.toml, edition: Field required" in done.stdout


def test_the_version_is_that_of_the_package(tmp_path: Path) -> None:
    done = run("--version", jobs=tmp_path)
    assert done.stdout == f"handsfree {handsfree.__version__}\n"
    project = tomllib.loads((Path(__file__).parent.parent / "pyproject.toml").read_text())
    assert project["project"]["version"] == handsfree.__version__


@pytest.mark.parametrize("shell", ["bash", "zsh", "tcsh"])
def test_a_shell_completes_every_command(shell: str, tmp_path: Path) -> None:
    done = run("completion", shell, jobs=tmp_path)
    assert done.returncode == 0
    assert [name for name in COMMANDS if name not in done.stdout] == []


def test_bash_completes_commands_and_options(tmp_path: Path) -> None:
    script = run("completion", "bash", jobs=tmp_path).stdout
    for line, wanted in (
        ("handsfree re", {"replay", "record"}),
        ("handsfree jobs --j", {"--json"}),
    ):
        words = line.split()
        typed = " ".join(words)
        asked = (
            f"COMP_WORDS=({typed}); COMP_CWORD={len(words) - 1}; "
            "_shtab_handsfree; printf '%s\\n' \"${COMPREPLY[@]}\""
        )
        done = subprocess.run(
            ["bash", "-c", script + "\n" + asked],
            capture_output=True,
            text=True,
            check=True,
            timeout=30,
        )
        assert set(done.stdout.split()) == wanted


@pytest.mark.parametrize("settings", [{}, {"NO_COLOR": "1"}])
def test_no_colour_where_none_is_wanted(settings: dict[str, str], tmp_path: Path) -> None:
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "handsfree", "check", "--data", "--with", str(tmp_path / "none")],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=theirs,
        env={"PATH": "/usr/bin:/bin", "TERM": "xterm-256color", **settings},
    ) as process:
        process.wait(timeout=60)
    os.close(theirs)
    shown = b""
    while block := _from(ours):
        shown += block
    os.close(ours)
    assert b"data" in shown  # on a terminal, how far it has come is shown
    colours = re.findall(rb"\x1b\[[0-9;]*3[0-9][0-9;]*m", shown)
    assert bool(colours) is ("NO_COLOR" not in settings)


def _from(terminal: int) -> bytes:
    try:
        return os.read(terminal, 65536)
    except OSError:  # the other end is closed and all is read
        return b""


def test_a_talk_that_ends_at_once_ends_well(tmp_path: Path) -> None:
    """Ten at once: the property library still loads beside most of them when they end."""
    command = [sys.executable, "-m", "handsfree", "chat", "--job"]
    begun = [
        subprocess.Popen(
            [*command, str(number)],
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "HANDSFREE_JOBS": str(tmp_path)},
        )
        for number in range(10)
    ]
    for number, process in enumerate(begun):
        time.sleep(0.5 if number else 3)  # they are begun, and settled, one by one
        assert process.stdin is not None
        process.stdin.close()
    assert [process.wait(timeout=60) for process in begun] == [0] * 10
