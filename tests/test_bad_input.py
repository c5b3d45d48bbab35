"""Bad input through the real commands: one clear sentence each, no traceback, nothing lost."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr

ROOT = Path(__file__).parent.parent
NOT_CAUGHT = "   I did not catch that.\n   Say help for what I can do.\n"


class Commands:
    """Runs the commands with a jobs folder of their own."""

    def __init__(self, folder: Path) -> None:
        self.jobs = folder / "jobs"

    def __call__(  # noqa: PLR0913 - what differs between two runs
        self,
        *arguments: str,
        text: bytes = b"",
        code: int | None = 0,
        where: Path = ROOT,
        jobs: Path | None = None,
        locale: str = "C.UTF-8",
        before: Callable[[], None] | None = None,
    ) -> tuple[str, str]:
        """Return what a command said, on standard output and on standard error."""
        done = subprocess.run(
            [sys.executable, "-m", "handsfree", *arguments],
            input=text,
            capture_output=True,
            check=False,
            timeout=60,
            cwd=where,
            env={
                "HANDSFREE_JOBS": str(jobs or self.jobs),
                "PATH": "/usr/bin:/bin",
                "LC_ALL": locale,
                "PYTHONCOERCECLOCALE": "0",
            },
            preexec_fn=before,
        )
        out, err = (told.decode(errors="replace") for told in (done.stdout, done.stderr))
        assert "Traceback" not in err
        assert "Exception" not in err
        assert code is None or done.returncode == code, err
        return out, err


@pytest.fixture
def command(tmp_path: Path) -> Commands:
    return Commands(tmp_path)


# ---------------------------------------------------------------------------- words


LINES = [
    b"flibbertigibbet",
    b"",
    b"   \t ",
    b"x" * 10_000,
    b"the tube is half inch " * 500,
    b"9" * 10_000,
    b"\x00\x07\x1b[31m\x1b]0;title\x07",
    "吹き付け مرحبا Ελλάδα 🙂".encode(),
    b"\xff\xfe\x80 no text at all",
    "½ \u2028\u202e\ud7ff".encode(),
]


@pytest.mark.parametrize("locale", ["C.UTF-8", "C"])
def test_a_line_that_means_nothing_gets_one_answer_and_ends_nothing(
    command: Commands, locale: str
) -> None:
    text = b"".join(b"%s\nnote after %d\n" % (line, at) for at, line in enumerate(LINES))
    out, err = command("chat", "--job", "odd", text=text, locale=locale)
    said = out.partition("or ask a number.\n")[2]
    assert said == "".join(f"{NOT_CAUGHT}   Noted: after {at}.\n" for at in range(len(LINES)))
    assert not err
    record = command("record", "odd")[0]
    assert all(f"note: after {at}" in record for at in range(len(LINES)))


@pytest.mark.parametrize(
    "question", ["", "flibbertigibbet", "x" * 10_000, "吹き付け", "\udcff\udcfe"]
)
def test_a_question_that_means_nothing_is_answered(command: Commands, question: str) -> None:
    assert "I did not catch that." in command("ask", question, code=3)[0]
    assert json.loads(command("ask", "--json", question, code=3)[0])["outcome"] == "ignored"


@pytest.mark.parametrize("text", [b"", b"note no line end"])
def test_input_that_ends_at_once_ends_the_talk(command: Commands, text: bytes) -> None:
    for name in ("chat", "talk"):
        out, _ = command(name, *(["--mute"] if name == "talk" else []), text=text)
        assert out.endswith("Noted: no line end.\n" if text else "or ask a number.\n")


def test_output_that_nobody_takes_is_told_in_one_sentence(tmp_path: Path) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("this system has no /dev/full")
    for arguments in (["ask", "what's 19 mil in inches"], ["chat"]):
        with Path("/dev/full").open("w") as full:
            done = subprocess.run(
                [sys.executable, "-m", "handsfree", *arguments],
                stdin=subprocess.DEVNULL,
                stdout=full,
                stderr=subprocess.PIPE,
                text=True,
                check=False,
                cwd=ROOT,
                env={"HANDSFREE_JOBS": str(tmp_path), "PATH": "/usr/bin:/bin"},
            )
        told = "What I say cannot be written out: No space left on device.\n"
        assert (done.returncode, done.stderr) == (4, told)


def test_new_jobs_begun_in_one_minute_are_jobs_of_their_own(command: Commands) -> None:
    command("chat", "--new", "--job", "roof", text=b"note first\n")
    command("chat", "--new", "--job", "roof", text=b"note second\n")
    command("chat", "--new", text=b"note third\n")
    command("chat", "--new", text=b"note fourth\n")
    assert len(list(command.jobs.glob("*.jsonl"))) == 4
    assert "note: first" in command("record", "roof")[0]
    assert "note: second" in command("record", "roof (2)")[0]


# ---------------------------------------------------------------------------- sound


@pytest.mark.voices
def test_a_recording_of_any_form_is_heard(command: Commands, tmp_path: Path) -> None:
    """The worst of the forms of `test_ear`, through the command."""
    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed: apt install espeak-ng")
    said, file = tmp_path / "said.wav", tmp_path / "said.flac"
    subprocess.run(["espeak-ng", "-v", "en-us", "-w", str(said), "start a cut"], check=True)
    samples, rate = soundfile.read(said, dtype="float32")
    quiet = np.zeros(rate, dtype="float32")
    mono = soxr.resample(np.concatenate([quiet, samples, quiet]), rate, 96_000)
    soundfile.write(file, np.tile(mono[:, None], 6), 96_000, subtype="PCM_24")
    told = [json.loads(line) for line in command("listen", str(file), "--json")[0].splitlines()]
    assert [one["heard"] for one in told] == ["start a cut"]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (None, "There is no file"),
        (b"", "cannot be read as sound"),
        (bytes(range(256)) * 40, "cannot be read as sound"),
        (b"RIFF\x24\x00\x00\x00WAVEfmt ", "cannot be read as sound"),
    ],
)
def test_a_missing_or_corrupt_recording_is_told(
    command: Commands, tmp_path: Path, content: bytes | None, told: str
) -> None:
    file = tmp_path / "said.wav"
    if content is not None:
        file.write_bytes(content)
    out, err = command("listen", str(file), code=4)
    assert not out
    assert told in err
    assert err.count("\n") == 1


def test_a_recording_without_sound_is_told(command: Commands, tmp_path: Path) -> None:
    file = tmp_path / "said.wav"
    soundfile.write(file, np.zeros(0, dtype="float32"), 16_000)
    assert "holds no sound" in command("listen", str(file), code=4)[1]
    soundfile.write(file, np.zeros(16_000, dtype="float32"), 16_000)
    assert command("listen", str(file)) == (
        "",
        "I heard no speech in that. Speak nearer to the microphone.\n",
    )
    assert "no speech" in command("listen", "-", text=b"")[1]


# ---------------------------------------------------------------------------- records and data


def test_a_disk_that_takes_no_more_loses_nothing_without_a_word(command: Commands) -> None:
    """A limit on the size of files stands in for a full disk."""
    resource = pytest.importorskip("resource")

    def small() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (1_500, resource.RLIM_INFINITY))

    lines = "".join(f"note number {number}\n" for number in range(12))
    out, err = command("chat", "--job", "full", text=lines.encode(), before=small, code=4)
    noted = [line.split()[-1] for line in out.splitlines() if "Noted" in line]
    held = [line.split()[-1] for line in out.splitlines() if "Held, not saved" in line]
    assert noted
    assert held
    assert [*noted, *held] == [f"{number}." for number in range(12)]
    assert err.count("not saved, and try again") == 1
    assert f"{len(held)} entries could not be saved" in err
    saved = command("record", "full")[0]
    assert [f"note: number {number}" in saved for number in range(12)] == [True] * len(noted) + [
        False
    ] * len(held)
    assert err.count("note: number") == len(held)
    assert "the chain is whole" in command("record", "full", "--verify")[0]


def test_a_jobs_folder_that_cannot_be_written_is_told(command: Commands, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    for place in (tmp_path / "file" / "jobs", Path("/proc/handsfree")):
        _, err = command("chat", jobs=place, text=b"note lost\n", code=4)
        assert err.count("\n") == 1
        assert "cannot be written" in err
        assert "HANDSFREE_JOBS" in err


def test_a_jobs_folder_that_can_only_be_read_can_still_be_read(command: Commands) -> None:
    command("chat", "--job", "roof", text=b"note kept\n")
    if os.geteuid() == 0:
        mount = ["mount", "-o", "bind,ro", str(command.jobs), str(command.jobs)]
        if subprocess.run(mount, check=False, capture_output=True).returncode:
            pytest.skip("this machine does not allow a folder to be made read-only for root")
    else:
        command.jobs.chmod(0o500)
        next(command.jobs.glob("*.jsonl")).chmod(0o400)
    try:
        _, err = command("chat", "--job", "roof", text=b"note lost\n", code=4)
        assert err.count("\n") == 1
        assert "cannot be written" in err
        assert "note: kept" in command("record", "roof")[0]
    finally:
        if os.geteuid() == 0:
            subprocess.run(["umount", str(command.jobs)], check=True)
        else:
            command.jobs.chmod(0o700)


def test_a_torn_last_line_is_dropped_with_a_word(command: Commands) -> None:
    command("chat", "--job", "roof", text=b"note one\nnote two\n")
    path = next(command.jobs.glob("*.jsonl"))
    path.write_bytes(path.read_bytes()[:-20])
    out, err = command("record", "roof", code=4)
    assert "note: one" in out
    assert "two" not in out
    assert err.endswith("the last line is cut off.\n")
    out, err = command("chat", "--job", "roof", text=b"note three\n")
    assert err == "The last line was cut off when the power went. Everything before it is there.\n"
    assert "Noted: three." in out
    out, err = command("record", "roof")
    assert "note: one" in out
    assert "note: three" in out
    assert not err


def test_a_broken_chain_is_told_and_nothing_is_added_to_it(command: Commands) -> None:
    command("chat", "--job", "roof", text=b"note one\nnote two\n")
    path = next(command.jobs.glob("*.jsonl"))
    path.write_bytes(path.read_bytes().replace(b'"text":"one"', b'"text":"two"'))
    changed = path.read_bytes()
    out, err = command("chat", "--job", "roof", text=b"note three\n", code=4)
    assert not out
    assert "it was changed after it was written" in err
    assert "--new" in err
    assert path.read_bytes() == changed
    out, err = command("record", "roof", code=4)
    assert out.count("note: two") == 2
    assert err == "Line 2: it was changed after it was written.\n"


def test_three_mistakes_in_a_procedure_file_are_told_at_once(
    command: Commands, tmp_path: Path
) -> None:
    shutil.copytree(
        ROOT / "handsfree", tmp_path / "handsfree", ignore=shutil.ignore_patterns("__pycache__")
    )
    file = tmp_path / "handsfree" / "data" / "procedures" / "deburr.toml"
    file.write_text(
        file.read_text(encoding="utf-8")
        .replace('kind = "done"', 'kind = "don"', 1)
        .replace("insist =", "insits =")
        .replace('goto = "cut/2"\n', "goto = 5\n"),
        encoding="utf-8",
    )
    out, _ = command("check", "--data", where=tmp_path, code=4)
    assert out.count("deburr.toml, step") == 3
    assert "Did you mean 'insist'?" in out
    out, err = command("chat", where=tmp_path, text=b"what's nineteen mil in inches\n")
    assert err.count("Left out: deburr.toml, step") == 3
    assert "^\n" in err
    assert "19 mm is 0.748 in." in out
