"""Steps that count: what is forgotten when a procedure begins anew, and what a list fills.

That a reading of last time is no reading of this time is a rule of any record of measurements;
common practice, no source. The sum of legs is arithmetic.
"""

from __future__ import annotations

from handsfree.edge.replay import Line, Player
from handsfree.library import library


def player(*settings: str) -> Player:
    made = Player(library())
    for number, setting in enumerate(settings, start=1):
        made.set(Line(number, "@", setting))
    return made


def said(made: Player, *heard: str) -> list[str]:
    told: list[str] = []
    for text in heard:
        told = made.hear(text)[0].say
    return told


def test_a_piece_begun_again_does_not_take_the_rolls_of_the_last() -> None:
    made = player("fact size = 3/8", "fact dimension_to = centre", "bender 3/8 radius=15/16")
    made.set(Line(9, "@", "flag ppe"))
    legs = ("ten", "eighteen", "twelve", "done", "yes", "ninety", "ninety", "done", "yes")
    made.set(Line(10, "@", "at bend_piece/1"))
    said(made, *legs, "done", "turned", "ninety degrees", "done", "yes")
    assert "bend_piece/planes" in made.state.job.values
    made.set(Line(11, "@", "at bend_piece/1"))
    assert not [name for name in made.state.job.values if name.startswith("bend_piece/")]
    assert "Cut 39-1/4 in." in said(made, *legs, "done", "yes")


def test_the_pull_of_a_piece_is_not_that_of_an_earlier_single_bend() -> None:
    made = player("fact size = 3/8", "bender 3/8 radius=15/16 springback=3", "flag ppe")
    made.set(Line(4, "@", "fact dimension_to = centre"))
    made.set(Line(5, "@", "fact measured_from = left"))
    made.set(Line(6, "@", "at bend_lever/2a"))
    said(made, "forty five", "yes")
    assert "bend_lever/angle" in made.state.job.values
    made.set(Line(7, "@", "at bend_piece/6s"))
    said(made, "done")
    assert made.state.job.place[-1].procedure == "bend_lever"
    assert "bend_lever/angle" not in made.state.job.values
    assert "the set angle" in " ".join(said(made, "done", "done", "yes"))


def test_the_legs_of_a_route_are_added_up_for_the_take_off() -> None:
    made = player("fact size_means = OD", "flag ppe", "at survey/4")
    said(made, "six foot two", "nine feet", "fourteen feet", "done", "yes", "two bends", "yes")
    assert said(made, "zero", "yes")  # no bend saves anything
    said(made, "zero", "yes")
    said(made, "done", "nine inches", "yes", "half an inch", "yes")
    told = said(made, "six inches", "yes")
    assert any("29 ft 2 in" in one for one in told), told


def test_a_line_over_the_makers_longest_is_refused_at_once() -> None:
    made = player("fact longest_line = 25 foot", "at survey/4")
    said(made, "six foot two", "nine feet", "fourteen feet", "done", "yes", "two bends", "yes")
    said(made, "two", "yes", "zero", "yes")
    said(made, "done", "nine inches", "yes", "half an inch", "yes")
    told = said(made, "six inches", "yes")
    assert "Too long by 4 ft 2 in." in told
    assert made.state.job.place[-1].step == "4"
    assert made.state.job.fact("line_length") is None
