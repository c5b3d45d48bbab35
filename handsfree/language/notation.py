"""Reading the notation of phrases and grammar files into expansions; faults carry a caret."""

from __future__ import annotations

import re

from handsfree.errors import DataError
from handsfree.language.expansions import (
    Choice,
    Expansion,
    Maybe,
    Repeat,
    Rule,
    Sequence,
    Word,
    reachable,
)

_LEXEME = re.compile(
    r"""\s*(?:
        (?P<rule><[a-z][a-z0-9_]*>) | (?P<tag>\{[^{}]*\}) | (?P<quoted>"[^"]+")
      | /(?P<weight>\d+(?:\.\d+)?)/
      | (?P<word>[^\s\[\]()<>{}|*+;="/]+) | (?P<mark>[\[\]()|*+])
    )""",
    re.VERBOSE,
)


class _Reader:
    """Reads one expansion from text; errors carry the text with a caret under the fault."""

    def __init__(self, text: str, file: str, place: str) -> None:
        self.text, self.file, self.place = text, file, place
        self.lexemes: list[tuple[str, str, int]] = []
        position = 0
        end = len(text.rstrip())
        while position < end:
            found = _LEXEME.match(text, position)
            if found is None:
                blank = len(text[position:]) - len(text[position:].lstrip())
                raise self.fault("this character has no meaning here", position + blank)
            kind = found.lastgroup or "mark"
            self.lexemes.append((kind, found.group(kind), found.start(kind)))
            position = found.end()
        self.index = 0

    def fault(self, problem: str, position: int) -> DataError:
        caret = f"    {self.text}\n    {' ' * position}^"
        return DataError(self.file, self.place, problem, excerpt=caret)

    def peek(self) -> tuple[str, str, int]:
        if self.index < len(self.lexemes):
            return self.lexemes[self.index]
        return ("end", "", len(self.text))

    def take(self) -> tuple[str, str, int]:
        found = self.peek()
        self.index += 1
        return found

    def expect(self, mark: str, opened: int) -> None:
        _, text, position = self.take()
        if text != mark:
            raise self.fault(f"a bracket opened at column {opened + 1} is not closed", position)

    def choice(self) -> Expansion:
        """Choice = ['/' weight '/'] sequence ('|' ['/' weight '/'] sequence)*."""
        start = self.peek()[2]
        weights, options = [self.weight()], [self.sequence()]
        while self.peek()[1] == "|":
            self.take()
            weights.append(self.weight())
            options.append(self.sequence())
        told = tuple(weight for weight in weights if weight)
        if told and len(told) < len(options):
            raise self.fault("a choice gives all of its options a weight above 0, or none", start)
        return options[0] if len(options) == 1 else Choice(tuple(options), told)

    def weight(self) -> float:
        """Return the weight that stands here, 0 where none does."""
        return float(self.take()[1]) if self.peek()[0] == "weight" else 0.0

    def sequence(self) -> Expansion:
        """Sequence = (item ['*' | '+'])+."""
        parts: list[Expansion] = []
        while self.peek()[0] != "end" and self.peek()[1] not in (")", "]", "|"):
            part = self.item()
            if self.peek()[1] in ("*", "+"):
                part = Repeat(part, 0 if self.take()[1] == "*" else 1)
            parts.append(part)
        if not parts:
            raise self.fault("something is missing here", self.peek()[2])
        return parts[0] if len(parts) == 1 else Sequence(tuple(parts))

    def item(self) -> Expansion:
        """Item = word [tag] | '<' rule '>' | '(' choice ')' | '[' choice ']'."""
        kind, text, position = self.take()
        if kind in ("word", "quoted"):
            tag = self.take()[1][1:-1].strip() if self.peek()[0] == "tag" else None
            return Word(text.strip('"').lower(), tag)
        if kind == "rule":
            return Rule(text[1:-1])
        if text == "(":
            inner = self.choice()
            self.expect(")", position)
            return inner
        if text == "[":
            inner = self.choice()
            self.expect("]", position)
            return Maybe(inner)
        raise self.fault(f"'{text}' cannot stand here", position)


def parse_phrase(text: str, file: str = "phrase", place: str = "") -> Expansion:
    """Return the expansion that `text` writes; raises `DataError` with a caret."""
    reader = _Reader(text, file, place)
    try:
        result = reader.choice()
    except RecursionError as error:
        raise DataError(file, place, "its brackets stand too deep in one another") from error
    kind, _, position = reader.peek()
    if kind != "end":
        raise reader.fault("this bracket was never opened", position)
    return result


_COMMENT = re.compile(r"//[^\n]*|/\*.*?\*/", re.DOTALL)
_RULE = re.compile(r"(?:public\s+)?<(?P<name>[a-z][a-z0-9_]*)>\s*=(?P<body>.*)", re.DOTALL)


def parse_rules(text: str, file: str) -> dict[str, Expansion]:
    """Return the rules of a JSGF grammar file (`<name> = expansion;`), checked for calls in a ring.

    Raises `DataError` for a bad rule, a rule named twice or a rule that reaches itself.
    """
    body = _COMMENT.sub(" ", text)
    rules: dict[str, Expansion] = {}
    for statement in body.split(";"):
        line = " ".join(statement.split())
        if not line or line.startswith(("#JSGF", "grammar ")):
            continue
        found = _RULE.fullmatch(line)
        if found is None:
            raise DataError(file, line[:40], "this is not a rule", "Write <name> = words;")
        name = found["name"]
        if name in rules:
            raise DataError(file, f"<{name}>", "this rule is written twice")
        rules[name] = parse_phrase(found["body"].strip(), file, f"<{name}>")
    for name, expansion in rules.items():
        if name in reachable(expansion, rules, partial=True):
            raise DataError(file, f"<{name}>", "this rule reaches itself")
    return rules
