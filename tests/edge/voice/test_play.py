from __future__ import annotations

import subprocess
import threading
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any, Self

import numpy as np
import pytest

from handsfree.edge.voice import clips, play
from handsfree.edge.voice.play import CommandPlayer, PortAudioPlayer
from handsfree.errors import DeviceError

Run = Callable[[str, str], subprocess.CompletedProcess[str]]
SWALLOWS = "{ type null }"
STUCK = '{ type file slave.pcm null format raw file "| sleep 4" }'
"""A device that takes what a pipe holds (a second and a half of a clip) and then no more."""


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    return clips.write(tmp_path / "clip.wav", b"\1\0" * 3 * clips.RATE)


def test_the_systems_player_plays_to_the_end(
    clip: Path, alsa: Callable[[str], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ALSA_CONFIG_PATH", alsa(SWALLOWS))
    assert CommandPlayer().play(clip, lambda: False)


def test_a_missing_device_is_told(clip: Path, alsa: Callable[[str], str]) -> None:
    assert alsa(SWALLOWS)
    with pytest.raises(DeviceError, match="No loudspeaker"):
        CommandPlayer("-D", "no-such-device").play(clip, lambda: False)


def test_a_missing_player_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(DeviceError, match="No loudspeaker"):
        CommandPlayer()


def test_a_clip_that_is_none_is_told(tmp_path: Path, alsa: Callable[[str], str]) -> None:
    assert alsa(SWALLOWS)
    (tmp_path / "none.wav").write_bytes(b"RIFF")
    with pytest.raises(DeviceError, match="stopped working"):
        CommandPlayer().play(tmp_path / "none.wav", lambda: False)


def test_a_clip_that_plays_is_stopped(
    clip: Path, alsa: Callable[[str], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ALSA_CONFIG_PATH", alsa(STUCK))
    quiet = threading.Event()
    whole: list[bool] = []
    thread = threading.Thread(target=lambda: whole.append(CommandPlayer().play(clip, quiet.is_set)))
    thread.start()
    thread.join(0.3)
    assert thread.is_alive()
    quiet.set()
    thread.join(2)
    assert whole == [False]


def test_a_device_that_sticks_is_told(
    clip: Path, alsa: Callable[[str], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ALSA_CONFIG_PATH", alsa(STUCK))
    monkeypatch.setattr(play, "_GRACE", -2.5)
    with pytest.raises(DeviceError, match="stopped working"):
        CommandPlayer().play(clip, lambda: False)


PORT_AUDIO = """
import sys
from pathlib import Path
from handsfree.edge.voice import clips
from handsfree.edge.voice.play import PortAudioPlayer
from handsfree.errors import DeviceError
folder = Path(sys.argv[1])
try:
    player = PortAudioPlayer()
    clip = clips.write(folder / "c.wav", b"\\1\\0" * clips.RATE)
    print(player.play(clip, lambda: False))
    (folder / "c.wav").write_bytes(b"RIFF")
    player.play(clip, lambda: False)
except DeviceError as error:
    print(error)
"""


def test_portaudio_plays_and_tells_its_failures(alsa: Callable[[str], str], run: Run) -> None:
    try:
        import sounddevice  # noqa: F401, PLC0415 - only to see whether it loads
    except OSError:
        pytest.skip("PortAudio is not installed: apt install libportaudio2")
    done = run(PORT_AUDIO, alsa(SWALLOWS))
    assert done.stdout == "True\nThe loudspeaker stopped working. Look at its plug and its power.\n"
    if not Path("/dev/snd").exists():
        done = run(PORT_AUDIO, "/usr/share/alsa/alsa.conf")
        assert done.stdout == "No loudspeaker here. Plug one in or use --save-voice DIR.\n"


class Stream:
    """A PortAudio stream that asks for sound as a device does, and plays on until it is cut off."""

    def __init__(self, **options: Any) -> None:
        self.callback, self.rate = options["callback"], options["samplerate"]
        self.active = True
        self.heard: list[np.ndarray] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def ask(self, frames: int) -> None:
        out = np.full((frames, 1), 9.0, dtype=np.float32)
        try:
            self.callback(out, frames, None, None)
        except StopIteration:
            self.active = False
        self.heard.append(out[:, 0])

    def abort(self) -> None:
        self.active = False


def through(rates: tuple[int, ...]) -> tuple[PortAudioPlayer, list[Stream]]:
    """Return a player on a device with these rates: no device here plays at a pace."""
    made: list[Stream] = []

    def check(**options: Any) -> None:
        if options["samplerate"] not in rates:
            raise ValueError

    def stream(**options: Any) -> Stream:
        made.append(Stream(**options))
        return made[-1]

    player = PortAudioPlayer.__new__(PortAudioPlayer)
    player._sound = SimpleNamespace(  # noqa: SLF001 - as above
        check_output_settings=check,
        OutputStream=stream,
        PortAudioError=RuntimeError,
        CallbackStop=StopIteration,
    )
    player._own_rate = rates[0]  # noqa: SLF001 - as above
    return player, made


def test_a_stream_is_cut_off_and_not_played_out(clip: Path) -> None:
    player, made = through((clips.RATE,))
    looks = iter([False, False, True])
    assert not player.play(clip, lambda: next(looks))
    assert not made[0].active


@pytest.mark.parametrize("rate", [clips.RATE, 48_000, 8_000])
def test_every_sample_is_played_once_at_a_rate_that_the_device_has(clip: Path, rate: int) -> None:
    player, made = through((rate,))

    def look() -> bool:
        made[0].ask(777)
        return False

    assert player.play(clip, look)
    assert made[0].rate == rate
    heard = np.concatenate(made[0].heard)
    seconds = np.count_nonzero(np.abs(heard) > 1e-5) / rate
    assert seconds == pytest.approx(clips.seconds(clip), abs=0.01)
    assert np.abs(heard).max() < 0.01
