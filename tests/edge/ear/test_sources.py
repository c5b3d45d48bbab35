from __future__ import annotations

import io
import sys
from types import SimpleNamespace

import numpy as np
import pytest

from handsfree.edge.ear.sources import BLOCK, Microphone, PcmSource
from handsfree.errors import DeviceError


def test_sixteen_bit_samples_come_out_as_they_went_in() -> None:
    values = np.array([0, 16_384, -32_768, 32_767] * 300, dtype="<i2")
    samples = np.concatenate(list(PcmSource(io.BytesIO(values.tobytes() + b"\x01"))))
    assert samples.dtype == np.float32
    assert np.array_equal(samples * 32_768, values)


def test_a_stream_that_stops_between_two_halves_of_a_sample_is_read_on() -> None:
    class Odd(io.BytesIO):
        def read(self, size: int | None = -1) -> bytes:
            del size
            return super().read(3)

    values = np.arange(-30, 30, dtype="<i2")
    samples = np.concatenate(list(PcmSource(Odd(values.tobytes()))))
    assert np.array_equal(samples * 32_768, values)


class Stream:
    """The shape of the sound library's stream: it calls back when it is started."""

    def __init__(self, **options: object) -> None:
        self.callback = options["callback"]

    def start(self) -> None:
        loud = np.full((BLOCK, 1), 0.5, dtype=np.float32)
        for overflowed in (False, True):
            self.callback(loud, BLOCK, None, overflowed)  # type: ignore[operator]
        loud[:] = 0.0

    def close(self) -> None:
        pass


def test_the_microphone_gives_copies_and_counts_what_was_lost(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    library = SimpleNamespace(InputStream=Stream, PortAudioError=RuntimeError)
    monkeypatch.setitem(sys.modules, "sounddevice", library)
    with Microphone() as microphone:
        blocks = iter(microphone)
        assert (next(blocks) == 0.5).all()
        assert microphone.lost == 0
        assert (next(blocks) == 0.5).all()
        assert microphone.lost == 1


def test_a_listener_that_falls_behind_loses_the_newest_and_knows(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    class Fast(Stream):
        def start(self) -> None:
            for _ in range(250):
                self.callback(np.zeros((BLOCK, 1)), BLOCK, None, 0)  # type: ignore[operator]

    library = SimpleNamespace(InputStream=Fast, PortAudioError=RuntimeError)
    monkeypatch.setitem(sys.modules, "sounddevice", library)
    with Microphone() as microphone:
        assert microphone.lost == 50


def test_no_microphone_and_no_sound_library_say_what_to_do(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    class Absent(Stream):
        def start(self) -> None:
            raise RuntimeError

    library = SimpleNamespace(InputStream=Absent, PortAudioError=RuntimeError)
    monkeypatch.setitem(sys.modules, "sounddevice", library)
    with pytest.raises(DeviceError, match="handsfree chat"):
        Microphone().__enter__()
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(DeviceError, match="PortAudio"):
        Microphone().__enter__()
