"""The speaker that writes: each sentence a numbered WAV file, and an index of them."""

from __future__ import annotations

import json
import re
import shutil
import time
from pathlib import Path
from typing import TYPE_CHECKING

from handsfree.edge.voice.render import Renderer
from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from handsfree.library import Earcon

INDEX = "index.jsonl"
_LONGEST_SLUG = 40


class FileSpeaker:
    """Writes each sentence into a folder.

    A file is named by the sentence's number and first words. The index is JSON Lines, in the order
    of speaking: `number`, `text`, `file`, and `ready`, the time in seconds
    since 1970 at which the first sample was there to be played.
    """

    def __init__(self, renderer: Renderer, folder: Path) -> None:
        """Write into this folder, which is made where it is missing; raises `DeviceError`."""
        self._renderer, self._folder = renderer, folder
        self._done: list[tuple[int, bool]] = []
        self._trouble: DeviceError | None = None
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            renderer.close()
            raise self._told(error) from error

    def _told(self, error: OSError) -> DeviceError:
        return DeviceError(f"Cannot write voice files to {self._folder}: {error.strerror}.")

    def say(self, text: str, number: int) -> None:
        """Write a sentence to a file; one that cannot be written is let go."""
        try:
            self._write(text, number)
        except DeviceError as error:
            self._trouble = error
        else:
            self._trouble = None
        self._done.append((number, self._trouble is None))

    def _write(self, text: str, number: int) -> None:
        clip = self._renderer.render(text)
        ready = time.time()
        slug = re.sub(r"[^a-z0-9]+", "-", text.lower())[:_LONGEST_SLUG].strip("-")
        path = self._folder / f"{number:04d}-{slug or 'silence'}.wav"
        try:
            shutil.move(clip, path)
            self._note(number, text, path, ready)
        except OSError as error:
            for left in (clip, path):
                left.unlink(missing_ok=True)
            raise self._told(error) from error

    def _note(self, number: int, text: str, path: Path, ready: float) -> None:
        entry = {"number": number, "text": text, "file": path.name, "ready": ready}
        line = json.dumps(entry, ensure_ascii=False).encode(errors="replace")
        with (self._folder / INDEX).open("ab") as index:
            index.write(line + b"\n")

    def speak_as(self, rate: int, volume: int) -> None:
        """Speak so many steps faster and louder than usual, from the next sentence on."""
        self._renderer.speak_as(rate, volume)

    def hush(self) -> None:
        """Nothing is playing, so nothing is to be stopped."""

    def busy(self) -> bool:
        """Return false: a file is finished as soon as it is written."""
        return False

    def cue(self, earcon: Earcon) -> None:
        """Nothing sounds, and only sentences are written."""

    def saying(self) -> tuple[Path, ...] | None:
        """Return None: nothing sounds."""

    def trouble(self) -> DeviceError | None:
        """Return why the last sentence was not written; None where it was."""
        return self._trouble

    def finished(self) -> list[tuple[int, bool]]:
        """Return the sentences since the last call, and whether they were written."""
        found, self._done = self._done, []
        return found

    def close(self) -> None:
        """Let go of the rendering process."""
        self._renderer.close()
