"""One turn of the conversation while it is being made: entries, sentences, the state so far.

The only mutable thing in the core. It is made at the start of `advance` and thrown away at its
end; every change of the job goes through `write`, so that the state is the fold of the record.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from handsfree.dialogue.effects import Cue, Effect, Hush, Listen, Say, Show, View, Write
from handsfree.dialogue.folding import fold
from handsfree.dialogue.state import HEARD, Job, Moment, State
from handsfree.dialogue.wording import Filling, Sentence, plain, render
from handsfree.library import Library
from handsfree.record.entries import Asked, Calculated, Entry


class Turn:
    """What one event leads to."""

    def __init__(self, state: State, library: Library, at: datetime, words: str = "") -> None:
        self.job: Job = state.job
        self.moment: Moment = state.moment
        self.library = library
        self.at = at
        self.words = words
        self.asked_in = words
        """What was said for the request in hand, in this turn and in those that asked back."""
        self.away = timedelta(0)
        self._writes: list[Write] = []
        self._cues: list[Cue] = []
        self._says: list[Say] = []
        self._hush = False
        self._before = state

    @property
    def state(self) -> State:
        """Return the state as it stands now."""
        return State(self.job, self.moment)

    @property
    def calculated(self) -> Calculated | None:
        """Return what was calculated last in this turn, or None."""
        last = self.job.calculated
        return None if last is self._before.job.calculated else last

    def write(self, form: type[Any], **content: Any) -> None:
        """Append an entry of this form, with time and worker, and fold it into the job."""
        entry: Entry = form(at=self.at, worker=self.job.worker, **content)
        self._writes.append(Write(entry))
        self.job = fold(self.job, entry)

    def say(self, name: str, /, **values: Filling) -> None:
        """Say the tool's own sentence of this name.

        While entries are only held, one that would say that they are written has another form.
        """
        says = self.library.says
        if name in self.library.sound.cues:
            self.cue(self.library.sound.cues[name])
        held = says.get(f"{name}_held") if self.moment.held else None
        self.say_text(held or says[name], values)

    def say_text(
        self, template: str, values: Mapping[str, Filling] | None = None, *, urgent: bool = False
    ) -> None:
        """Say a template, sentence by sentence."""
        sentences = plain(template) if values is None else render(template, values)
        self.say_sentences(sentences, urgent=urgent)

    def say_sentences(self, sentences: tuple[Sentence, ...], *, urgent: bool = False) -> None:
        """Say sentences that are filled already, one by one."""
        for sentence in sentences:
            self._speak(sentence, urgent=urgent)

    def _speak(self, sentence: Sentence, *, urgent: bool) -> None:
        number = self.moment.sentences + 1
        self.moment = replace(self.moment, sentences=number)
        self._says.append(Say(sentence.text, sentence.speech, number, urgent))

    def offer(self, question: str, choices: tuple[str, ...]) -> None:
        """Ask which of these sentences was meant, and wait for the answer."""
        self.write(Asked, what=HEARD, question=question, choices=choices, words=self.words)
        self.say_text(question)

    def cue(self, name: str) -> None:
        """Make the sound of this name before anything is said."""
        self._cues.append(Cue(name))

    def number(self, text: str) -> None:
        """Remember the last number, for whoever asks for it again."""
        self.moment = replace(self.moment, number=text)

    def hush(self) -> None:
        """Stop what is being said."""
        self._hush = True

    def silent(self) -> bool:
        """Return whether nothing has been said in this turn."""
        return not self._says

    def result(self, view: View, listen: Listen | None) -> tuple[State, tuple[Effect, ...]]:
        """Return the new state and the effects, in the order in which they must be done."""
        if self._says:
            said = tuple(say.text for say in self._says)
            self.moment = replace(self.moment, said=said, prompt_ended=None)
        if self.words:
            self.moment = replace(self.moment, heard=self.words)
        effects: list[Effect] = [*self._writes]
        if self._writes or self._says:
            effects.append(Show(view))
        effects.extend(self._cues)
        effects.extend(self._says)
        if self._hush:
            effects.append(Hush())
        if listen is not None:
            effects.append(listen)
        return self.state, tuple(effects)
