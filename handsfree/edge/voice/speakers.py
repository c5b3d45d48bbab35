"""The speakers: aloud, or into numbered files."""

from __future__ import annotations

import json
import queue
import re
import shutil
import threading
import time
from pathlib import Path

from handsfree.edge.voice.play import CommandPlayer, Player, PortAudioPlayer
from handsfree.edge.voice.render import Renderer
from handsfree.edge.voice.speaker import Speaker
from handsfree.errors import DeviceError


class LoudSpeaker:
    """Says sentences through a player, on a thread of its own."""

    def __init__(self, renderer: Renderer, player: Player) -> None:
        """Say the sentences that are given to `say`, in order."""
        self._renderer, self._player = renderer, player
        self._waiting: queue.Queue[tuple[str, int, int] | None] = queue.Queue()
        self._finished: queue.Queue[tuple[int, bool]] = queue.Queue()
        self._generation = 0
        self._saying = 0
        self._failure: DeviceError | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def say(self, text: str, number: int) -> None:
        """Say a sentence after those that wait; raises `DeviceError` once the device has failed."""
        if self._failure is not None:
            raise self._failure
        self._saying += 1
        self._waiting.put((text, number, self._generation))

    def hush(self) -> None:
        """Stop the clip that plays, and forget those that wait."""
        self._generation += 1

    def busy(self) -> bool:
        """Return whether something is being said or waits."""
        return self._saying > 0

    def finished(self) -> list[tuple[int, bool]]:
        """Return the sentences finished since the last call."""
        found: list[tuple[int, bool]] = []
        while not self._finished.empty():
            found.append(self._finished.get())
        return found

    def _run(self) -> None:
        while (task := self._waiting.get()) is not None:
            text, number, generation = task
            whole = False
            try:
                if generation == self._generation:
                    clip = self._renderer.render(text)
                    whole = self._player.play(clip, lambda: generation != self._generation)  # noqa: B023
                    clip.unlink(missing_ok=True)
            except DeviceError as error:
                self._failure = error
            self._saying -= 1
            self._finished.put((number, whole))

    def close(self) -> None:
        """Fall silent, and let go of the device."""
        self.hush()
        self._waiting.put(None)
        self._thread.join(timeout=2)
        self._renderer.close()


class FileSpeaker:
    """Writes each sentence as a WAV file, with an index: number, text, and when it was ready."""

    INDEX = "index.jsonl"

    def __init__(self, renderer: Renderer, folder: Path) -> None:
        """Write into this folder, which is made where it is missing."""
        self._renderer, self._folder = renderer, folder
        self._done: list[tuple[int, bool]] = []
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise DeviceError(f"Cannot write voice files to {folder}: {error.strerror}.") from error

    def say(self, text: str, number: int) -> None:
        """Write a sentence to a file."""
        clip = self._renderer.render(text)
        slug = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:40]
        path = self._folder / f"{number:04d}-{slug}.wav"
        shutil.move(clip, path)
        entry = {"number": number, "text": text, "file": path.name, "ready": time.time()}
        with (self._folder / self.INDEX).open("a", encoding="utf-8") as index:
            index.write(json.dumps(entry, ensure_ascii=False) + "\n")
        self._done.append((number, True))

    def hush(self) -> None:
        """Nothing is playing, so nothing is to be stopped."""

    def busy(self) -> bool:
        """Return false: a file is finished as soon as it is written."""
        return False

    def finished(self) -> list[tuple[int, bool]]:
        """Return the sentences written since the last call."""
        found, self._done = self._done, []
        return found

    def close(self) -> None:
        """Let go of the rendering process."""
        self._renderer.close()


def aloud() -> Speaker:
    """Return a speaker on this machine's loudspeaker; raises `DeviceError` where there is none."""
    player: Player
    try:
        player = PortAudioPlayer()
    except DeviceError:
        player = CommandPlayer()
        _try_out(player)
    return LoudSpeaker(Renderer(), player)


def _try_out(player: Player) -> None:
    """Play one silent word, since a missing device shows only then."""
    renderer = Renderer(volume=0.0)
    try:
        player.play(renderer.render("a"), lambda: False)
    finally:
        renderer.close()


def into_files(folder: str | Path) -> Speaker:
    """Return a speaker that writes WAV files into a folder."""
    return FileSpeaker(Renderer(), Path(folder))
