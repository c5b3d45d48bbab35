"""The floor: which of our sentences are being said, which were cut off, and which are said again.

A sentence that was cut off is never lost in silence: what is said again begins with its first
word, since half a sentence may leave out the number.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from handsfree.dialogue.effects import Effect, Hush, Say, Write
from handsfree.edge.voice.speaker import Speaker
from handsfree.language.pacing import paced
from handsfree.record.entries import Calculated

__all__ = ["Floor"]


@dataclass(frozen=True, slots=True)
class _Open:
    """A sentence that is not said to its end, and whether it belongs to an answer."""

    say: Say
    answer: bool


class Floor:
    """Says the sentences of each turn through a speaker, and keeps those that were cut off."""

    def __init__(self, speaker: Speaker) -> None:
        self.speaker = speaker
        self._open: dict[int, _Open] = {}
        self._cut: tuple[_Open, ...] = ()

    def begin(self, effects: Iterable[Effect], *, spoken_to: bool) -> None:
        """Make way for a turn: whoever speaks to us, and what is urgent, cuts us off."""
        effects = tuple(effects)
        says = [effect for effect in effects if isinstance(effect, Say)]
        cuts = any(isinstance(effect, Hush) for effect in effects) or any(
            say.urgent or spoken_to for say in says
        )
        if cuts and self.speaker.busy():
            self.finished()
            self._cut = (*self._open.values(), *self._cut)
            self._open.clear()
        if cuts:
            self.speaker.hush()

    def say(self, say: Say, *, answer: bool = False) -> None:
        """Say a sentence after those that wait."""
        self._open[say.id] = _Open(say, answer)
        self.speaker.say(paced(say.speech), say.id)

    def end(self, effects: Iterable[Effect], *, stopped: bool, goes_on: bool) -> None:
        """After a turn's own sentences, say again what it cut off, where that still holds.

        While `stopped`, all waits. What `goes_on` is said again as it stands: after a stop, or an
        alert of ours. Otherwise a turn that takes the work on makes an end of what was to be said
        before it, and another question of the answer before it. What a turn says itself is not
        said twice.
        """
        if stopped or not self._cut:
            return
        cut, self._cut = self._cut, ()
        effects = tuple(effects)
        writes = [effect.entry for effect in effects if isinstance(effect, Write)]
        says = {effect.text for effect in effects if isinstance(effect, Say)}
        if not goes_on and any(not isinstance(entry, Calculated) for entry in writes):
            return
        for one in cut:
            if one.say.text not in says and not (one.answer and writes and not goes_on):
                self.say(one.say, answer=one.answer)

    def finished(self) -> list[tuple[int, bool]]:
        """Return the sentences finished since the last call: number, and whether whole."""
        found = self.speaker.finished()
        for number, _ in found:
            self._open.pop(number, None)
        return found
