"""The phrase grammar: one notation for what is matched, listed, and listened for.

Notation: the expansions of the JSpeech Grammar Format (JSGF, W3C Note of 5 June 2000):

    word            a word as spoken               "two words"   a quoted word
    [optional]      may be left out                (a | b)       one of
    <rule>          another rule                   x* x+         repeated
    word {tag}      a tag: what the word means     // and /* */  comments (grammar files)

A phrase of a calculator names its parameters (`<distance>`); each such name is bound to the
grammar rule of the parameter's kind (`<length>`) when the library is joined.

Parsing gives **every** reading. Each expansion yields a tuple of values: a plain word yields
nothing, a tagged word its tag, a rule what its evaluator makes of its parts (or, without an
evaluator, the parts themselves), a bound rule a `Bound(name, value)`. Rules must not call
themselves, so that every grammar is finite-state and can be listened for. A rule that is named
but not in the rules is read from typing only and cannot be heard.

The tree is in `expansions`, the reading of the notation in `notation`, the parser in `parsing`.
"""

from handsfree.language.expansions import (
    Bound,
    Choice,
    Expansion,
    Grammar,
    Maybe,
    Repeat,
    Rule,
    Sequence,
    Word,
    bind,
    reachable,
    rule_names,
    sentences,
    words,
)
from handsfree.language.notation import parse_phrase, parse_rules
from handsfree.language.parsing import (
    REJECT,
    Evaluator,
    Parse,
    Parser,
    Spanned,
    Terminal,
    Values,
)

__all__ = [
    "REJECT",
    "Bound",
    "Choice",
    "Evaluator",
    "Expansion",
    "Grammar",
    "Maybe",
    "Parse",
    "Parser",
    "Repeat",
    "Rule",
    "Sequence",
    "Spanned",
    "Terminal",
    "Values",
    "Word",
    "bind",
    "parse_phrase",
    "parse_rules",
    "reachable",
    "rule_names",
    "sentences",
    "words",
]
