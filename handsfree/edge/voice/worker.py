"""The rendering process: reads a sentence a line, writes a WAV file, answers a line.

In a process of its own, because the speech engine can hang or crash, must stay on one thread, and
cannot be interrupted. It is started by its path and imports nothing of this package, so that a
new one is there at once. What the engine prints of its own accord must not come between the
answers, so standard output is kept for them before the engine is loaded.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import time
from pathlib import Path
from typing import Any

ENGLISH = ("en-us", "en-gb", "en")
"""Languages to speak in, best first."""
LENGTH_ENDS = 8
"""Bytes at the start of a sound file that hold its kind and the length of what follows them."""
POLL = 0.002


def english(engine: Any) -> str | None:
    """Return the id of an English voice, or None where the engine names none."""
    voices = engine.getProperty("voices") or []
    tags = {voice.id: _languages(voice) for voice in voices}
    for wanted in ENGLISH:
        for voice, languages in tags.items():
            if wanted in languages:
                return str(voice)
    for voice, languages in tags.items():
        if any("en-" in language for language in languages):
            return str(voice)
    return None


def _languages(voice: Any) -> set[str]:
    """Return what names a voice's language: some engines say it, others put it into the id."""
    named = [str(language) for language in voice.languages or []]
    last = str(voice.id).replace("\\", "/").rpartition("/")[2]
    return {name.lower().replace("_", "-") for name in (*named, last)}


def complete(path: Path) -> bool:
    """Return whether a sound file is there to its end: the engine may answer before it is."""
    try:
        with path.open("rb") as file:
            head = file.read(LENGTH_ENDS)
        size = path.stat().st_size
    except OSError:
        return False
    if head[:4] == b"RIFF":
        return int.from_bytes(head[4:8], "little") + LENGTH_ENDS <= size
    return head[:4] == b"FORM" and int.from_bytes(head[4:8], "big") + LENGTH_ENDS <= size


def as_wav(path: Path) -> None:
    """Make a WAV file of what the engine wrote: that of macOS writes AIFF under any name."""
    with path.open("rb") as file:
        if file.read(4) == b"RIFF":
            return
    import soundfile  # noqa: PLC0415 - only on that system

    samples, rate = soundfile.read(path, dtype="int16")
    soundfile.write(path, samples, rate, format="WAV", subtype="PCM_16")


def let_finish(engine: Any) -> None:
    """Keep pyttsx3 from cancelling what espeak has in hand each time that its loop ends.

    It does so whenever espeak is still busy with a new rate, a new voice or the end of the last
    sentence: the setting is lost, and at times the sentence. Nothing is ever to be cancelled here,
    since this process is ended from outside.
    """
    driver = getattr(getattr(engine, "proxy", None), "_driver", None)
    if driver is not None and type(driver).__module__ == "pyttsx3.drivers.espeak":
        driver.stop = lambda: None


class Utterances:
    """Counts those begun and those ended, as far as the engine tells."""

    def __init__(self, engine: Any) -> None:
        self.open = 0
        engine.connect("started-utterance", lambda name: self._count(1))  # noqa: ARG005
        engine.connect("finished-utterance", lambda name, completed: self._count(-1))  # noqa: ARG005

    def _count(self, step: int) -> None:
        self.open += step


def main() -> None:
    """Answer requests until standard input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the conversation to answer
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    import pyttsx3  # noqa: PLC0415 - after standard output is safe

    engine = pyttsx3.init()
    let_finish(engine)
    utterances = Utterances(engine)
    voice = english(engine)
    if voice is not None:
        engine.setProperty("voice", voice)
    print(json.dumps({"ready": voice}), file=answers, flush=True)
    for line in sys.stdin:
        request = json.loads(line)
        path = Path(request["path"])
        engine.setProperty("rate", request["rate"])
        engine.setProperty("volume", request["volume"])
        engine.save_to_file(request["text"], str(path))
        engine.runAndWait()  # which may return before the sentence is done
        while utterances.open > 0 or not complete(path):
            time.sleep(POLL)  # whoever asked loses patience, and ends this process
        as_wav(path)
        print(json.dumps({"path": str(path)}), file=answers, flush=True)


if __name__ == "__main__":
    main()
