"""`check --voice`: ten sentences are read, and the ears fitted to who reads them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from handsfree.cli.forms import ANSWERED, NOT_ANSWERED
from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from handsfree.edge.ear.enrolment import Take
    from handsfree.edge.ear.recogniser import Samples

Read = Callable[[int], "tuple[Samples | None, float | None]"]
"""Gives the utterance of the sentence of this number, and the noise before it."""


def enrol(recordings: str | None, pack: str | None) -> int:
    """Measure how a person is heard, tell it, and keep what fits; return the exit code."""
    from handsfree.dialogue.state import State
    from handsfree.dialogue.vocabulary import vocabulary
    from handsfree.edge.ear.builtin import BuiltInEar
    from handsfree.edge.ear.enrolment import measured, proposed
    from handsfree.edge.ear.profile import keep
    from handsfree.edge.packs import library_with

    known = library_with(pack)
    limits = known.sound.enrolment
    grammar = vocabulary(State(), known)
    takes: list[Take] = []
    with ExitStack() as stack:
        read = _reader(recordings, len(limits.prompts), stack)
        ear = BuiltInEar()
        print("Read each sentence as you speak at work. Nothing of the sound is kept.", flush=True)
        for number, prompt in enumerate(limits.prompts):
            print(f"{number + 1:2} of {len(limits.prompts)}: {prompt}", flush=True)
            samples, floor = read(number)
            if samples is None:
                print("         I heard nothing.", flush=True)
                continue
            take = measured(prompt, samples, floor, ear, grammar)
            takes.append(take)
            print(f"         {_told(take)}", flush=True)
    print(f"Heard rightly: {sum(take.right for take in takes)} of {len(limits.prompts)}.")
    profile = proposed(takes, limits, known.hearing)
    if profile is None:
        print(
            "That is too few to fit anything to you; nothing is changed. "
            "Move the microphone nearer, or to a quieter place, and read them again."
        )
        return NOT_ANSWERED
    print(
        f"Gain {profile.gain:+.1f} dB; believed from a fit of {profile.fit}. Kept: {keep(profile)}"
    )
    return ANSWERED


def _told(take: Take) -> str:
    """Return what there is to say of a sentence that was read."""
    parts = ["heard" if take.right else f"heard as: {take.heard or 'nothing of ours'}"]
    parts.append(f"level {take.level:.0f} dB")
    if take.floor is not None:
        parts.append(f"{take.level - take.floor:.0f} dB over the room")
    if take.clipped:
        parts.append("clipped: hold the microphone further off")
    return "; ".join(parts)


def _reader(recordings: str | None, count: int, stack: ExitStack) -> Read:
    """Return what gives each sentence as it was read: now, from one recording, or from a folder."""
    from handsfree.edge.ear.enrolment import first_utterance
    from handsfree.edge.ear.microphone import Microphone
    from handsfree.edge.ear.sources import FileSource

    if recordings is None:
        microphone = stack.enter_context(Microphone())
        now: Iterator[Samples] = (block.samples for block in microphone)
        return lambda _: first_utterance(now)
    place = Path(recordings)
    if not place.is_dir():
        whole = iter(FileSource(place))
        return lambda _: first_utterance(whole)
    files = sorted(file for file in place.iterdir() if file.suffix.lower() in (".wav", ".flac"))
    if len(files) != count:
        raise DeviceError(
            f"{place} holds {len(files)} recordings, and I need {count}: one a sentence, "
            "in the order in which I show them."
        )
    return lambda number: first_utterance(FileSource(files[number]))
