"""Recordings: read from the folder beside the project, parted into two halves, noise mixed in."""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from handsfree.language.grammar import Grammar

RECORDINGS = Path(__file__).resolve().parents[2].parent / "shared" / "speech"
LEVELS = (20, 10, 5)
"""Decibels of signal to noise at which noise is mixed in."""
DIGITS = "zero oh one two three four five six seven eight nine"
NUMBER_WORDS = (
    f"{DIGITS} ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen "
    "twenty thirty forty fifty sixty seventy eighty ninety hundred thousand"
)
LOOP = f"{NUMBER_WORDS} enter yes no stop go help repeat start"
"""The words of the free loop: any of them, in any order, any number of times."""
CHOOSING, REPORTED = "choosing", "reported"
"""The half that limits may be chosen on, and the half that figures are told of."""


@dataclass(frozen=True)
class Recording:
    """A line of the manifest, and its samples (float32, 16 kHz)."""

    folder: str
    words: tuple[str, ...]
    samples: NDArray[np.float32]
    name: str = ""


def half_of(name: str) -> str:
    """Return the half that a recording or a command is in: by a hash of its name, for good."""
    return REPORTED if hashlib.sha256(name.encode()).digest()[0] % 2 else CHOOSING


def read(folder: Path, every: int = 1) -> list[Recording]:
    """Return the recordings of a manifest, or one of every so many."""
    import numpy as np  # noqa: PLC0415

    from handsfree.edge.ear.sources import FileSource  # noqa: PLC0415 - after the path is set

    found = []
    with (folder / "manifest.tsv").open(encoding="utf-8") as lines:
        for row in islice(csv.DictReader(lines, delimiter="\t"), 0, None, every):
            name = row["file"]
            samples = np.concatenate(list(FileSource(folder / name)))
            words = tuple((row["words"] or "").split())
            found.append(Recording(Path(name).parts[0], words, samples, name))
    return found


def mixed(
    recordings: Sequence[Recording], noises: Sequence[Recording], level: float
) -> Iterator[Recording]:
    """Yield the recordings with noise at a signal-to-noise ratio in decibels.

    That is the mean power of the whole recording against the mean power of the noise. The noise
    recordings are joined in order, and each recording takes the piece after the one before.
    """
    import numpy as np  # noqa: PLC0415

    noise = np.concatenate([n.samples for n in noises])
    place = 0
    for recording in recordings:
        length = len(recording.samples)
        piece = np.take(noise, np.arange(place, place + length), mode="wrap")
        place += length
        ratio = np.square(recording.samples).mean() / max(np.square(piece).mean(), 1e-12)
        gain = np.sqrt(ratio / 10 ** (level / 10))
        samples = np.clip(recording.samples + gain * piece, -1, 1).astype(np.float32)
        yield Recording(recording.folder, recording.words, samples, recording.name)


def free_loop() -> Grammar:
    """Return the grammar of the free loop."""
    from handsfree.language.grammar import Choice, Grammar, Repeat, Word  # noqa: PLC0415

    return Grammar(Repeat(Choice(tuple(map(Word, LOOP.split()))), 1))
