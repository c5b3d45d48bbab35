"""Finding the phrase that was said: word for word first, likeness never over a negation."""

from __future__ import annotations

import pytest
from rapidfuzz import fuzz

from handsfree.language.grammar import Parser, Word, bind, parse_phrase, sentences
from handsfree.language.matching import Phrase, PhraseBook, required
from handsfree.language.numbers import number_evaluators, number_rules, number_terminals
from handsfree.language.tokens import tokenise
from handsfree.library import Library

SLOTS = {"distance": "length", "angle": "angle"}
SLOT_RULES = ("length", "angle")
NEGATIONS = ("not", "don't", "never", "no")


@pytest.fixture(scope="module")
def book() -> PhraseBook:
    texts = {
        "mark": "[where do I] mark [for] a <angle> at <distance>",
        "open": "open the valve",
        "cut": "cut it at <distance>",
    }
    phrases = [
        Phrase("calculator", name, bind(parse_phrase(text), SLOTS)) for name, text in texts.items()
    ]
    parser = Parser(number_rules(), number_evaluators(), number_terminals())
    return PhraseBook(phrases, parser, NEGATIONS)


def test_a_template_gives_its_slots(book: PhraseBook) -> None:
    (hit,) = book.matches(tokenise("Where do I mark for a ninety at fourteen and a quarter?"))
    assert hit.phrase.id == "mark"
    assert hit.phrase.owner == ("calculator", "mark")
    assert [str(value.value) for value in hit.slots["distance"]] == ["57/4"]
    assert [str(value.value) for value in hit.slots["angle"]] == ["90"]
    assert hit.literal == 3, "mark, a and at are always said"


def test_every_reading_of_a_slot_is_a_hit(book: PhraseBook) -> None:
    hits = book.matches(tokenise("cut it at one fifty"))
    assert {str(hit.slots["distance"][0].value) for hit in hits} == {"150", "3/2"}


def test_what_is_not_said_word_for_word_does_not_match(book: PhraseBook) -> None:
    assert book.matches(tokenise("mark a ninety near fourteen")) == []
    assert book.matches(tokenise("open the valve now")) == []
    assert book.matches(()) == []


def test_likeness_keeps_the_numbers_as_they_were_said(book: PhraseBook) -> None:
    nearest = book.nearest(tokenise("marks a ninety at fifteen"), SLOT_RULES)
    assert nearest[0].phrase.id == "mark"
    assert nearest[0].sentence == tokenise("mark a ninety at fifteen")
    assert book.matches(nearest[0].sentence)


def test_a_negation_is_never_like_anything(book: PhraseBook) -> None:
    text = "do not open the valve"
    # The general library finds the opposite all but the same, so it is not asked.
    assert fuzz.token_set_ratio(text, "open the valve") == 100
    assert book.nearest(tokenise(text), SLOT_RULES) == []
    assert book.nearest(tokenise("never open the valve"), SLOT_RULES) == []
    assert book.nearest((), SLOT_RULES) == []
    assert book.nearest(tokenise("open a valve"), SLOT_RULES)[0].phrase.id == "open"


def test_words_without_which_a_phrase_cannot_match() -> None:
    assert required(parse_phrase("mark [it] (at | near) noon")) == {"mark", "noon"}
    assert required(parse_phrase("(cut it | cut that)")) == {"cut"}
    assert required(parse_phrase("done+")) == {"done"}
    assert required(parse_phrase("done*")) == frozenset()


def test_words_in_another_order_or_form_are_alike(book: PhraseBook) -> None:
    first = book.nearest(tokenise("at fourteen, a ninety: marked where"), SLOT_RULES)[0]
    assert first.phrase.id == "mark"
    assert book.matches(first.sentence), "the numbers are put where each makes sense"


def test_numbers_put_side_by_side_do_not_run_together(book: PhraseBook) -> None:
    # "a ninety at fifteen ninety" would be 15.90
    assert all(
        near.sentence != tokenise("mark a ninety at fifteen ninety")
        for near in book.nearest(tokenise("mark ninety a ninety at fifteen"), SLOT_RULES)
    )


def test_no_word_of_a_number_is_dropped(book: PhraseBook) -> None:
    assert book.nearest(tokenise("cut it at fourteen eighths"), SLOT_RULES) == []


def test_every_phrase_is_matched_by_a_sentence_of_its_own(known: Library) -> None:
    """Phrases are looked up by a word of theirs and by how they begin: none is passed over."""
    rules = {"anything": Word("something"), **known.rules}
    for phrase in known.book.phrases:
        said = next(iter(sentences(phrase.expansion, rules)))
        hits = [hit.phrase for hit in known.book.matches(said)]
        assert phrase in hits, said
        assert hits == sorted(hits, key=known.book.phrases.index)
