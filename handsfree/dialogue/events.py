"""What can happen: the only input of the engine. Every event carries its time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

Device = Literal["microphone", "loudspeaker"]
CERTAIN = 100.0
"""A margin or score larger than any that a recogniser gives: said in a script, or typed."""


@dataclass(frozen=True, slots=True)
class Alternative:
    """One sentence that may have been said.

    `score` is its log-likelihood in nats, summed over its alignments, less what a rare way of
    saying it costs; only differences between alternatives of one utterance mean anything. `fit`
    is how much worse it explains the sound than any sounds could, in nats a phoneme (0 is
    perfect). `phonemes` is how many it has at least, 0 where that is not known.
    """

    text: str
    score: float = 0.0
    fit: float = 0.0
    phonemes: int = 0


@dataclass(frozen=True, slots=True)
class Heard:
    """An utterance as the ears heard it, best alternative first.

    `duration` is in seconds, quiet before and after included, 0 where it is not known;
    `signal_to_noise` in decibels, None where it is not known. `second` is what a second ear
    heard, None where there is only one ear.
    """

    alternatives: tuple[Alternative, ...]
    at: datetime
    duration: float = 0.0
    signal_to_noise: float | None = None
    second: str | None = None


@dataclass(frozen=True, slots=True)
class Missed:
    """Something was said of which a piece is missing: sound was lost, or we were speaking."""

    at: datetime


@dataclass(frozen=True, slots=True)
class Called:
    """The button is held to talk: what is said next is meant for us, whatever it is."""

    at: datetime


@dataclass(frozen=True, slots=True)
class RoomChanged:
    """The room has become too loud to trust numbers in, or calm again."""

    loud: bool
    at: datetime


@dataclass(frozen=True, slots=True)
class Clipped:
    """Speech was too loud for the microphone."""

    at: datetime


@dataclass(frozen=True, slots=True)
class Typed:
    """A line that was typed: at the terminal, or on a board."""

    text: str
    at: datetime
    on_board: bool = False


@dataclass(frozen=True, slots=True)
class Spoken:
    """A sentence has been said, or cut off (`whole` is false)."""

    id: int
    at: datetime
    whole: bool = True


@dataclass(frozen=True, slots=True)
class Tick:
    """Time has passed: about once a second while the app runs."""

    at: datetime


@dataclass(frozen=True, slots=True)
class DeviceLost:
    """A device has gone; `device` is the microphone or the loudspeaker."""

    device: Device
    at: datetime


@dataclass(frozen=True, slots=True)
class DeviceBack:
    """A device works again."""

    device: Device
    at: datetime


@dataclass(frozen=True, slots=True)
class Battery:
    """What is left in a battery that is not being charged, per cent."""

    percent: float
    at: datetime


@dataclass(frozen=True, slots=True)
class RecordLost:
    """The record cannot be written: entries are held in memory until it can."""

    at: datetime


@dataclass(frozen=True, slots=True)
class RecordBack:
    """The record has been written again, with all that was held."""

    at: datetime


Event = (
    Heard
    | Missed
    | Called
    | RoomChanged
    | Clipped
    | Typed
    | Spoken
    | Tick
    | DeviceLost
    | DeviceBack
    | Battery
    | RecordLost
    | RecordBack
)
