"""The loop: events in, effects carried out, always in the same order.

Written before spoken: the entries of a turn are on disk before its first sentence is shown or
said. What cannot be written is held and said to be held, never claimed.
"""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager, suppress
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from handsfree.dialogue.absent import gone, present
from handsfree.dialogue.effects import Cue, Effect, Listen, Say, Show, Write
from handsfree.dialogue.engine import advance, opening
from handsfree.dialogue.events import (
    Battery,
    Called,
    DeviceBack,
    DeviceLost,
    Event,
    Heard,
    RecordBack,
    RecordLost,
    RoomChanged,
    Spoken,
    Tick,
    Typed,
)
from handsfree.dialogue.folding import folded
from handsfree.dialogue.manner import RATE, VOLUME
from handsfree.dialogue.state import Moment, State
from handsfree.dialogue.summary import ends_stage
from handsfree.dialogue.understand import understand
from handsfree.dialogue.vocabulary import vocabulary
from handsfree.edge.battery import percent
from handsfree.edge.button import Next, Press, presses
from handsfree.edge.keeping import Record
from handsfree.edge.stopwatch import StopWatch, told
from handsfree.edge.terminal import Screen
from handsfree.edge.voice.floor import Floor
from handsfree.edge.voice.speaker import Speaker
from handsfree.errors import JournalError
from handsfree.library import Library
from handsfree.record.entries import Entry
from handsfree.reference import properties

if TYPE_CHECKING:
    from pathlib import Path

    from handsfree.edge.ear.ears import Ears
    from handsfree.edge.ear.recogniser import Samples
    from handsfree.edge.ear.sources import Block
    from handsfree.edge.second_copy import SecondCopy

Step = Callable[[State], tuple[State, tuple[Effect, ...]]]
"""What takes the conversation on, by an event or by opening a job; pure, so it can be retaken."""
LOOK = 0.02
"""Seconds between looks at a voice that is still speaking."""
BATTERY = 60
"""Seconds between looks at the battery."""
TICK = 1.0
"""Seconds between looks at the clock."""
SETTLED = 0.5
"""Seconds after which a talk is one that goes on, and not a few lines from a file."""


