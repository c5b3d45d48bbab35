from __future__ import annotations

import io
import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile

from handsfree.edge.ear.sources import FileSource, PcmSource
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


def test_a_sound_file_on_standard_input_is_told_and_not_taken_for_samples(tmp_path: Path) -> None:
    file = written(tmp_path, tone(0.1))
    with pytest.raises(DeviceError, match="Name the file instead"):
        list(PcmSource(io.BytesIO(file.read_bytes())))


def test_an_endless_stream_is_taken_a_block_at_a_time() -> None:
    class Endless(io.RawIOBase):
        def read(self, size: int = -1) -> bytes:
            return bytes(size)

    blocks = iter(PcmSource(Endless()))  # type: ignore[arg-type]
    assert [len(next(blocks)) for _ in range(100)] == [512] * 100


# ------------------------------------------------------------------------------ files


def tone(seconds: float, rate: int = 16_000) -> np.ndarray:
    time = np.arange(round(seconds * rate)) / rate
    return (0.5 * np.sin(2 * np.pi * 440 * time)).astype(np.float32)


def written(folder: Path, samples: np.ndarray, rate: int = 16_000, **how: str) -> Path:
    file = folder / f"sound.{how.get('format', 'wav').lower()}"
    soundfile.write(file, samples, rate, **how)
    return file


def taken(file: Path) -> np.ndarray:
    return np.concatenate(list(FileSource(file)))


@pytest.mark.parametrize("rate", [8_000, 11_025, 16_000, 44_100, 48_000, 96_000])
@pytest.mark.parametrize("channels", [1, 2])
def test_any_rate_and_any_number_of_channels_come_out_as_ours(
    tmp_path: Path, rate: int, channels: int
) -> None:
    samples = tone(2, rate)
    found = taken(written(tmp_path, np.stack([samples] * channels, axis=1), rate))
    assert len(found) == pytest.approx(32_000, abs=40)
    spectrum = np.abs(np.fft.rfft(found[4_000:20_000]))
    assert np.argmax(spectrum) == pytest.approx(440, abs=1)  # one bin a hertz, as the tone was made
    assert np.std(found[4_000:28_000]) == pytest.approx(0.5 / np.sqrt(2), rel=0.02)


@pytest.mark.parametrize("kept", [0.02, 0.5, 0.9])
def test_a_file_that_was_cut_off_says_how_much_is_there(tmp_path: Path, kept: float) -> None:
    file = written(tmp_path, tone(10))
    assert FileSource(file).fault is None
    whole = file.read_bytes()
    file.write_bytes(whole[: 44 + round(kept * (len(whole) - 44))])
    told = FileSource(file).fault
    assert told is not None
    assert f"{10 * kept:.1f} of 10.0 seconds" in told
    assert len(taken(file)) == pytest.approx(160_000 * kept, abs=20)


def test_a_flac_file_that_was_cut_off_is_told_after_what_is_there(tmp_path: Path) -> None:
    noise = np.random.default_rng(3).uniform(-0.5, 0.5, 160_000).astype(np.float32)
    file = written(tmp_path, noise, format="FLAC")
    file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])
    with pytest.raises(DeviceError, match="is cut off"):
        taken(file)


def test_a_length_that_nobody_knew_yet_is_no_fault(tmp_path: Path) -> None:
    file = written(tmp_path, tone(1))
    data = bytearray(file.read_bytes())
    data[4:8] = data[40:44] = b"\xff\xff\xff\xff"
    file.write_bytes(data)
    assert FileSource(file).fault is None
    assert len(taken(file)) == 16_000


def test_chunks_before_the_sound_are_passed_over(tmp_path: Path) -> None:
    file = written(tmp_path, tone(1), subtype="FLOAT", format="WAV")
    data = file.read_bytes()
    file.write_bytes(data[:-8_000])
    assert "0.9 of 1.0 seconds" in (FileSource(file).fault or "")


@pytest.mark.parametrize("rate", [0, 1, 3_999, 500_000])
def test_a_rate_that_no_microphone_has_is_refused(tmp_path: Path, rate: int) -> None:
    file = written(tmp_path, tone(1))
    data = bytearray(file.read_bytes())
    data[24:28] = struct.pack("<I", rate)
    file.write_bytes(data)
    with pytest.raises(DeviceError, match=r"no microphone gives|cannot be read"):
        taken(file)


@pytest.mark.parametrize("content", [b"", b"RIFF", b"RIFF" + bytes(40), b"words " * 500])
def test_what_is_no_sound_file_is_told(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "sound.wav"
    file.write_bytes(content)
    with pytest.raises(DeviceError, match="Give a WAV or FLAC file"):
        taken(file)


def test_a_file_of_no_length_and_a_file_of_no_numbers(tmp_path: Path) -> None:
    with pytest.raises(DeviceError, match="holds no sound"):
        taken(written(tmp_path, tone(0)))
    bad = tone(1)
    bad[::7] = np.nan
    found = taken(written(tmp_path, bad, subtype="FLOAT", format="WAV"))
    assert np.isfinite(found).all()


def test_a_folder_and_a_name_without_a_file_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(DeviceError, match=r"is a folder. Give one WAV or FLAC file."):
        next(iter(FileSource(tmp_path)))
    with pytest.raises(DeviceError, match=r"There is no file .*none.wav. Check the name."):
        next(iter(FileSource(tmp_path / "none.wav")))
