"""The button: any key of a real terminal, pressed or held."""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Iterator

import pytest

from handsfree.edge import button
from handsfree.edge.button import Press, keys, presses
from handsfree.errors import DeviceError


def told(script: list[str | None]) -> list[Press]:
    """Return what a script of keys comes to: None is a moment in which no key comes."""
    waiting = iter([*script, ""])

    def next_key(patience: float | None) -> str | None:
        key = next(waiting)
        while key is None and patience is None:
            key = next(waiting)
        return key

    return list(presses(next_key))


@pytest.mark.parametrize(
    ("script", "found"),
    [
        ([], []),
        ([" ", None], [Press.SHORT]),
        (["b", None, "\n", None, "\x1b[15~", None], [Press.SHORT] * 3),
        ([" ", " ", " ", " ", None], [Press.HELD]),
        ([" ", " ", None, " ", None], [Press.HELD, Press.SHORT]),
        ([" ", " "], [Press.HELD]),
        ([" ", None, "\x04"], [Press.SHORT]),
    ],
)
def test_a_press_is_short_and_a_key_that_repeats_is_held_once(
    script: list[str | None], found: list[Press]
) -> None:
    assert told(script) == found


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """A real terminal as standard input; gives the end at which its keys are pressed."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    with os.fdopen(theirs, "r", closefd=True) as stdin:
        monkeypatch.setattr(sys, "stdin", stdin)
        yield ours
    os.close(ours)


def test_a_real_terminal_gives_each_key_at_once_and_is_put_back(
    terminal: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    termios = pytest.importorskip("termios")
    monkeypatch.setattr(button, "FIRST_REPEAT", 0.2)
    before = termios.tcgetattr(sys.stdin.fileno())

    def press() -> None:
        time.sleep(0.1)
        os.write(terminal, b" ")
        time.sleep(0.5)
        for _ in range(5):
            os.write(terminal, b" ")
            time.sleep(0.05)
        time.sleep(0.4)
        os.write(terminal, b"\x04")

    thread = threading.Thread(target=press)
    with keys() as next_key:
        thread.start()
        assert list(presses(next_key)) == [Press.SHORT, Press.HELD]
    thread.join()
    assert termios.tcgetattr(sys.stdin.fileno()) == before


def test_no_terminal_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", None)
    with pytest.raises(DeviceError, match="needs a terminal"), keys():
        pass
