"""Every sentence that can be said is short enough to be kept in mind, and its number comes last.

At most 12 words for an action and 20 with a caution: the job's own rule (4.1), after Human Factors
25(1), 1983, on the memory that synthetic speech takes.
"""

from __future__ import annotations

import subprocess
import sys
from importlib.machinery import SourceFileLoader
from importlib.util import module_from_spec, spec_from_loader
from pathlib import Path
from types import ModuleType

import pytest

SCRIPT = Path(__file__).parents[2] / "scripts" / "list_sentences"


@pytest.fixture(scope="module")
def script() -> ModuleType:
    loader = SourceFileLoader("list_sentences", str(SCRIPT))
    specification = spec_from_loader("list_sentences", loader)
    assert specification is not None
    module = module_from_spec(specification)
    sys.modules["list_sentences"] = module
    loader.exec_module(module)
    return module


def test_no_sentence_is_too_long_and_every_number_comes_last() -> None:
    done = subprocess.run(
        [sys.executable, SCRIPT, "--check"], capture_output=True, text=True, check=False
    )
    assert (done.stdout, done.returncode) == ("", 0)


def test_what_is_too_long_or_hides_its_number_is_found(script: ModuleType) -> None:
    told = script.Told
    assert script.amiss(told("a/1.say", "word " * 12, action=True)) is None
    assert "13 words" in script.amiss(told("a/1.say", "word " * 13, action=True))
    assert script.amiss(told("a/1.caution", "word " * 20)) is None
    assert "21 words" in script.amiss(told("a/1.caution", "word " * 19 + "{value}"))
    hidden = told("x.sentences.answer", "It is {mark} one two three four five six seven.")
    assert "7 words after" in script.amiss(hidden)
    assert script.amiss(told("x.sentences.answer", "Mark at {mark} from the left end.")) is None


def test_the_list_reaches_every_part_that_speaks(script: ModuleType) -> None:
    places = {sentence.place for sentence in script.told()}
    for one in ("says.not_understood", "bend_mark.sentences.left", "cut/1.say", "safety.stop"):
        assert one in places
    assert len(places) > 2_000
