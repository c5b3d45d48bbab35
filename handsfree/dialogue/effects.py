"""What the engine wants done, in the order in which it must be done.

Within one answer the order is Write, Show, Cue, Say, Hush, Listen: what is said to be written
has been written before it is said.
"""

from __future__ import annotations

from dataclasses import dataclass

from handsfree.language.grammar import Grammar
from handsfree.record.entries import Entry


@dataclass(frozen=True, slots=True)
class Write:
    """Append an entry to the journal of the job, and flush it to disk."""

    entry: Entry


@dataclass(frozen=True, slots=True)
class View:
    """What a glance should give: place, step, caution, last number, what was heard, a drawing."""

    place: str = ""
    step: str = ""
    caution: str = ""
    number: str = ""
    heard: str = ""
    drawing: str = ""


@dataclass(frozen=True, slots=True)
class Show:
    """Show the view (what stands on a screen now)."""

    view: View


@dataclass(frozen=True, slots=True)
class Cue:
    """Make one of the sounds that are no words: it tells what kind of sentence comes, if any."""

    name: str


@dataclass(frozen=True, slots=True)
class Say:
    """Say one sentence: `text` as written, `speech` as spoken. `urgent` ones stop other speech.

    `id` numbers the sentences of a conversation, so that `Spoken` can name them.
    """

    text: str
    speech: str
    id: int
    urgent: bool = False


@dataclass(frozen=True, slots=True)
class Hush:
    """Stop speaking."""


@dataclass(frozen=True, slots=True)
class Listen:
    """Listen for these sentences from now on."""

    grammar: Grammar


Effect = Write | Show | Cue | Say | Hush | Listen
