"""Hearing ahead: an utterance is heard at its first pause, while it may still go on.

The end of speech is only known after a while of silence. What was said until then is taken through
the ears in the meantime; where nothing more came, that is the utterance, and the answer need not
wait for it. Where something came, it is heard once more, whole.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from handsfree.edge.ear.endpoint import Endpointer, Pace
from handsfree.edge.ear.recogniser import SAMPLE_RATE
from handsfree.edge.stopwatch import StopWatch, told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from concurrent.futures import Future
    from datetime import datetime

    from handsfree.dialogue.events import Heard
    from handsfree.edge.ear.ears import Ears
    from handsfree.edge.ear.recogniser import Samples
    from handsfree.language.grammar import Grammar

__all__ = ["Listener", "heard"]


@dataclass(frozen=True, slots=True)
class _Ahead:
    """What is being heard of an utterance that may be at its end, and for which sentences."""

    samples: Samples
    sentences: str
    hearing: Future[Heard]


class Listener:
    """Takes utterances through the ears on a thread of its own, and what may be one ahead."""

    def __init__(
        self,
        ears: Ears,
        grammar: Callable[[], Grammar],
        clock: Callable[[], datetime],
        endpointer: Endpointer,
        worker: ThreadPoolExecutor,
    ) -> None:
        self._ears, self._grammar, self._clock = ears, grammar, clock
        self._endpointer, self._worker = endpointer, worker
        self._ahead: _Ahead | None = None
        self._ready = ""
        self.prepare()

    def prepare(self) -> None:
        """Make the ears ready for what may be said now, before it is."""
        sentences = self._grammar()
        if sentences.key != self._ready:
            self._ready = sentences.key
            self._worker.submit(self._ears.listen_for, sentences)

    def pause(self) -> None:
        """Begin to hear what may be a whole utterance, unless that is being heard already."""
        pausing = self._endpointer.pausing()
        if pausing is None:
            if not self._endpointer.speaking:
                self._ahead = None
        elif self._ahead is None or not self._endpointer.only_silence_since(
            self._ahead.samples, pausing
        ):
            self._ahead = self._begin(pausing)

    def ended(self, samples: Samples) -> Heard:
        """Return what was heard of an utterance that is at its end."""
        ahead, self._ahead = self._ahead, None
        if (
            ahead is None
            or ahead.sentences != self._grammar().key
            or not self._endpointer.only_silence_since(ahead.samples, samples)
        ):
            ahead = self._begin(samples)
        watch = StopWatch()
        found = ahead.hearing.result()
        watch.lap("waited for after the end of speech")
        if self._ears.trace is not None:
            self._ears.trace(told((*self._ears.stages, *watch.laps)))
        return replace(found, at=self._clock(), duration=len(samples) / SAMPLE_RATE)

    def _begin(self, samples: Samples) -> _Ahead:
        sentences, at = self._grammar(), self._clock()

        def hear() -> Heard:
            self._ears.listen_for(sentences)
            return self._ears.hear(samples, at)

        return _Ahead(samples, sentences.key, self._worker.submit(hear))


def heard(
    blocks: Iterable[Samples],
    ears: Ears,
    grammar: Callable[[], Grammar],
    clock: Callable[[], datetime],
    pace: Pace | None = None,
) -> Iterator[Heard]:
    """Yield what was heard of each utterance in a stream (float32, 16 kHz), as soon as it ends.

    `grammar` gives the sentences that may be said at that moment. Raises `DeviceError` where the
    stream, the speech detector or an ear fails.
    """
    endpointer = Endpointer(pace)
    with ThreadPoolExecutor(max_workers=1) as worker:
        listener = Listener(ears, grammar, clock, endpointer, worker)
        for block in blocks:
            for samples in endpointer.feed(block):
                yield listener.ended(samples)
            listener.prepare()
            listener.pause()
        for samples in endpointer.finish():
            yield listener.ended(samples)
