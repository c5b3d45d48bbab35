"""A room in which people talk to each other and machines run: sound without end, from recordings.

And the states in which somebody at work may be while it is like that.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from random import Random
from typing import TYPE_CHECKING

from _commands import AT, standing
from _sound import NUMBER_WORDS, Recording

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from handsfree.dialogue.state import State
    from handsfree.library import Library
    from handsfree.procedures.model import Step

RATE = 16_000
BLOCK = 512
LATER = timedelta(seconds=60)
"""How long after the last sentence of ours a step counts as waiting."""
MOST_STEPS = 40


@dataclass(frozen=True)
class Manner:
    """How people talk in the room: ranges, each drawn from evenly.

    `gap` in seconds between two of them, `gain` in decibels, `ratio` in decibels of talk to noise.
    """

    gap: tuple[float, float] = (0.2, 2.0)
    gain: tuple[float, float] = (-12.0, 6.0)
    ratio: tuple[float, float] = (0.0, 30.0)


def talk_of(people: Sequence[Recording]) -> list[Recording]:
    """Return the recordings that hold no command: other talk, and numbers that nobody asked for."""
    return [
        one
        for one in people
        if one.folder == "not-for-us"
        or (
            one.folder == "numbers-and-commands"
            and set(one.words) <= {*NUMBER_WORDS.split(), "enter"}
        )
    ]


def room(
    people: Sequence[Recording], noises: Sequence[Recording], seed: int, manner: Manner
) -> Iterator[NDArray[np.float32]]:
    """Yield pieces without end: somebody says something, then a gap; noise through both.

    The same seed gives the same sound.
    """
    import numpy as np  # noqa: PLC0415

    chance = Random(seed)  # noqa: S311 - a mix of sound is not a secret
    noise = np.concatenate([one.samples for one in noises])
    noise /= np.sqrt(np.square(noise).mean())
    place = 0
    while True:
        said = chance.choice(people).samples
        louder = 10 ** (chance.uniform(*manner.gain) / 20)
        power = float(np.sqrt(np.square(said).mean())) * louder
        gap = np.zeros(int(chance.uniform(*manner.gap) * RATE), dtype=np.float32)
        piece = np.concatenate((said * np.float32(louder), gap))
        hum = np.take(noise, np.arange(place, place + len(piece)), mode="wrap")
        place += len(piece)
        level = power / 10 ** (chance.uniform(*manner.ratio) / 20)
        yield np.clip(piece + np.float32(level) * hum, -1, 1).astype(np.float32)


def blocks(pieces: Iterator[NDArray[np.float32]], seconds: float) -> Iterator[NDArray[np.float32]]:
    """Yield so many seconds of sound in blocks as a microphone gives them."""
    import numpy as np  # noqa: PLC0415

    left, given = np.empty(0, dtype=np.float32), 0
    for piece in pieces:
        left = np.concatenate((left, piece))
        whole = len(left) // BLOCK * BLOCK
        for start in range(0, whole, BLOCK):
            if given >= seconds * RATE:
                return
            given += BLOCK
            yield left[start : start + BLOCK]
        left = left[whole:]


def at_a_step(kind: str, known: Library) -> tuple[State, Step]:
    """Return the state in which a step of that kind waits in a cut, long after it was told."""
    from handsfree.dialogue.answers import step_in_hand  # noqa: PLC0415 - the path is set
    from handsfree.dialogue.engine import advance  # noqa: PLC0415
    from handsfree.dialogue.events import Spoken, Tick, Typed  # noqa: PLC0415

    state, _ = advance(standing(known), Typed("start a cut", AT), known)
    for _ in range(MOST_STEPS):
        step = step_in_hand(state, known)
        if step is None:
            break
        if step.kind == kind:
            state, _ = advance(state, Spoken(state.moment.sentences, AT), known)
            state, _ = advance(state, Tick(AT + LATER), known)
            return state, step
        state, _ = advance(state, Typed(_answer(step, known), AT), known)
    raise LookupError(f"no step of the kind {kind} waits in a cut")


def _answer(step: Step, known: Library) -> str:
    from handsfree.language.grammar import parse_phrase, sentences  # noqa: PLC0415

    if step.states:
        return " ".join(next(iter(sentences(parse_phrase(step.states[0]), known.rules))))
    return "done" if step.kind == "done" else "yes"
