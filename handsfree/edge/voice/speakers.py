"""The speaker that is heard, on a thread of its own."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from handsfree.edge.voice import clips
from handsfree.edge.voice.files import FileSpeaker
from handsfree.edge.voice.play import CommandPlayer, Player, PortAudioPlayer
from handsfree.edge.voice.render import Renderer
from handsfree.edge.voice.speaker import Speaker
from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from handsfree.library import Earcon

__all__ = ["FileSpeaker", "LoudSpeaker", "aloud", "into_files"]


RETRY = 5.0
"""Seconds between looks for a loudspeaker that is gone."""
_PROBE = "ready"


@dataclass(frozen=True, slots=True)
class _Task:
    """A sentence with its number, or a sound, and how often we had been hushed before it."""

    what: str | Earcon
    number: int | None
    hushes: int


class LoudSpeaker:
    """Says sentences through a player, on a thread of its own.

    A player or a voice that fails is let go, and looked for again and again; what is to be said
    until then is not said later.
    """

    def __init__(self, renderer: Renderer, player: Callable[[], Player]) -> None:
        """Say the sentences that are given to `say`, in order, by a player that is opened here."""
        self._renderer, self._open = renderer, player
        self._player: Player | None = None
        self._tasks: queue.Queue[_Task | None] = queue.Queue()
        self._finished: queue.Queue[tuple[int, bool]] = queue.Queue()
        self._lock = threading.Lock()
        self._open_tasks = 0
        self._hushes = 0
        self._clips: tuple[Path, ...] = ()
        self._trouble: DeviceError | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def say(self, text: str, number: int) -> None:
        """Say a sentence after those that wait; while there is trouble it is let go."""
        self._put(text, number)

    def cue(self, earcon: Earcon) -> None:
        """Make a sound that is no word, after what waits."""
        self._put(earcon, None)

    def _put(self, what: str | Earcon, number: int | None) -> None:
        with self._lock:
            self._open_tasks += 1
        self._tasks.put(_Task(what, number, self._hushes))

    def speak_as(self, rate: int, volume: int) -> None:
        """Speak so many steps faster and louder than usual, from the next sentence on."""
        self._renderer.speak_as(rate, volume)

    def hush(self) -> None:
        """Stop the clip that plays, and forget those that wait."""
        self._hushes += 1

    def busy(self) -> bool:
        """Return whether something is being said or waits."""
        return self._open_tasks > 0

    def saying(self) -> tuple[Path, ...] | None:
        """Return the clip that plays and the one before it; None while nothing sounds."""
        return self._clips if self.busy() else None

    def trouble(self) -> DeviceError | None:
        """Return why nothing can be said now; None where it can."""
        return self._trouble

    def finished(self) -> list[tuple[int, bool]]:
        """Return the sentences finished since the last call."""
        found: list[tuple[int, bool]] = []
        while not self._finished.empty():
            found.append(self._finished.get())
        return found

    def _run(self) -> None:
        self._find()
        while True:
            try:
                task = self._tasks.get(timeout=RETRY if self._trouble else None)
            except queue.Empty:
                self._find()
                continue
            if task is None:
                return
            whole = False
            try:
                whole = self._perform(task)
            except DeviceError as error:
                self._trouble, self._player = error, None
            if task.number is not None:
                self._finished.put((task.number, whole))
            with self._lock:
                self._open_tasks -= 1

    def _find(self) -> None:
        """Look for a voice and a player that work."""
        try:
            self._renderer.render(_PROBE).unlink(missing_ok=True)
            self._player = self._open()
        except DeviceError as error:
            self._trouble = error
        else:
            self._trouble = None

    def _perform(self, task: _Task) -> bool:
        """Return whether a task was heard to its end; raises `DeviceError`."""

        def stopped() -> bool:
            return task.hushes != self._hushes

        if stopped() or self._player is None:
            return False
        what = task.what
        clip = self._renderer.render(what) if isinstance(what, str) else self._renderer.sound(what)
        for old in self._clips[:-1]:
            old.unlink(missing_ok=True)
        self._clips = (*self._clips[-1:], clip)
        return not stopped() and self._player.play(clip, stopped)

    def close(self) -> None:
        """Fall silent, and let go of the device."""
        self.hush()
        self._tasks.put(None)
        self._thread.join(timeout=2)
        self._renderer.close()


def aloud() -> Speaker:
    """Return a speaker on this machine's loudspeaker; raises `DeviceError` without any voice."""
    return LoudSpeaker(Renderer(), player_here)


def player_here() -> Player:
    """Return a player that works on this machine; raises `DeviceError` where there is none."""
    try:
        return _tried(PortAudioPlayer())
    except DeviceError:
        return _tried(CommandPlayer())


def _tried(player: Player) -> Player:
    """Return a player that has played a short silence, since a missing device shows only then."""
    with clips.folder() as folder:
        player.play(clips.silence(Path(folder) / "silence.wav"), lambda: False)
    return player


def into_files(folder: str | Path) -> Speaker:
    """Return a speaker that writes WAV files into a folder; raises `DeviceError`."""
    return FileSpeaker(Renderer(), Path(folder))
