"""The loop: events in, effects carried out, always in the same order.

Written before spoken: the entries of a turn are on disk before its first sentence is shown or
said. What cannot be written is held and said to be held, never claimed.
"""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager, suppress
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Protocol

from handsfree.dialogue.absent import gone, present
from handsfree.dialogue.effects import Effect, Hush, Listen, Say, Show, Write
from handsfree.dialogue.engine import advance, opening
from handsfree.dialogue.events import (
    Battery,
    DeviceLost,
    Event,
    Heard,
    RecordBack,
    RecordLost,
    Spoken,
    Tick,
    Typed,
)
from handsfree.dialogue.folding import folded
from handsfree.dialogue.manner import RATE, VOLUME
from handsfree.dialogue.meanings import Danger
from handsfree.dialogue.state import Moment, State
from handsfree.dialogue.understand import understand
from handsfree.dialogue.vocabulary import vocabulary
from handsfree.edge.battery import percent
from handsfree.edge.stopwatch import StopWatch, told
from handsfree.edge.terminal import Screen
from handsfree.edge.voice.speaker import Speaker
from handsfree.errors import DeviceError, JournalError
from handsfree.language.pacing import paced
from handsfree.library import Library
from handsfree.record.entries import Entry
from handsfree.reference import properties

if TYPE_CHECKING:
    from handsfree.edge.ear.ears import Ears
    from handsfree.edge.ear.recogniser import Samples

Step = Callable[[State], tuple[State, tuple[Effect, ...]]]
"""What takes the conversation on, by an event or by opening a job; pure, so it can be retaken."""
LOOK = 0.02
"""Seconds between looks at a voice that is still speaking."""
BATTERY = 60
"""Seconds between looks at the battery."""
TICK = 1.0
"""Seconds between looks at the clock."""


def now() -> datetime:
    """Return the time with its offset."""
    return datetime.now(UTC).astimezone()


class Record(Protocol):
    """Where entries go: a job's journal, or nowhere."""

    @property
    def entries(self) -> Sequence[Entry]:
        """Return what the record held when it was opened."""

    @property
    def warnings(self) -> Sequence[str]:
        """Return what the person should be told of the record as it was opened."""

    @property
    def held(self) -> int:
        """Return how many entries could not be written so far, and are held."""

    def append(self, entries: Iterable[Entry]) -> None:
        """Keep entries; raises `JournalError` where they could not be written."""


class NoRecord:
    """For a recording that belongs to no job: nothing is kept."""

    entries: Sequence[Entry] = ()
    warnings: Sequence[str] = ()
    held = 0

    def append(self, entries: Iterable[Entry]) -> None:
        """Keep nothing."""


class InMemory(NoRecord):
    """For a job that is only tried out: kept until the program ends."""

    def __init__(self, opened: Entry) -> None:
        self.entries: list[Entry] = [opened]

    def append(self, entries: Iterable[Entry]) -> None:
        """Keep entries in memory."""
        self.entries.extend(entries)


