"""Slips of recognisers: put right in tube context, left alone elsewhere, and never in a number."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.language.numbers import readings
from handsfree.language.slips import Slip, normalised, slips
from handsfree.language.tokens import tokenise


@pytest.mark.parametrize(
    ("heard", "meant"),
    [
        ("flair the half inch", "flare the half inch"),
        ("the flyer on the five eighths nut", "the flare on the five eighths nut"),
        ("swedge the tube", "swage the tube"),
        ("suede the end", "swage the end"),
        ("brays the joint", "braze the joint"),
        ("put it in the vendor for a bend", "put it in the bender for a bend"),
        ("dreamer on the tube", "reamer on the tube"),
        ("d burr the end", "deburr the end"),
        ("kneel the copper", "anneal the copper"),
        ("an eel the copper", "anneal the copper"),
        ("valve corps", "valve core"),
        ("five hundred my crons", "five hundred microns"),
        ("sub cue", "subcool"),
        ("super heat", "superheat"),
        ("lined set", "line set"),
        ("crows foot", "crowfoot"),
        ("talk the flare nut", "torque the flare nut"),
        ("nitro through the tube", "nitrogen through the tube"),
        ("tore weight of the cylinder", "tare weight of the cylinder"),
        ("won and a quarter inches", "one and a quarter inches"),
        ("ate inches", "eight inches"),
        ("three eights", "three eighths"),
        ("two and a have inches", "two and a half inches"),
    ],
)
def test_put_right(heard: str, meant: str) -> None:
    assert normalised(tokenise(heard)) == tokenise(meant)


@pytest.mark.parametrize(
    "text",
    [
        "she has a flair for it",
        "a suede jacket",
        "talk to Sam",
        "he tore his glove",
        "i ate already",
        "we won",
        "a good vendor",
        "kneel down",
        "that too",
        "mark a ninety at fourteen inches",
        "",
    ],
)
def test_left_alone(text: str) -> None:
    assert normalised(tokenise(text)) == tokenise(text)


WORDS = sorted({word for slip in slips() for side in (slip.heard, slip.meant) for word in side})


@settings(deadline=None)
@given(st.lists(st.sampled_from([*WORDS, "tube", "nut", "inches", "fifteen", "fifty", "a", "and"])))
def test_right_stays_right(words: list[str]) -> None:
    once = normalised(tuple(words))
    assert normalised(once) == once


@pytest.mark.parametrize("slip", slips(), ids=lambda slip: " ".join(slip.heard))
def test_no_slip_turns_one_number_into_another(slip: Slip) -> None:
    heard = readings(slip.heard, "number")
    assert not heard or heard == readings(slip.meant, "number")


@pytest.mark.parametrize("slip", slips(), ids=lambda slip: " ".join(slip.heard))
def test_what_was_meant_is_no_slip_itself(slip: Slip) -> None:
    assert not any(slip.meant == other.heard for other in slips())
