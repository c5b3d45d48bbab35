"""What a sentence can mean: the few things that the engine knows how to act on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from handsfree.calculators.card import Slot
from handsfree.dialogue.state import Said
from handsfree.dialogue.wording import Sentence
from handsfree.language.units import Ambiguous
from handsfree.quantity import Reading


@dataclass(frozen=True, slots=True)
class Danger:
    """Stop, or a named emergency."""

    name: str


@dataclass(frozen=True, slots=True)
class HandBack:
    """A question that is refused for good."""

    name: str


@dataclass(frozen=True, slots=True)
class Do:
    """A command, with the words that it takes; `bare` where a time was said without its unit."""

    name: str
    text: str = ""
    seconds: Fraction | None = None
    bare: bool = field(default=False, compare=False)


@dataclass(frozen=True, slots=True)
class Request:
    """A question to a calculator: the readings that were said.

    `unsettled` are numbers that can be in either of two units, which are asked between.
    """

    card: str
    slots: Mapping[str, Slot]
    unsettled: Mapping[str, Ambiguous] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Begin:
    """A procedure is wanted."""

    procedure: str


@dataclass(frozen=True, slots=True)
class Take:
    """A parked procedure is wanted back."""

    procedure: str


@dataclass(frozen=True, slots=True)
class Batch:
    """Everything up to the end of a procedure is told to be done."""

    procedure: str


@dataclass(frozen=True, slots=True)
class DoneWith:
    """A step is done, and the work it belongs to is named."""

    procedure: str


@dataclass(frozen=True, slots=True)
class By:
    """Who speaks says their name first; the rest is understood in their own work."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Tell:
    """A question that has a fixed answer in words."""

    name: str


@dataclass(frozen=True, slots=True)
class Over:
    """A state of the work no longer holds."""

    flag: str


@dataclass(frozen=True, slots=True)
class StageDone:
    """A stage of the job is told to be done."""

    stage: str


@dataclass(frozen=True, slots=True)
class Known:
    """The fact that the step in hand asks for, by name."""

    values: Mapping[str, Slot]


@dataclass(frozen=True, slots=True)
class Named:
    """Words for the step in hand: a name, or a number on a label."""

    text: str


@dataclass(frozen=True, slots=True)
class File:
    """Something was typed for the record: which field of it, and the text as typed."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Facts of the job were stated: by name, and for which size a bender's are."""

    values: Mapping[str, Reading | str]


@dataclass(frozen=True, slots=True)
class Answer:
    """The open question is answered: values by slot, and what is unsettled as in `Request`."""

    slots: Mapping[str, Slot]
    unsettled: Mapping[str, Ambiguous] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Pick:
    """One of the two sentences that were asked about (0 or 1), or neither (None)."""

    position: int | None


@dataclass(frozen=True, slots=True)
class Stated:
    """The state that a challenge asks for was said in words."""


@dataclass(frozen=True, slots=True)
class Faulty:
    """A fault of the step in hand was named."""

    name: str


@dataclass(frozen=True, slots=True)
class Value:
    """A reading for the step in hand, and the tokens that said it."""

    reading: Reading
    heard: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a step is skipped, in the person's words."""

    text: str


@dataclass(frozen=True, slots=True)
class Change:
    """A value of the last request is put right; without a value it is only taken back."""

    card: str
    slot: str
    value: Reading | None
    place: int = 0


@dataclass(frozen=True, slots=True)
class Amend:
    """A value that was said earlier, of the job or of a step, is put right."""

    said: Said
    value: Reading


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A request whose slot holds what can't be read: why, and the rest of it."""

    card: str
    slot: str
    why: str
    slots: Mapping[str, Slot]


@dataclass(frozen=True, slots=True)
class Several:
    """Two things may have been meant: each told in a few words, as written and as spoken."""

    first: Sentence
    second: Sentence
    meanings: tuple[Meaning, Meaning]


@dataclass(frozen=True, slots=True)
class Like:
    """A sentence like one or two that are known."""

    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Nothing:
    """Nothing that is known."""


Meaning = (
    Danger
    | HandBack
    | Do
    | Request
    | Begin
    | Take
    | Batch
    | DoneWith
    | By
    | Tell
    | Over
    | StageDone
    | Known
    | Named
    | File
    | Facts
    | Answer
    | Pick
    | Stated
    | Faulty
    | Value
    | Reason
    | Change
    | Amend
    | Unreadable
    | Several
    | Like
    | Nothing
)