class Conversation:
    """One job being talked about: its state, its record, and where its sentences go."""

    def __init__(
        self,
        library: Library,
        journal: Record,
        screen: Screen,
        speaker: Speaker | None = None,
        clock: Callable[[], datetime] = now,
    ) -> None:
        self.library = library
        self.journal = journal
        self.screen = screen
        self.speaker = speaker
        self.clock = clock
        self.trace: Callable[[str], None] | None = None
        """Where it is told how long the answer to an utterance took; nowhere by default."""
        job = folded(journal.entries)
        self._gone = gone(job, library)
        self.state = State(present(job, library), Moment(held=journal.held > 0))
        self.grammar = vocabulary(self.state, library)
        properties.while_loading(self._one_moment)

    def _one_moment(self) -> None:
        """Say that an answer takes a moment, before it is worked out."""
        text = self.library.says["one_moment"]
        self.screen.say(text)
        self._speak(text, 0)

    def open(self) -> None:
        """Say what is amiss with the record, where the job stands, and what must be asked anew."""
        self.tell_warnings()
        self._tell(self._take(lambda state: opening(state, self.clock(), self.library)))

    def tell_warnings(self) -> None:
        """Say what is amiss with the record, and with a firm's pack."""
        if self.library.left_out:
            count = len(self.library.left_out)
            faults = "one fault" if count == 1 else f"{count} faults"
            self._warn(self.library.says["pack_out"].format(faults=faults))
        for name in self._gone:
            spoken = name.replace("_", " ").capitalize()
            self._warn(self.library.says["not_here"].format(name=spoken))
        for warning in self.journal.warnings:
            self._warn(warning)

    def handle(self, event: Event) -> tuple[Effect, ...]:
        """Take an event through the engine and carry out what it leads to.

        While a sentence is being said, the microphone is not believed except for stop words.
        """
        if isinstance(event, Heard) and self._speaking() and not self._danger(event):
            return ()
        watch = StopWatch()
        effects = self._take(lambda state: advance(state, event, self.library))
        watch.lap("answer, on disk")
        if isinstance(event, Heard) and effects:
            self.screen.heard(self.state.moment.heard)
        elif isinstance(event, Typed):
            self.screen.typed(event.text, elsewhere=event.on_board)
        self._tell(effects)
        watch.lap("shown, and given to the voice")
        if isinstance(event, Heard) and self.trace is not None:
            self.trace(told(watch.laps))
        return effects

    def _speaking(self) -> bool:
        return self.speaker is not None and self.speaker.busy()

    def _danger(self, heard: Heard) -> bool:
        if not heard.alternatives:
            return False
        best = heard.alternatives[0].text
        return isinstance(understand(best, self.state, self.library), Danger)

    def _take(self, step: Step) -> tuple[Effect, ...]:
        """Take a step of the engine and write its entries; return what is left to be told.

        Where they cannot be written, the same step is taken again from a state that knows it, so
        that what is only held is never said to be written.
        """
        if self.state.moment.held and self._written(()):
            self.state, effects = advance(self.state, RecordBack(self.clock()), self.library)
            self._tell(effects)
        before = self.state
        self.state, effects = step(before)
        entries = [effect.entry for effect in effects if isinstance(effect, Write)]
        if entries and not self._written(entries) and not before.moment.held:
            knowing, _ = advance(before, RecordLost(self.clock()), self.library)
            self.state, effects = step(knowing)
        return effects

    def _written(self, entries: Iterable[Entry]) -> bool:
        """Return whether all is on the disk; when it first is not, that is told."""
        try:
            self.journal.append(entries)
        except JournalError as error:
            if not self.state.moment.held:
                self._warn(str(error))
            return False
        return True

    def _warn(self, text: str) -> None:
        self.screen.warn(text)
        self._speak(text, 0)

    def _tell(self, effects: tuple[Effect, ...]) -> None:
        """Carry out what comes after the writing: shown, said, hushed, listened for."""
        self.screen.stands(self.state)
        for effect in effects:
            match effect:
                case Show(view):
                    self.screen.show(view)
                case Say():
                    self._say(effect)
                case Hush():
                    if self.speaker is not None:
                        self.speaker.hush()
                case Listen(grammar):
                    self.grammar = grammar

    def _say(self, say: Say) -> None:
        self.screen.say(say.text)
        if say.urgent and self.speaker is not None:
            self.speaker.hush()
        if not self._speak(paced(say.speech), say.id):
            self.state, _ = advance(self.state, Spoken(say.id, self.clock()), self.library)

    def _speak(self, text: str, number: int) -> bool:
        """Return whether the speaker took a sentence; one that fails is told and let go."""
        if self.speaker is None:
            return False
        settings = self.state.job.settings
        self.speaker.speak_as(settings.get(RATE.name, 0), settings.get(VOLUME.name, 0))
        try:
            self.speaker.say(text, number)
        except DeviceError as error:
            self.screen.warn(str(error))
            self.speaker = None
            return False
        return True

    def spoken(self) -> None:
        """Take in which sentences have been said since the last look."""
        if self.speaker is not None:
            for number, whole in self.speaker.finished():
                self.handle(Spoken(number, self.clock(), whole))

    def let_finish(self) -> None:
        """Return when nothing is being said any more."""
        while self._speaking():
            time.sleep(LOOK)
        self.spoken()


