"""The phrase grammar: its notation (JSGF, W3C Note of 5 June 2000), its lists, its parses."""

from __future__ import annotations

from itertools import product
from math import log

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.errors import DataError
from handsfree.language.grammar import (
    REJECT,
    Bound,
    Choice,
    Expansion,
    Grammar,
    Maybe,
    Parser,
    Repeat,
    Rule,
    Sequence,
    Word,
    bind,
    parse_phrase,
    parse_rules,
    reachable,
    rule_names,
    sentences,
    words,
)


def listed(text: str, rules: dict[str, Expansion] | None = None) -> set[str]:
    return {" ".join(words) for words in sentences(parse_phrase(text), rules or {})}


# ---------------------------------------------------------------------------------- the notation


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("mark it", {"mark it"}),
        ("mark (it | the tube)", {"mark it", "mark the tube"}),
        ("mark [it]", {"mark", "mark it"}),
        ("mark [it | that] now", {"mark now", "mark it now", "mark that now"}),
        ("a (b | c [d])", {"a b", "a c", "a c d"}),
        ("done+", {"done", "done done"}),
        ("well done*", {"well", "well done", "well done done"}),
        ('"line set" long', {"line set long"}),
        ("one {1} | two {2}", {"one", "two"}),
        ("Where's IT", {"where's it"}),
    ],
)
def test_notation(text: str, expected: set[str]) -> None:
    assert listed(text) == expected


@pytest.mark.parametrize(
    ("text", "caret", "problem"),
    [
        ("mark (it", 8, "bracket opened at column 6 is not closed"),
        ("mark [it", 8, "bracket opened at column 6 is not closed"),
        ("mark it)", 7, "never opened"),
        ("mark () it", 6, "something is missing"),
        ("mark | ", 7, "something is missing"),
        ("mark /it", 5, "has no meaning here"),
        ("", 0, "something is missing"),
    ],
)
def test_faults_show_a_caret(text: str, caret: int, problem: str) -> None:
    with pytest.raises(DataError, match=r"phrases\.toml, bend_mark") as found:
        parse_phrase(text, "phrases.toml", "bend_mark")
    line, mark = found.value.excerpt.split("\n")
    assert line == f"    {text}"
    assert mark == " " * (4 + caret) + "^"
    assert problem in found.value.problem


def test_weights_tell_how_often_an_option_is_said() -> None:
    found = parse_phrase("/2/ one | /1/ (two words) | /0.5/ three")
    assert isinstance(found, Choice)
    assert found.costs == pytest.approx((0.0, log(2), log(4)))
    assert parse_phrase("one | two") == Choice((Word("one"), Word("two")))
    for text in ("/1/ one | two", "/0/ one | /1/ two"):
        with pytest.raises(DataError, match="all of its options"):
            parse_phrase(text)


def test_a_grammar_file() -> None:
    rules = parse_rules(
        """#JSGF V1.0;
        grammar sizes;
        // sizes of tube
        <half> = half {1/2} [inch];
        /* both
           kinds */
        public <size> = <half> | three eighths {3/8};
        """,
        "sizes.jsgf",
    )
    assert set(rules) == {"half", "size"}
    assert listed("<size> tube", rules) == {"half tube", "half inch tube", "three eighths tube"}
    assert words(Rule("size"), rules) == {"half", "inch", "three", "eighths"}
    assert [rule.name for rule in rule_names(rules["size"])] == ["half"]


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("<a> = b; <a> = c;", "written twice"),
        ("<a> = x <b>; <b> = [y] <a>;", "reaches itself"),
        ("<a> = <a>;", "reaches itself"),
        ("a = b;", "not a rule"),
        ("<a> = (b;", "not closed"),
    ],
)
def test_faults_of_a_grammar_file(text: str, problem: str) -> None:
    with pytest.raises(DataError, match=problem):
        parse_rules(text, "bad.jsgf")


# ------------------------------------------------------------------------------------ the parses


