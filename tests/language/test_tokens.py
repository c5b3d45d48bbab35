"""Text to tokens: every typed form, and any text at all."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.language.tokens import LONGEST, as_given, tokenise


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", ()),
        ("  ", ()),
        ("Twenty-One", ("twenty", "one")),
        ("what's that?", ("what's", "that")),
        ("where\N{RIGHT SINGLE QUOTATION MARK}s the NUT", ("where's", "the", "nut")),
        ("no, nine", ("no", "nine")),
        ("done. it's square!", ("done", "it's", "square")),
        ('14 1/4"', ("14", "1/4", "inch")),
        ("14-1/4", ("14-1/4",)),
        ("14¼", ("14-1/4",)),
        ("⅜", ("3/8",)),
        ("½ inch", ("1/2", "inch")),
        ("6'2\"", ("6", "foot", "2", "inch")),
        ("6\N{PRIME}2\N{DOUBLE PRIME}", ("6", "foot", "2", "inch")),
        ("6''", ("6", "inch")),
        ("0.63", ("0.63",)),
        (".5", (".5",)),
        ("1,000", ("1000",)),
        ("1,234,567.5", ("1234567.5",)),
        ("12,7 mm", ("12.7", "mm")),
        ("12,7", ("12,7",)),
        ("19mm", ("19", "mm")),
        ("3/8 x 3/4", ("3/8", "x", "3/4")),
        ("45-50 Nm", ("45", "-", "50", "nm")),
        ("-10 C", ("minus", "10", "c")),
        ("\N{MINUS SIGN}2.5°C", ("minus", "2.5", "°c")),
        ("90°", ("90", "°")),
        ("33 ft-lb", ("33", "ft.lb")),
        ("33 ft lb", ("33", "ft.lb")),
        ("45 N·m", ("45", "n.m")),
        ("0.6 oz / ft", ("0.6", "oz/ft")),
        ("40 ft³", ("40", "ft3")),
        ("145 in3", ("145", "in3")),
        ("6ft3", ("6", "ft", "3")),
        ("6ft3in", ("6", "ft", "3", "in")),
        ("33 ft. lbs", ("33", "ft.lbs")),
        ("145 cu. in.", ("145", "cu.in")),
        ("600 psig", ("600", "psi", "gauge")),
        ("flare & swage", ("flare", "and", "swage")),
        ("3 eighths", ("3/8",)),
        ("5 16ths and 7 32nds", ("5/16", "and", "7/32")),
        # no count stands before these parts, and none may be cut off them
        ("how many 64ths is 3/8", ("how", "many", "64", "ths", "is", "3/8")),
        ("14ths", ("14", "ths")),
        ("2 quarter inch nuts", ("2", "quarter", "inch", "nuts")),
        ("9 eighths", ("9", "eighths")),
    ],
)
def test_typed_forms(text: str, expected: tuple[str, ...]) -> None:
    assert tokenise(text) == expected


@settings(deadline=None)
@given(st.text())
def test_any_text_gives_tokens(text: str) -> None:
    for token in tokenise(text):
        assert token
        assert token == token.lower()
        assert " " not in token


@settings(deadline=None)
@given(st.text(alphabet="abcdefgh '-,.!?", max_size=60))
def test_tokens_of_tokens_are_the_same(text: str) -> None:
    once = tokenise(text)
    assert tokenise(" ".join(once)) == once


def test_punctuation_and_case_change_nothing() -> None:
    plain = tokenise("mark for a ninety at fourteen and a quarter")
    assert tokenise("Mark for a NINETY, at fourteen-and-a-quarter?!") == plain


def test_beyond_the_longest_text_nothing_is_read() -> None:
    assert len(tokenise("one " * LONGEST)) == LONGEST // 4


@given(st.text(), st.text())
def test_the_end_of_a_text_is_found_again_as_it_was_given(before: str, after: str) -> None:
    end = " ".join(after.split())
    found = as_given(f"{before} {end}", tokenise(end))
    assert tokenise(found) == tokenise(end) or found == " ".join(tokenise(end))


def test_words_that_were_put_right_first_stand_in_a_row() -> None:
    assert as_given("Note the Flair", ("the", "flare")) == "the flare"
    assert as_given("Note: - the R-410A!", tokenise("the R-410A")) == "the R-410A!"
