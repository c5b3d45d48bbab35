"""Listening for as long as the program runs: through a microphone that goes and comes back."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from handsfree.dialogue.events import DeviceBack, DeviceLost, Event, Heard, Missed
from handsfree.edge.ear.ahead import Listener
from handsfree.edge.ear.endpoint import Endpointer
from handsfree.edge.ear.own_voice import OwnVoice, StopWords
from handsfree.edge.ear.room import Room
from handsfree.edge.ear.sound import clipped_share
from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from handsfree.edge.ear.ears import Ears
    from handsfree.edge.ear.sources import Block
    from handsfree.language.grammar import Grammar
    from handsfree.library import Sound

__all__ = ["Listening"]

RETRY = 3.0
"""Seconds between looks for a microphone that is gone."""


@dataclass(frozen=True)
class Listening:
    """What listening needs of the conversation.

    `microphone` gives a fresh microphone, `ears` the ears, once, `grammar` the sentences that may
    be said at that moment; `sound` holds the limits of what is trusted, `gain` (decibels)
    is what fits this microphone. Why the microphone is gone
    is told to `warn`.
    """

    microphone: Callable[[], AbstractContextManager[Iterable[Block]]]
    ears: Callable[[], Ears]
    grammar: Callable[[], Grammar]
    sound: Sound
    gain: float
    clock: Callable[[], datetime]
    warn: Callable[[str], None]

    def events(self) -> Iterator[Event]:
        """Yield what is heard, and that the microphone is gone or back; ends when it is closed.

        A microphone that is gone is told once, and looked for again and again. It is back when it
        gives sound, and not only when it opens: what is muted opens, too.
        """
        lost = False
        while True:
            try:
                for event in self._through_one():
                    if event is not None:
                        yield event
                    elif lost:
                        lost = False
                        yield DeviceBack("microphone", self.clock())
            except DeviceError as error:
                if not lost:
                    lost = True
                    self.warn(str(error))
                    yield DeviceLost("microphone", self.clock())
                time.sleep(RETRY)
            else:
                return

    def _through_one(self) -> Iterator[Event | None]:
        """Yield what is heard through one microphone, and None at its first sound."""
        with self.microphone() as blocks:
            sound = iter(blocks)
            for block in sound:
                if np.any(block.samples):
                    yield None
                    yield from self.heard(sound)
                    return

    def heard(self, blocks: Iterable[Block]) -> Iterator[Event]:
        """Yield what is heard in the blocks of a microphone.

        Where we speak ourselves, only stop words are heard. An utterance of which a piece is
        missing gives a `Missed`: half a request can have another number in it.
        """
        ears, endpointer, room = self.ears(), Endpointer(), Room(self.sound.room)
        own_voice = OwnVoice(StopWords(ears, self.sound.watch))
        missed, louder = 0, np.float32(10 ** (self.gain / 20))
        with ThreadPoolExecutor(max_workers=1) as worker:
            listener = Listener(ears, self.grammar, self.clock, endpointer, worker)
            for block in blocks:
                if own_voice.covers(block):
                    endpointer.leave_out()
                    found = own_voice.heard(block.samples)
                    if found is not None:
                        yield Heard((found,), self.clock())
                    continue
                if block.gap:
                    endpointer.spoil()
                sound = block.samples * louder
                for samples in endpointer.feed(sound):
                    yield from room.utterance(samples, clipped_share(samples), self.clock())
                    yield listener.ended(samples)
                listener.pause()
                if not endpointer.speaking:
                    room.pause(sound)
                if endpointer.missed > missed:
                    missed = endpointer.missed
                    yield Missed(self.clock())
            for samples in endpointer.finish():
                yield listener.ended(samples)
