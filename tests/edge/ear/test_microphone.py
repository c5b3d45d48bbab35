"""The microphone, through the shape of the sound library and through ALSA itself."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from handsfree.edge import portaudio
from handsfree.edge.ear import microphone as module
from handsfree.edge.ear.microphone import Microphone
from handsfree.edge.ear.sources import BLOCK
from handsfree.errors import DeviceError

Callback = Callable[[np.ndarray, int, object, object], None]


class Device:
    """The shape of the sound library, with one microphone that gives what it is told to."""

    def __init__(
        self, give: Callable[[Callback], None], rates: tuple[float, ...] = (16_000,)
    ) -> None:
        self.give, self.rates = give, rates
        self.looked = 0
        self.library = SimpleNamespace(
            InputStream=self.stream,
            PortAudioError=RuntimeError,
            query_devices=lambda *_: {"default_samplerate": self.rates[0]},
            _terminate=lambda: None,
            _initialize=self.look,
        )

    def look(self) -> None:
        self.looked += 1

    def stream(self, **options: Any) -> SimpleNamespace:
        if options["samplerate"] not in self.rates:
            raise RuntimeError
        return SimpleNamespace(
            start=lambda: self.give(options["callback"]), close=options["finished_callback"]
        )


@pytest.fixture
def device(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Device]:
    def made(give: Callable[[Callback], None], rates: tuple[float, ...] = (16_000,)) -> Device:
        found = Device(give, rates)
        monkeypatch.setitem(sys.modules, "sounddevice", found.library)
        return found

    return made


def level(number: float, size: int = BLOCK) -> np.ndarray:
    return np.full((size, 1), number, dtype=np.float32)


def test_blocks_are_copies_that_tell_what_was_lost_and_what_we_said(
    device: Callable[..., Device], tmp_path: Path
) -> None:
    clips: list[tuple[Path, ...] | None] = [None, (tmp_path,)]

    def give(callback: Callback) -> None:
        block = level(0.5)
        callback(block, BLOCK, None, 0)
        callback(block, BLOCK, None, 1)
        block[:] = 0.0

    device(give)
    with Microphone(lambda: clips.pop(0)) as microphone:
        blocks = iter(microphone)
        first, second = next(blocks), next(blocks)
    assert (first.samples == 0.5).all()
    assert (second.samples == 0.5).all()
    assert (first.gap, second.gap) == (False, True)
    assert (first.own, second.own) == (None, (tmp_path,))


def test_a_listener_that_falls_behind_learns_where_the_gap_is(
    device: Callable[..., Device],
) -> None:
    later: list[Callback] = []

    def give(callback: Callback) -> None:
        for _ in range(250):
            callback(level(0.5), BLOCK, None, 0)
        later.append(callback)

    device(give)
    with Microphone() as microphone:
        blocks = iter(microphone)
        assert not any(next(blocks).gap for _ in range(200))
        later[0](level(0.5), BLOCK, None, 0)
        later[0](level(0.5), BLOCK, None, 0)
        assert [next(blocks).gap for _ in range(2)] == [True, False]


@pytest.mark.parametrize("rate", [44_100, 48_000, 8_000])
def test_a_device_of_another_rate_is_taken_at_that_rate(
    device: Callable[..., Device], rate: int
) -> None:
    time = np.arange(2 * rate) / rate
    sound = np.sin(2 * np.pi * 440 * time).astype(np.float32)[:, None]

    def give(callback: Callback) -> None:
        step = round(BLOCK * rate / 16_000)
        for start in range(0, len(sound), step):
            callback(sound[start : start + step], step, None, 0)

    device(give, (float(rate),))
    with Microphone() as microphone:
        blocks = iter(microphone)
        found = np.concatenate([next(blocks).samples for _ in range(60)])
    spectrum = np.abs(np.fft.rfft(found[4_000:20_000]))
    assert np.argmax(spectrum) == pytest.approx(440, abs=1)


def test_nothing_but_zeros_is_told_as_muted(device: Callable[..., Device]) -> None:
    def give(callback: Callback) -> None:
        callback(level(0.1), BLOCK, None, 0)
        for _ in range(190):
            callback(level(0.0), BLOCK, None, 0)

    device(give)
    with Microphone() as microphone, pytest.raises(DeviceError, match="muted, or not allowed"):
        for _ in microphone:
            pass


def test_a_microphone_that_stops_is_told(
    device: Callable[..., Device], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "_GONE_AFTER", 0.01)
    device(lambda callback: callback(level(0.1), BLOCK, None, 0))
    with Microphone() as microphone:
        blocks = iter(microphone)
        next(blocks)
        with pytest.raises(DeviceError, match="gone quiet"):
            next(blocks)


def test_no_microphone_no_permission_and_no_library_say_what_to_do(
    device: Callable[..., Device], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    device(lambda _: None, ())
    monkeypatch.setattr(module, "_DEVICES", tmp_path)
    device(lambda _: None, (1.0,)).library.InputStream = _absent
    with pytest.raises(DeviceError, match="No microphone answers"):
        Microphone().__enter__()
    (tmp_path / "pcmC0D0c").touch()
    monkeypatch.setattr(module.os, "access", lambda *_: False)
    with pytest.raises(DeviceError, match="may not use the microphone"):
        Microphone().__enter__()
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(DeviceError, match="PortAudio"):
        Microphone().__enter__()


def _absent(**_: Any) -> SimpleNamespace:
    raise RuntimeError


def test_devices_are_looked_for_anew_only_while_nothing_plays(
    device: Callable[..., Device],
) -> None:
    found = device(lambda _: None)
    with Microphone():
        assert found.looked == 1
        portaudio.look_again()
        assert found.looked == 1
    portaudio.look_again()
    assert found.looked == 2


THROUGH_ALSA = """
import sys
import numpy as np
from handsfree.edge.ear.microphone import Microphone
from handsfree.errors import DeviceError
try:
    with Microphone() as microphone:
        blocks = iter(microphone)
        found = np.concatenate([next(blocks).samples for _ in range(20)])
    print(len(found), round(float(np.abs(found).max()), 3))
except DeviceError as error:
    print(error)
"""


def through_alsa(folder: Path, device: str) -> str:
    if not Path("/usr/share/alsa/alsa.conf").exists():
        pytest.skip("ALSA is not installed: apt install libasound2-data")
    try:
        import sounddevice  # noqa: F401, PLC0415 - only to see whether it loads
    except OSError:
        pytest.skip("PortAudio is not installed: apt install libportaudio2")
    setup = folder / "alsa.conf"
    setup.write_text(
        f"</usr/share/alsa/alsa.conf>\npcm.!default {device}\nctl.!default {{ type null }}\n"
    )
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", THROUGH_ALSA],
        env={**os.environ, "ALSA_CONFIG_PATH": str(setup)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    return done.stdout


def test_a_real_device_gives_what_it_is_fed(tmp_path: Path) -> None:
    sound = np.full(200_000, 8_192, dtype="<i2")
    (tmp_path / "said.raw").write_bytes(sound.tobytes())
    plug = f"""{{ type plug slave.pcm {{ type file slave.pcm null format raw
        file "/dev/null" infile "{tmp_path / "said.raw"}" }} slave.format S16_LE }}"""
    told = through_alsa(tmp_path, plug).split()
    assert told[0] == str(20 * BLOCK)
    assert float(told[1]) > 0


def test_a_machine_without_one_says_what_to_do(tmp_path: Path) -> None:
    if Path("/dev/snd").exists():
        pytest.skip("this machine has a sound card")
    assert through_alsa(tmp_path, "{ type hw card 7 }").startswith("No microphone answers.")
