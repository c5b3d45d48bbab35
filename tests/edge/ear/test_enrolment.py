"""Ten sentences fit the ears to a person: level, noise, how well each is heard."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from handsfree.cli import main
from handsfree.edge.ear import profile
from handsfree.edge.ear.enrolment import Profile, Take, first_utterance, proposed
from handsfree.errors import DeviceError
from handsfree.library import Library

RATE = 16_000


def take(
    level: float = -20.0, peak: float = -10.0, fit: float = -0.4, *, right: bool = True
) -> Take:
    return Take("where am I", level, peak, -60.0, 0.0, fit, "where am I" if right else "why")


def test_who_is_quiet_is_made_louder_but_never_into_clipping(known: Library) -> None:
    limits, usual = known.sound.enrolment, known.hearing
    quiet = proposed([take(-40, -25)] * 10, limits, usual)
    assert quiet == Profile(20.0, usual.fit)
    peaky = proposed([take(-40, -12)] * 10, limits, usual)
    assert peaky is not None
    assert peaky.gain == 9.0  # 3 dB are kept below full scale
    loud = proposed([take(-5, -1)] * 10, limits, usual)
    assert loud is not None
    assert loud.gain == -15.0
    far = proposed([take(-70, -60)] * 10, limits, usual)
    assert far is not None
    assert far.gain == limits.most


def test_who_is_heard_badly_is_believed_sooner_but_never_below_the_floor(known: Library) -> None:
    limits, usual = known.sound.enrolment, known.hearing
    fits = [proposed([take(fit=fit)] * 10, limits, usual) for fit in (-0.2, -1.1, -3.0)]
    assert [one.fit for one in fits if one] == [usual.fit, -1.2, limits.lowest]


def test_too_little_heard_changes_nothing(known: Library) -> None:
    limits = known.sound.enrolment
    few = [take()] * (limits.enough - 1) + [take(right=False)] * 5
    assert proposed(few, limits, known.hearing) is None


def test_a_person_who_says_nothing_is_not_waited_for_for_ever() -> None:
    def room() -> object:
        chance = np.random.default_rng(2)
        while True:
            yield (1e-3 * chance.standard_normal(512)).astype(np.float32)

    samples, floor = first_utterance(room())  # type: ignore[arg-type]
    assert samples is None
    assert floor == pytest.approx(-60, abs=0.5)  # a thousandth of full scale


@pytest.fixture
def read_aloud(tmp_path: Path, known: Library) -> Path:
    if shutil.which("flite") is None:
        pytest.skip("flite is not installed")
    folder = tmp_path / "read"
    folder.mkdir()
    for number, prompt in enumerate(known.sound.enrolment.prompts):
        file = folder / f"{number}.wav"
        subprocess.run(["flite", "-voice", "slt", "-t", prompt, "-o", str(file)], check=True)
        samples, rate = soundfile.read(file, dtype="float32")
        room = 1e-4 * np.random.default_rng(number).standard_normal(len(samples) + 2 * rate)
        room[rate : rate + len(samples)] += 0.1 * samples
        soundfile.write(file, room, rate)
    return folder


@pytest.mark.voices
def test_a_folder_of_ten_is_measured_and_only_figures_are_kept(
    read_aloud: Path,
    tmp_path: Path,
    known: Library,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv(profile.SETTING, str(tmp_path / "kept" / "voice.json"))
    assert profile.kept() == Profile()
    assert main(["check", "--voice", "--recordings", str(read_aloud)]) == 0
    told = capsys.readouterr().out
    assert told.count("dB over the room") == 10
    kept = profile.kept()
    assert kept.gain > 6  # it was made ten times quieter than the voice speaks
    assert kept.fit is not None
    assert known.sound.enrolment.lowest <= kept.fit <= known.hearing.fit
    assert [file.name for file in (tmp_path / "kept").iterdir()] == ["voice.json"]
    assert (tmp_path / "kept" / "voice.json").stat().st_size < 100
    (read_aloud / "9.wav").unlink()
    assert main(["check", "--voice", "--recordings", str(read_aloud)]) == 4
    assert "9 recordings, and I need 10" in capsys.readouterr().err


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        '{"gain": "x", "fit": -1}',
        '{"gain": 1e9, "fit": -1}',
        '{"gain": NaN, "fit": -1}',
        "\xff",
    ],
)
def test_a_broken_file_says_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str
) -> None:
    file = tmp_path / "voice.json"
    monkeypatch.setenv(profile.SETTING, str(file))
    file.write_bytes(text.encode("latin-1"))
    with pytest.raises(DeviceError, match="handsfree check --voice"):
        profile.kept()
    file.unlink()
    profile.keep(Profile(3.0, -1.1))
    assert profile.kept() == Profile(3.0, -1.1)
