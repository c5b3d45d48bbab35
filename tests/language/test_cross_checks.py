"""Number words against general libraries: num2words out, text2num and word2number in."""

from __future__ import annotations

import random
from fractions import Fraction

from num2words import num2words
from text_to_num import text2num
from word2number.w2n import word_to_num

from handsfree.language.numbers import readings
from handsfree.language.speaking import say_decimal, say_integer, say_number
from handsfree.language.tokens import tokenise

MOST_EXHAUSTIVE = 9_999
MOST = 9_999_999
MILLION = 1_000_000
SAMPLE = random.Random(6).sample(range(MOST_EXHAUSTIVE, MOST + 1), 2000)  # noqa: S311 - a fair sample is all it is


def test_num2words_says_whole_numbers_in_the_same_words() -> None:
    """Only its commas differ: it writes them after thousands and millions."""
    for value in (*range(MOST_EXHAUSTIVE + 1), *SAMPLE):
        assert say_integer(value) == num2words(value).replace(",", "")


def test_what_num2words_says_is_read() -> None:
    for value in (*range(MOST_EXHAUSTIVE + 1), *SAMPLE):
        found = readings(tokenise(num2words(value)), "number")
        assert [spoken.value for spoken in found] == [value]


def test_num2words_says_decimals_in_the_same_words() -> None:
    for count in range(-2000, 2001):
        value = Fraction(count, 100)
        if value.denominator != 1 and not -1 < value < 0:
            assert say_decimal(value) == num2words(float(value))
    assert say_number(Fraction(-40)) == num2words(-40)


def test_num2words_drops_the_sign_between_minus_one_and_nothing_and_we_do_not() -> None:
    assert num2words(-0.99) == "zero point nine nine"
    assert say_decimal(Fraction(-99, 100)) == "minus zero point nine nine"


def test_text2num_reads_what_we_say() -> None:
    for value in (*range(MOST_EXHAUSTIVE + 1), *SAMPLE):
        assert text2num(say_integer(value), "en") == value


def test_word2number_reads_what_we_say() -> None:
    for value in (*range(MOST_EXHAUSTIVE + 1), *(value for value in SAMPLE if value < MILLION)):
        assert word_to_num(say_integer(value)) == value


def test_word2number_misreads_hundreds_of_thousands_after_a_million_and_we_do_not() -> None:
    words = say_integer(6_823_000)
    assert word_to_num(words) == 6_823_008
    assert [one.value for one in readings(tokenise(words), "number")] == [6_823_000]


def test_where_we_differ_from_text2num_and_why() -> None:
    """Each difference is a way of the trade, or a number that would be a guess."""
    ours_only = {
        "one fifty": 150,
        "five thirty eight": 538,
        "double five": 55,
        "five five zero": 550,
        "one oh five": 105,
    }
    for words, value in ours_only.items():
        assert [one.value for one in readings(tokenise(words), "number")] == [value]
        try:
            theirs = text2num(words, "en")
        except ValueError:
            theirs = None
        assert theirs != value
    for words in ("sixty fifteen", "twenty twelve", "fifteen fifteen"):
        assert readings(tokenise(words), "number") == []