def _ready_to_read(library: Library) -> None:
    """Make ready how sentences are read, which the first one would wait for."""
    understand("one two three", State(), library)


class Loop:
    """Brings the events of a conversation together: typing, ears, speaker, clock."""

    def __init__(self, conversation: Conversation) -> None:
        self.conversation = conversation
        self.events: queue.Queue[Event | None] = queue.Queue(maxsize=1000)
        self._battery_seen: datetime | None = None

    def warm_up(self) -> None:
        """Load what answers need later, in the background, so that no answer waits for it.

        The program ends after it: a thread that is ended inside the C++ of the property library
        takes the whole process with it.
        """
        library = self.conversation.library

        def run() -> None:
            _ready_to_read(library)
            properties.warm()

        threading.Thread(target=run).start()

    def listen_to_typing(self, lines: Iterable[str]) -> None:
        """Take each line as typed; the end of the lines ends the loop."""

        def run() -> None:
            with suppress(OSError, ValueError):  # the terminal has gone: that is an end, too
                for line in lines:
                    self.events.put(Typed(line.rstrip("\n"), now()))
            self.events.put(None)

        threading.Thread(target=run, daemon=True).start()

    def typed_on_board(self, text: str) -> bool:
        """Take a line from a board; return whether there was room for it. For any thread."""
        try:
            self.events.put_nowait(Typed(text, now(), on_board=True))
        except queue.Full:
            return False
        return True

    def listen_to(self, microphone: AbstractContextManager[Iterable[Samples]], ears: Ears) -> None:
        """Take each utterance through the ears; a lost microphone is told, and typing goes on."""
        from handsfree.edge.ear import ahead  # noqa: PLC0415 - loads a model

        def run() -> None:
            try:
                with microphone as blocks:
                    said_now = ahead.heard(blocks, ears, lambda: self.conversation.grammar, now)
                    for event in said_now:
                        self.events.put(event)
            except DeviceError as error:
                self.conversation.screen.warn(str(error))
                self.events.put(DeviceLost("microphone", now()))

        threading.Thread(target=run, daemon=True).start()

    def _time(self) -> Event:
        """Return the clock's event, and once a minute the battery's where it is not charged."""
        at = now()
        if self._battery_seen is None or abs((at - self._battery_seen).total_seconds()) >= BATTERY:
            self._battery_seen = at
            left = percent()
            if left is not None:
                return Battery(left, at)
        return Tick(at)

    def run(self) -> None:
        """Handle events until the typing ends and what came of it has been said."""
        while True:
            try:
                event = self.events.get(timeout=TICK)
            except queue.Empty:
                event = self._time()
            self.conversation.spoken()
            if event is None:
                self.conversation.let_finish()
                return
            self.conversation.handle(event)


def listen_to_recording(
    conversation: Conversation, blocks: Iterable[Samples], ears: Ears
) -> Iterable[tuple[Heard, State, tuple[Effect, ...]]]:
    """Hear a recording to its end; yield each utterance, the state before it, and what came."""
    from handsfree.edge.ear import ahead  # noqa: PLC0415 - loads a model

    _ready_to_read(conversation.library)
    for heard in ahead.heard(blocks, ears, lambda: conversation.grammar, now):
        before = conversation.state
        effects = conversation.handle(heard)
        conversation.spoken()
        yield heard, before, effects
