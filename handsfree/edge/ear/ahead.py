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

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from concurrent.futures import Future
    from datetime import datetime

    from handsfree.dialogue.events import Heard
    from handsfree.edge.ear.ears import Ears
    from handsfree.edge.ear.recogniser import Samples
    from handsfree.language.grammar import Grammar

__all__ = ["heard"]


@dataclass(frozen=True, slots=True)
class _Ahead:
    """What is being heard of an utterance that may be at its end, and for which sentences."""

    samples: Samples
    sentences: str
    hearing: Future[Heard]


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
        worker.submit(ears.listen_for, grammar())
        ahead: _Ahead | None = None

        def begin(samples: Samples) -> _Ahead:
            sentences, at = grammar(), clock()

            def hear() -> Heard:
                ears.listen_for(sentences)
                return ears.hear(samples, at)

            return _Ahead(samples, sentences.key, worker.submit(hear))

        def settled(ended: Samples) -> Heard:
            sure = ahead
            if (
                sure is None
                or sure.sentences != grammar().key
                or not endpointer.only_silence_since(sure.samples, ended)
            ):
                sure = begin(ended)
            found = sure.hearing.result()
            return replace(found, at=clock(), duration=len(ended) / SAMPLE_RATE)

        for block in blocks:
            for ended in endpointer.feed(block):
                yield settled(ended)
                ahead = None
            pausing = endpointer.pausing()
            if pausing is None:
                ahead = ahead if endpointer.speaking else None
            elif ahead is None or not endpointer.only_silence_since(ahead.samples, pausing):
                ahead = begin(pausing)
        for ended in endpointer.finish():
            yield settled(ended)
