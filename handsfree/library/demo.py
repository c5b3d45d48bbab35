"""The demo job: what is told and said in it, as text."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from handsfree.errors import DataError


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class DemoTurn(_Model):
    """What is told to whoever watches, and then said to the apprentice."""

    tell: str
    say: str


class Demo(_Model):
    """The greeting, and the job that shows what there is: see `data/demo.toml`."""

    greeting: str
    offer: str
    title: str
    begins: str
    misheard: str
    ends: str
    turns: tuple[DemoTurn, ...] = Field(alias="turn")


@cache
def demo() -> Demo:
    """Return the demo job; raises `DataError`."""
    text = (resources.files("handsfree") / "data" / "demo.toml").read_text(encoding="utf-8")
    try:
        return Demo.model_validate(tomllib.loads(text))
    except (tomllib.TOMLDecodeError, ValidationError) as error:
        raise DataError("demo.toml", "", f"it is not of its form: {error}") from error
