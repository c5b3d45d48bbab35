"""The speaker that is heard, on a thread of its own."""

from __future__ import annotations

import queue
import threading
from dataclasses import dataclass
from pathlib import Path

from handsfree.edge.voice import clips
from handsfree.edge.voice.files import FileSpeaker
from handsfree.edge.voice.play import CommandPlayer, Player, PortAudioPlayer
from handsfree.edge.voice.render import Renderer
from handsfree.edge.voice.speaker import Speaker
from handsfree.errors import DeviceError

__all__ = ["FileSpeaker", "LoudSpeaker", "aloud", "into_files"]


@dataclass(frozen=True, slots=True)
class _Task:
    """A sentence with its number, and how often we had been hushed before it."""

    text: str
    number: int
    hushes: int


class LoudSpeaker:
    """Says sentences through a player, on a thread of its own."""

    def __init__(self, renderer: Renderer, player: Player) -> None:
        """Say the sentences that are given to `say`, in order."""
        self._renderer, self._player = renderer, player
        self._tasks: queue.Queue[_Task | None] = queue.Queue()
        self._finished: queue.Queue[tuple[int, bool]] = queue.Queue()
        self._lock = threading.Lock()
        self._open_tasks = 0
        self._hushes = 0
        self._failure: DeviceError | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def say(self, text: str, number: int) -> None:
        """Say a sentence after those that wait; raises `DeviceError` once the device has failed."""
        if self._failure is not None:
            raise self._failure
        with self._lock:
            self._open_tasks += 1
        self._tasks.put(_Task(text, number, self._hushes))

    def speak_as(self, rate: int, volume: int) -> None:
        """Speak so many steps faster and louder than usual, from the next sentence on."""
        self._renderer.speak_as(rate, volume)

    def hush(self) -> None:
        """Stop the clip that plays, and forget those that wait."""
        self._hushes += 1

    def busy(self) -> bool:
        """Return whether something is being said or waits."""
        return self._open_tasks > 0

    def finished(self) -> list[tuple[int, bool]]:
        """Return the sentences finished since the last call."""
        found: list[tuple[int, bool]] = []
        while not self._finished.empty():
            found.append(self._finished.get())
        return found

    def _run(self) -> None:
        while (task := self._tasks.get()) is not None:
            whole = False
            try:
                whole = self._failure is None and self._perform(task)
            except DeviceError as error:
                self._failure = error
            self._finished.put((task.number, whole))
            with self._lock:
                self._open_tasks -= 1

    def _perform(self, task: _Task) -> bool:
        """Return whether a task was heard to its end; raises `DeviceError`."""

        def stopped() -> bool:
            return task.hushes != self._hushes

        if stopped():
            return False
        clip = self._renderer.render(task.text)
        try:
            return not stopped() and self._player.play(clip, stopped)
        finally:
            clip.unlink(missing_ok=True)

    def close(self) -> None:
        """Fall silent, and let go of the device."""
        self.hush()
        self._tasks.put(None)
        self._thread.join(timeout=2)
        self._renderer.close()


def aloud() -> Speaker:
    """Return a speaker on this machine's loudspeaker; raises `DeviceError` where there is none."""
    player: Player
    try:
        player = _tried(PortAudioPlayer())
    except DeviceError:
        player = _tried(CommandPlayer())
    return LoudSpeaker(Renderer(), player)


def _tried(player: Player) -> Player:
    """Return a player that has played a short silence, since a missing device shows only then."""
    with clips.folder() as folder:
        player.play(clips.silence(Path(folder) / "silence.wav"), lambda: False)
    return player


def into_files(folder: str | Path) -> Speaker:
    """Return a speaker that writes WAV files into a folder; raises `DeviceError`."""
    return FileSpeaker(Renderer(), Path(folder))
