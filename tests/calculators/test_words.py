"""The words of every calculator fit it: each place in a sentence is filled by something it has."""

from __future__ import annotations

import re

import pytest

from handsfree.calculators.catalogue import CARDS
from handsfree.library import Library
from handsfree.reference.tables import sources

PLACE = re.compile(r"\{([a-z_]+)(?::[a-z]+)?\}")
GIVEN_BY_THE_FUNCTION = {
    "vacuum_decay": {"sure"},
    "piece_marks": {"number", "other", "rounded_leg", "longer"},
    "rebase_marks": {"next", "taker"},
}


@pytest.mark.parametrize("name", [card.id for card in CARDS])
def test_every_place_is_filled(name: str, known: Library) -> None:
    card, words = known.cards[name], known.words[name]
    has = set(card.by_name) | {result.name for result in card.results} | {"band"}
    has |= GIVEN_BY_THE_FUNCTION.get(name, set())
    for group in (words.sentences, words.why, words.warnings):
        for key, text in group.items():
            assert set(PLACE.findall(text)) <= has, key


@pytest.mark.parametrize("name", [card.id for card in CARDS])
def test_every_sum_can_be_shown(name: str, known: Library) -> None:
    """Each has a formula in words with a number in place, and known sources."""
    words = known.words[name]
    assert any(PLACE.search(text) for text in words.why.values())
    assert set(words.sentences) <= set(words.why) or "formula" in words.why
    assert all(source in sources() for source in known.cards[name].sources)


@pytest.mark.parametrize("name", [card.id for card in CARDS])
def test_every_result_is_rounded_by_a_rule(name: str, known: Library) -> None:
    for result in known.cards[name].results:
        assert result.rounding in known.rounding
