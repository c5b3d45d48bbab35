"""The forms of the data files that hold words, facts, safety lines and limits."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PositiveInt,
    TypeAdapter,
    ValidationError,
)

from handsfree.errors import DataError
from handsfree.quantity import Kind, Reading

Direction = Literal["nearest", "up", "down"]
Exact = Annotated[Fraction, BeforeValidator(lambda text: Fraction(str(text)))]


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class PhraseText(_Model):
    """A phrase, the slots that it implies, and the calculators whose last answer it follows."""

    say: str
    presets: Mapping[str, str] = Field(default_factory=dict)
    follows: tuple[str, ...] = ()


def _phrase_text(value: Any) -> Any:
    if isinstance(value, str):
        return {"say": value}
    if isinstance(value, dict) and "presets" not in value:
        return {
            "say": value.get("say", ""),
            "presets": {k: v for k, v in value.items() if k not in ("say", "follows")},
            "follows": value.get("follows", ()),
        }
    return value


Phrases = tuple[Annotated[PhraseText, BeforeValidator(_phrase_text)], ...]


class Words(_Model):
    """The words of one calculator; `answers` are phrases that only answer its questions."""

    title: str
    phrases: Phrases
    answers: Phrases = ()
    questions: Mapping[str, str] = Field(default_factory=dict)
    options: Mapping[str, Mapping[str, tuple[str, ...]]] = Field(default_factory=dict)
    sentences: Mapping[str, str]
    refusals: Mapping[str, str] = Field(default_factory=dict)
    warnings: Mapping[str, str] = Field(default_factory=dict)
    why: Mapping[str, str] = Field(default_factory=dict)


class Fact(_Model):
    """A fact of a job: see `data/facts.toml`. `written` is how an option stands on paper."""

    question: str
    title: str = ""
    phrases: tuple[str, ...] = ()
    told: str
    words: bool = False
    options: Mapping[str, tuple[str, ...]] = Field(default_factory=dict)
    written: Mapping[str, str] = Field(default_factory=dict)
    kind: Kind | None = None
    unit: str = ""
    rule: str = ""
    low: Exact | None = None
    high: Exact | None = None
    per: str = ""
    bender: bool = False

    def choice(self, value: str) -> tuple[str, str]:
        """Return an option as it is written and as it is said: `R-410A`, `r four ten a`."""
        said = self.options[value][0] if value in self.options else value
        return self.written.get(value, said), said

    def outside(self, value: object) -> tuple[Reading, Reading] | None:
        """Return the band of the fact where a reading lies outside it, else None."""
        if self.low is None or self.high is None or self.kind is None:
            return None
        low, high = (Reading(end, self.unit, self.kind) for end in (self.low, self.high))
        outside = isinstance(value, Reading) and not value.inside(low, high)
        return (low, high) if outside else None


class Command(_Model):
    """Something that can be said at any time."""

    title: str
    help: str
    phrases: tuple[str, ...]


class Stop(_Model):
    """The stop words and what is said then."""

    phrases: tuple[str, ...]
    say: str
    source: str


class HandedBack(_Model):
    """A question that is refused: why, and what instead."""

    phrases: tuple[str, ...]
    why: str
    instead: str


class Safety(_Model):
    """Words that beat everything: see `data/safety.toml`."""

    negations: tuple[str, ...]
    oaths: tuple[str, ...]
    stop: Stop
    emergency: Mapping[str, Stop]
    refuse: Mapping[str, HandedBack]


class FirmLimits(_Model):
    """What a firm's pack must hold to: see `data/firm.toml`."""

    needs: tuple[str, ...]
    too_like: float
    act: Mapping[str, tuple[str, ...]]
    never: Mapping[str, tuple[str, ...]]


class Hearing(_Model):
    """When what was heard is acted on: see `data/hearing.toml`."""

    fit: float
    pause: float
    slowest: float
    quiet: float
    margin_quiet: float
    margin_noisy: float
    margin_alike: float
    doubt_asks: float
    doubt_nothing: float
    doubt_refused: float


class Watch(_Model):
    """When a stop word over our own voice is believed: see `data/sound.toml`."""

    words: tuple[str, ...]
    fit: float
    margin: float


class Room(_Model):
    """When a room is too loud, and how we speak in it: see `data/sound.toml`."""

    loud: float
    calm: float
    utterances: PositiveInt
    clipped: float
    rate: int
    volume: int


class Earcon(_Model):
    """A sound that is no word: its tones in hertz and seconds, and how often they are played."""

    tones: tuple[tuple[float, float], ...]
    times: PositiveInt = 1


class Enrolment(_Model):
    """What is read to fit the ears to a person: see `data/sound.toml`."""

    prompts: tuple[str, ...]
    level: float
    most: float
    peak: float
    lowest: float
    enough: PositiveInt


class Sound(_Model):
    """What the microphone is trusted with, and the sounds that are no words."""

    watch: Watch
    room: Room
    earcons: Mapping[str, Earcon]
    cues: Mapping[str, str]
    enrolment: Enrolment


def steps_of(rule: Mapping[str, str]) -> dict[str, tuple[Fraction, Direction]]:
    """Return the step and the direction in which a rule rounds in each unit."""
    found: dict[str, tuple[Fraction, Direction]] = {}
    for unit, text in rule.items():
        step, _, direction = text.partition(" ")
        ways: Mapping[str, Direction] = {"up": "up", "down": "down"}
        found[unit] = (Fraction(step), ways.get(direction, "nearest"))
    return found


def formed(file: str, form: Any, faults: list[DataError], text: str) -> Any:
    """Return TOML text in a form; faults are collected, and None returned."""
    try:
        return TypeAdapter(form).validate_python(tomllib.loads(text))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        faults.append(DataError(file, "", f"this is not TOML: {error}"))
    except ValidationError as error:
        for fault in error.errors():
            place = ".".join(str(part) for part in fault["loc"])
            faults.append(DataError(file, place, fault["msg"]))
    return None