def now() -> datetime:
    """Return the time with its offset."""
    return datetime.now(UTC).astimezone()


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
        self._floor: Floor | None = None
        self._voice_lost = False
        self._loud_room = False
        self.speaker = speaker
        self.clock = clock
        self.second_copy: SecondCopy | None = None
        """What makes a copy of the record after each stage; nothing by default."""
        self._copy_due = False
        self.trace: Callable[[str], None] | None = None
        """Where it is told how long the answer to an utterance took; nowhere by default."""
        job = folded(journal.entries)
        self._gone = gone(job, library)
        self.state = State(present(job, library), Moment(held=journal.held > 0))
        self.grammar = vocabulary(self.state, library)
        properties.while_loading(self._one_moment)

    @property
    def speaker(self) -> Speaker | None:
        """The voice; None where sentences are only shown."""
        return None if self._floor is None else self._floor.speaker

    @speaker.setter
    def speaker(self, speaker: Speaker | None) -> None:
        self._floor = None if speaker is None else Floor(speaker)
        self._voice_lost = False

    def believe(self, fit: float) -> None:
        """Believe of what is heard what fits at least so well, in nats a phoneme."""
        hearing = self.library.hearing.model_copy(update={"fit": fit})
        self.library = replace(self.library, hearing=hearing)

    def saying(self) -> tuple[Path, ...] | None:
        """Return the clips that are being played; None in silence. Any thread may ask."""
        speaker = self.speaker
        return None if speaker is None else speaker.saying()

    def _one_moment(self) -> None:
        """Say that an answer takes a moment, before it is worked out."""
        text = self.library.says["one_moment"]
        self.screen.say(text)
        self._speak(text, 0)

    def open(self) -> None:
        """Say what is amiss with the record, where the job stands, and what must be asked anew."""
        self.tell_warnings()
        before = self.state
        self._tell(self._take(lambda state: opening(state, self.clock(), self.library)), before)

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
        """Take an event through the engine and carry out what it leads to."""
        watch = StopWatch()
        before = self.state
        if isinstance(event, RoomChanged):
            self._loud_room = event.loud
        effects = self._take(lambda state: advance(state, event, self.library))
        watch.lap("answer, on disk")
        if isinstance(event, Heard) and effects:
            self.screen.heard(self.state.moment.heard)
            if self.speaker is not None and not self.state.job.stopped:
                self.speaker.cue(self.library.sound.earcons["heard"])
        elif isinstance(event, Typed):
            self.screen.typed(event.text, elsewhere=event.on_board)
        self._tell(effects, before, event)
        watch.lap("shown, and given to the voice")
        if isinstance(event, Heard) and self.trace is not None:
            self.trace(told(watch.laps))
        return effects

    def _speaking(self) -> bool:
        return self.speaker is not None and self.speaker.busy()

    def _take(self, step: Step) -> tuple[Effect, ...]:
        """Take a step of the engine and write its entries; return what is left to be told.

        Where they cannot be written, the same step is taken again from a state that knows it, so
        that what is only held is never said to be written.
        """
        if self.state.moment.held and self._written(()):
            knew = self.state
            self.state, effects = advance(knew, RecordBack(self.clock()), self.library)
            self._tell(effects, knew)
        before = self.state
        self.state, effects = step(before)
        entries = [effect.entry for effect in effects if isinstance(effect, Write)]
        if entries and not self._written(entries) and not before.moment.held:
            knowing, _ = advance(before, RecordLost(self.clock()), self.library)
            self.state, effects = step(knowing)
        self._copy_after(entries)
        return effects

    def _copy_after(self, entries: Iterable[Entry]) -> None:
        """Have the record copied where a stage is finished, as soon as all of it is on the disk."""
        job, library = self.state.job, self.library
        self._copy_due = self._copy_due or any(ends_stage(one, job, library) for one in entries)
        if self._copy_due and self.second_copy is not None and not self.journal.held:
            self._copy_due = False
            self.second_copy.make()

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

    def _tell(self, effects: tuple[Effect, ...], before: State, event: Event | None = None) -> None:
        """Carry out what comes after the writing: shown, hushed, said, listened for."""
        self.screen.stands(self.state)
        if self._floor is not None:
            self._floor.begin(effects, spoken_to=isinstance(event, Heard))
        answer = self.state.job.calculated is not before.job.calculated
        for effect in effects:
            match effect:
                case Show(view):
                    self.screen.show(view)
                case Cue(name):
                    if self.speaker is not None:
                        self.speaker.cue(self.library.sound.earcons[name])
                case Say():
                    self._say(effect, answer=answer)
                case Listen(grammar):
                    self.grammar = grammar
        if self._floor is not None:
            stopped = self.state.job.stopped
            goes_on = before.job.stopped or not isinstance(event, Heard | Typed)
            self._floor.end(effects, stopped=stopped, goes_on=goes_on)
        self._look_at_voice()

    def _say(self, say: Say, *, answer: bool) -> None:
        self.screen.say(say.text)
        if self._floor is None or self._voice_lost:
            self.state, _ = advance(self.state, Spoken(say.id, self.clock()), self.library)
        else:
            self._as_this_person_wants(self._floor.speaker)
            self._floor.say(say, answer=answer)

    def _speak(self, text: str, number: int) -> None:
        """Say what is no sentence of the conversation."""
        if self.speaker is not None:
            self._as_this_person_wants(self.speaker)
            self.speaker.say(text, number)

    def _as_this_person_wants(self, speaker: Speaker) -> None:
        settings = self.state.job.settings
        room = self.library.sound.room
        rate = settings.get(RATE.name, 0) + (room.rate if self._loud_room else 0)
        volume = settings.get(VOLUME.name, 0) + (room.volume if self._loud_room else 0)
        speaker.speak_as(rate, min(volume, VOLUME.highest))

    def _look_at_voice(self) -> None:
        """Tell once that the voice is gone, and why, and once that it is back."""
        trouble = None if self.speaker is None else self.speaker.trouble()
        if self._voice_lost == (trouble is not None):
            return
        self._voice_lost = trouble is not None
        if trouble is not None:
            self.screen.warn(str(trouble))
            self.handle(DeviceLost("loudspeaker", self.clock()))
        else:
            self.handle(DeviceBack("loudspeaker", self.clock()))

    def spoken(self) -> None:
        """Take in what has been said since the last look, how the voice is, and what is copied."""
        if self._floor is not None:
            for number, whole in self._floor.finished():
                self.handle(Spoken(number, self.clock(), whole))
            self._look_at_voice()
        if self.second_copy is not None:
            for line in self.second_copy.told():
                self._warn(line)

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
        self._over = threading.Event()

    def warm_up(self) -> None:
        """Load what answers need later, in the background, so that no answer waits for it.

        Lines that come from a file are over before that, and the property library is not loaded.
        The program ends after it: a thread that is ended inside the C++ of that library takes the
        whole process with it.
        """
        library = self.conversation.library

        def run() -> None:
            _ready_to_read(library)
            if not self._over.wait(SETTLED):
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

    def listen_to_button(self, next_key: Next) -> None:
        """Take a short press as "done", and a held key as a call; the end of keys ends the loop."""

        def run() -> None:
            for press in presses(next_key):
                held = press is Press.HELD
                self.events.put(Called(now()) if held else Typed("done", now()))
            self.events.put(None)

        threading.Thread(target=run, daemon=True).start()

    def typed_on_board(self, text: str) -> bool:
        """Take a line from a board; return whether there was room for it. For any thread."""
        try:
            self.events.put_nowait(Typed(text, now(), on_board=True))
        except queue.Full:
            return False
        return True

    def listen_to(
        self,
        microphone: Callable[[], AbstractContextManager[Iterable[Block]]],
        ears: Callable[[], Ears],
        gain: float = 0.0,
    ) -> None:
        """Take each utterance through the ears, made louder by a gain in decibels.

        A lost microphone is told, and looked for.
        """
        from handsfree.edge.ear.listening import Listening  # noqa: PLC0415 - loads a model

        talk = self.conversation
        listening = Listening(
            microphone=microphone,
            ears=ears,
            grammar=lambda: talk.grammar,
            sound=talk.library.sound,
            gain=gain,
            clock=now,
            warn=talk.screen.warn,
        )

        def run() -> None:
            for event in listening.events():
                self.events.put(event)

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
        try:
            self._run()
        finally:
            self._over.set()

    def _run(self) -> None:
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
