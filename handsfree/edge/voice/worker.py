"""The rendering process: reads a sentence a line, writes a WAV file, answers a line.

In a process of its own, because the speech engine can hang or crash, must stay on one thread, and
cannot be interrupted. What it prints of its own accord must not come between the answers, so
standard output is kept for them before the engine is loaded.
"""

from __future__ import annotations

import json
import os
import sys
from typing import Any

ENGLISH = ("en-us", "en_us", "en-gb", "en_gb", "english")


def _english(engine: Any) -> str | None:
    """Return the id of an English voice, or None where the engine names none."""
    voices = engine.getProperty("voices") or []
    for wanted in ENGLISH:
        for voice in voices:
            if wanted in str(voice.id).lower():
                return str(voice.id)
    return None


def main() -> None:
    """Answer requests until standard input ends."""
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    import pyttsx3  # noqa: PLC0415 - after standard output is safe

    engine = pyttsx3.init()
    voice = _english(engine)
    if voice is not None:
        engine.setProperty("voice", voice)
    for line in sys.stdin:
        request = json.loads(line)
        engine.setProperty("rate", request["rate"])
        engine.setProperty("volume", request["volume"])
        engine.save_to_file(request["text"], request["path"])
        engine.runAndWait()
        answers.write(json.dumps({"path": request["path"]}) + "\n")
        answers.flush()


if __name__ == "__main__":
    main()
