from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import soundfile

from handsfree.edge.voice import clips, worker


def engine(*voices: tuple[str, list[str] | None]) -> SimpleNamespace:
    found = [SimpleNamespace(id=name, languages=languages) for name, languages in voices]
    return SimpleNamespace(getProperty=lambda name: found if name == "voices" else None)


@pytest.mark.parametrize(
    ("voices", "chosen"),
    [
        # in the forms in which three systems name their voices
        (
            [("gmw/de", ["de"]), ("gmw/en", ["en-gb"]), ("gmw/en-us-nyc", ["en-us-nyc"])],
            "gmw/en",
        ),
        ([("gmw/en-us-nyc", ["en-us-nyc"]), ("gmw/en-us", ["en-us"])], "gmw/en-us"),
        ([("com.vendor.voice.Anna", ["de_DE"]), ("com.vendor.voice.Sam", ["en_US"])], None),
        ([("KEY\\Voices\\Tokens\\V_DE-DE_A", ["de-DE"]), ("KEY\\V_EN-US_B", ["en-US"])], None),
        ([("KEY\\Tokens\\V_DE-DE_A", None), ("KEY\\Tokens\\V_EN-AU_B", None)], None),
    ],
)
def test_an_english_voice_is_chosen(
    voices: list[tuple[str, list[str] | None]], chosen: str | None
) -> None:
    assert worker.english(engine(*voices)) == (chosen or voices[-1][0])


def test_no_english_voice_leaves_the_engines_own() -> None:
    assert worker.english(engine(("vi-vn-x-central", ["vi-vn-x-central"]), ("fr", ["fr"]))) is None
    assert worker.english(SimpleNamespace(getProperty=lambda _: None)) is None


@pytest.mark.parametrize("form", ["WAV", "AIFF"])
def test_a_sound_file_is_complete_only_at_its_end(tmp_path: Path, form: str) -> None:
    path = tmp_path / "clip.wav"
    assert not worker.complete(path)
    wave = (np.sin(np.arange(90) / 10) * 20_000).astype("int16")
    soundfile.write(path, wave, 22_050, format=form, subtype="PCM_16")
    whole = path.read_bytes()
    for end in range(len(whole)):
        path.write_bytes(whole[:end])
        assert not worker.complete(path)
    path.write_bytes(whole)
    assert worker.complete(path)
    worker.as_wav(path)
    assert clips.seconds(path) == pytest.approx(90 / 22_050)
    assert (soundfile.read(path, dtype="int16")[0] == wave).all()