def test_every_reading_comes_back() -> None:
    rules = parse_rules("<n> = twenty {20} | one {1} | twenty one {21};", "n.jsgf")
    parser = Parser(rules)
    both = Choice((Rule("n"), Sequence((Rule("n"), Rule("n")))))
    assert parser.readings(both, ("twenty", "one")) == [("21",), ("20", "1")]
    assert parser.readings(both, ("twenty", "two")) == []
    assert parser.readings(both, ()) == []


def test_evaluators_make_one_value_and_may_reject() -> None:
    rules = parse_rules("<n> = one {1} | two {2}; <sum> = <n> and <n>;", "n.jsgf")
    parser = Parser(
        rules,
        {
            "n": lambda values: int(values[0]),
            "sum": lambda values: REJECT if values[0] == values[1] else sum(values),
        },
    )
    assert parser.readings(Rule("sum"), ("one", "and", "two")) == [(3,)]
    assert parser.readings(Rule("sum"), ("two", "and", "two")) == []


def test_terminals_read_one_token_and_are_not_heard() -> None:
    rules = parse_rules("<n> = one {1} | <typed>;", "n.jsgf")
    parser = Parser(rules, terminals={"typed": lambda token: token if token.isdigit() else None})
    assert parser.readings(Rule("n"), ("17",)) == [("17",)]
    assert parser.readings(Rule("n"), ("x",)) == []
    assert words(Rule("n"), rules) == {"one"}
    assert reachable(Rule("n"), rules, partial=True) == {"n"}


def test_a_rule_that_nobody_wrote_is_noticed_when_the_parser_is_made() -> None:
    with pytest.raises(KeyError, match="nowhere"):
        Parser({"a": Rule("nowhere")})


def test_slots_are_bound_by_name() -> None:
    rules = parse_rules("<angle> = ninety {90} | sixty {60};", "n.jsgf")
    phrase = bind(
        parse_phrase("bend a <first> then [a] <second>"),
        dict.fromkeys(("first", "second"), "angle"),
    )
    found = Parser(rules).readings(phrase, ("bend", "a", "ninety", "then", "sixty"))
    assert found == [(Bound("first", "90"), Bound("second", "60"))]


def test_one_content_has_one_key() -> None:
    rules = parse_rules("<a> = one | two; <b> = three;", "n.jsgf")
    same = parse_rules("<b> = four; <a> = one | two;", "n.jsgf")
    other = parse_rules("<a> = one | three;", "n.jsgf")
    assert Grammar(Rule("a"), rules).key == Grammar(Rule("a"), same).key
    assert Grammar(Rule("a"), rules).key != Grammar(Rule("a"), other).key


# -------------------------------------------------------------------- any grammar: list and parse

LETTERS = "abc"


def _larger(smaller: st.SearchStrategy[Expansion]) -> st.SearchStrategy[Expansion]:
    several = st.lists(smaller, min_size=1, max_size=3).map(tuple)
    return st.one_of(
        several.map(Sequence), several.map(Choice), smaller.map(Maybe), st.just(Rule("letter"))
    )


expansions = st.recursive(st.sampled_from(LETTERS).map(Word), _larger, max_leaves=6)
RULES: dict[str, Expansion] = {"letter": Choice((Word("a"), Sequence((Word("b"), Word("c")))))}


@settings(deadline=None)
@given(expansions)
def test_what_is_listed_is_parsed_and_nothing_else(expansion: Expansion) -> None:
    parser = Parser(RULES)
    said = set(sentences(expansion, RULES))
    for length in range(4):
        for tokens in product(LETTERS, repeat=length):
            assert bool(parser.readings(expansion, tokens)) == (tokens in said)


def test_a_repeat_is_parsed_beyond_what_is_listed() -> None:
    parser = Parser({})
    assert parser.readings(Repeat(Word("done", "1"), 1), ("done",) * 5) == [("1",) * 5]
    assert parser.readings(Repeat(Word("done"), 1), ()) == []
    assert parser.readings(Repeat(Word("done"), 0), ()) == [()]
