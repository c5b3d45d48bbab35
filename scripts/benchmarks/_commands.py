"""Sixty commands by four synthetic voices: rendered, and judged by what came of them."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from _sound import NUMBER_WORDS, Recording

if TYPE_CHECKING:
    from handsfree.dialogue.events import Heard
    from handsfree.dialogue.state import State
    from handsfree.edge.ear.ears import Ears
    from handsfree.library import Library

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
VOICES = {
    "espeak american": ["espeak-ng", "-v", "en-us", "-s", "150", "-w", "{file}", "{text}"],
    "espeak british": ["espeak-ng", "-v", "en-gb", "-s", "150", "-w", "{file}", "{text}"],
    "flite slt": ["flite", "-voice", "slt", "-t", "{text}", "-o", "{file}"],
    "flite rms": ["flite", "-voice", "rms", "-t", "{text}", "-o", "{file}"],
}
STANDING = [
    "the tube is three eighths",
    "bender radius is fifteen sixteenths",
    "dimensions are to the centre",
    "flares are for high pressure",
    "flaring tool is the wing nut bar",
]
"""What the job knows, as on the second request of the day."""
COMMANDS = """
what's nineteen mil in inches
three and five eighths in metric
twelve point seven millimetres in inches
forty five millimetres in inches
nine sixteenths in millimetres
what's seven eighths in metric
one and a quarter inches in millimetres
six hundred psi in bar
thirty eight bar in pounds
four point one five megs
one hundred and fifty psi in bar
ten bar in psi
five hundred microns in pascals
what's one millibar in microns
fifteen hundred microns in pascals
twenty nine inches good enough
what's forty newton metres in foot pounds
twenty five foot pounds in newton metres
what's eighteen newton metres in inch pounds
seven and five sixteenths plus three and seven eighths
half of eleven and three quarters
nine and a half minus two and three eighths
forty and three sixteenths divided by three
which is bigger nine sixteenths or five eighths
half of fourteen
where do I mark a ninety at twelve
mark for a ninety at fourteen and a quarter
mark for a forty five at twenty
where do I mark a ninety at nine and three eighths
ninety at sixteen and a half
cut length fifteen ninety fifteen
cut length ten ninety eighteen ninety twelve
what should the flare measure
how far do I stick it out
flare gauge says thirteen millimetres
torque on a half inch flare
torque on a three eighths flare
is forty newton metres okay on three eighths
what's the torque
standard band for half inch
the tube is half inch
the tube is five eighths
dimensions are to the outside
dimensions are to the centre
flaring tool is the clutch
vacuum limit is five hundred microns
maker says forty two newton metres
start a flare
start a cut
make up the joint
inspect the flare
where am I
repeat
help
pause
stop
number again
start ten minutes
how long left
can I test with oxygen
""".strip().splitlines()
FRACTION_WORDS = "point half quarter third eighth sixteenth"
OUTCOMES = ("right", "asked", "let pass", "wrong")
"""Acted on rightly; asked which of two; nothing done, to be said again; acted on wrongly."""


@dataclass(frozen=True)
class Verdict:
    """What came of one spoken command, and why it was not the right thing.

    `fit` (nats a phoneme) is of the right meaning, and `lead` how far that is before the best
    other one, in nats; None where it was not among those heard. `other` is that best other one.
    """

    outcome: str
    voice: str
    text: str
    cause: str
    heard: str
    other: str
    fit: float | None
    lead: float | None
    offered: bool
    wrong_number: bool

    def note(self) -> str:
        """Return it as a line."""
        how = "" if self.fit is None or self.lead is None else f" fit {self.fit:.2f}"
        how += "" if self.lead is None else f", lead {self.lead:.1f}"
        rival = f" / {self.other}" if self.other else ""
        return (
            f"{self.outcome}: {self.cause}:{how}: {self.voice}: {self.text} -> {self.heard}{rival}"
        )


def can_speak() -> bool:
    """Return whether all four voices are installed."""
    return all(shutil.which(command[0]) for command in VOICES.values())


def spoken() -> list[Recording]:
    """Return every command by every voice; `folder` is the voice, `name` the command."""
    import numpy as np  # noqa: PLC0415

    from handsfree.edge.ear.sources import FileSource  # noqa: PLC0415 - after the path is set

    found = []
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "said.wav"
        for voice in VOICES:
            for text in COMMANDS:
                _render(voice, text, file)
                samples = np.concatenate(list(FileSource(file)))
                found.append(Recording(voice, tuple(text.split()), samples, text))
    return found


def _render(voice: str, text: str, file: Path) -> None:
    # a synthesiser reads "psi" as the Greek letter; flite knows metres by their American spelling
    said = text.replace("psi", "p s i")
    if voice.startswith("flite"):
        said = said.replace("metre", "meter")
    command = [part.format(file=file, text=said) for part in VOICES[voice]]
    subprocess.run(command, check=True, capture_output=True, timeout=20)


def standing(known: Library) -> State:
    """Return the state in which the commands are said."""
    from handsfree.dialogue.engine import advance  # noqa: PLC0415 - after the command line is read
    from handsfree.dialogue.events import Typed  # noqa: PLC0415
    from handsfree.dialogue.state import State  # noqa: PLC0415

    state = State()
    for line in STANDING:
        state, _ = advance(state, Typed(line, AT), known)
    return state


def hear(recording: Recording, ears: Ears) -> list[Heard]:
    """Return what the ears made of a recording, through the speech detector."""
    from handsfree.edge.ear.endpoint import utterances  # noqa: PLC0415

    return [ears.hear(samples, AT) for samples in utterances([recording.samples])]


class Judge:
    """Says what came of commands, from what was heard of them; needs no ears."""

    def __init__(self, known: Library) -> None:
        self.known, self.state = known, standing(known)
        self._typed: dict[str, tuple[Any, ...]] = {}

    def verdict(self, recording: Recording, heard: Sequence[Heard]) -> Verdict:
        """Return what came of a command; the worst, where noise made several utterances of it."""
        if not heard:
            return self._verdict(recording, "let pass", "no speech found")
        found = [self._one(recording, one) for one in heard]
        order = ("wrong", "right", "asked", "let pass")
        return min(found, key=lambda verdict: order.index(verdict.outcome))

    def _verdict(  # noqa: PLR0913 - the parts of a verdict
        self,
        recording: Recording,
        outcome: str,
        cause: str,
        heard: str = "",
        other: str = "",
        fit: float | None = None,
        lead: float | None = None,
        *,
        offered: bool = False,
    ) -> Verdict:
        wrong = outcome == "wrong" and _numbers(heard) != _numbers(recording.name)
        return Verdict(
            outcome,
            recording.folder,
            recording.name,
            cause,
            heard,
            other,
            fit,
            lead,
            offered,
            wrong,
        )

    def _one(self, recording: Recording, heard: Heard) -> Verdict:
        from handsfree.dialogue.engine import advance, ranked  # noqa: PLC0415

        right = self._came(recording.name)
        after, effects = advance(self.state, heard, self.known)
        said = after.moment.heard if effects else ""
        got = self._came_of(said, after, effects)
        if got == right:
            outcome = "right"
        elif not effects:
            outcome = "let pass"
        else:
            outcome = "asked" if got[0] == "heard" else "wrong"
        groups = ranked(heard, self.state, self.known)
        meant = [self._came(group.text) == right for group in groups]
        place = meant.index(True) if True in meant else None
        others = [group for group, same in zip(groups, meant, strict=True) if not same]
        best = said or (groups[0].text if groups else "")
        other = others[0].text if others else ""
        fit = lead = None
        offered = False
        if place is not None:
            fit = groups[place].fit
            lead = groups[place].score - (others[0].score if others else float("-inf"))
            question = after.job.question
            offered = (
                outcome == "asked"
                and question is not None
                and any(self._came(choice) == right for choice in question.choices)
            )
        cause = "" if outcome == "right" else self._cause(heard, place, fit)
        return self._verdict(recording, outcome, cause, best, other, fit, lead, offered=offered)

    def _cause(self, heard: Heard, place: int | None, fit: float | None) -> str:
        from handsfree.dialogue.evidence import believable  # noqa: PLC0415

        if not heard.alternatives:
            return "ear: nothing heard"
        if not any(believable(one, heard, self.known.hearing) for one in heard.alternatives):
            return "policy: too slow to be believed"
        if place is None:
            return "ear: not among the sentences"
        if place:
            return "ear: another led"
        if fit is not None and fit < self.known.hearing.fit:
            return "policy: below the not-for-us limit"
        return "policy: lead too small"

    def _came(self, text: str) -> tuple[Any, ...]:
        """Return what comes of a sentence that is typed."""
        from handsfree.dialogue.engine import advance  # noqa: PLC0415
        from handsfree.dialogue.events import Typed  # noqa: PLC0415

        if text not in self._typed:
            after, effects = advance(self.state, Typed(text, AT), self.known)
            self._typed[text] = self._came_of(text, after, effects)
        return self._typed[text]

    def _came_of(self, text: str, after: State, effects: Sequence[Any]) -> tuple[Any, ...]:
        from handsfree.dialogue.telling import tell  # noqa: PLC0415

        told = tell(text, self.state, after, tuple(effects), self.known)
        return told.what, told.answers, told.slots


def _numbers(text: str) -> list[str]:
    """Return the number words of a sentence."""
    singular = (word.removesuffix("s") if word != "six" else word for word in text.split())
    numbers = frozenset(f"{NUMBER_WORDS} {FRACTION_WORDS}".split())
    return [word for word in singular if word in numbers]
