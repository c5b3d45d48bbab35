"""How the voice says the words of the trade, by the sounds that a speech engine gives."""

from __future__ import annotations

import shutil
import subprocess

import pytest

from handsfree.language.pacing import spelled

pytestmark = pytest.mark.voices


def sounds(text: str) -> str:
    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed: apt install espeak-ng")
    command = ["espeak-ng", "-q", "-x", "-v", "en-us", text]
    found = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    return found.strip().translate({ord(mark): None for mark in "';_ "})


@pytest.mark.parametrize(
    ("sentence", "said"),
    [
        # as dictionaries of English give these words, from memory, in the engine's ASCII letters
        ("Five hundred and fifty-one psi.", "pi:EsaI"),
        ("Three eighths of an inch OD.", "oUdi:"),
        ("Swage it.", "sweIdZ"),
        ("Swaging punch in.", "sweIdZIN"),
        ("Deburr the end.", "di:b3:"),
        ("Not deburred yet?", "di:b3:d"),
        ("Anneal it.", "ni:l"),
        ("Five hundred microns.", "maIkr0nz"),
        ("Eccentric cone.", "EksEntrIk"),
        ("Three quarters of an inch.", "kwO@t#3z"),
        ("Eleven and five sixteenths.", "sIksti:nTs"),
        ("Seven thirty-seconds.", "sEk@ndz"),
    ],
)
def test_a_word_of_the_trade_comes_out_right(sentence: str, said: str) -> None:
    assert said in sounds(spelled(sentence))


def test_only_whole_words_are_spelled_anew() -> None:
    for sentence in ("The psychrometer is odd.", "Did the video show it?", "Idle it."):
        assert spelled(sentence) == sentence
