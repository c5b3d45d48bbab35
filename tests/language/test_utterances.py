"""What people say in place of a number: each row is read, asked about or refused as it must be.

The expectations were written by hand, from the phrasings of the trade; none comes from our code.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import pytest

from handsfree.errors import WrongKind
from handsfree.language.grammar import Rule
from handsfree.language.numbers import number_parser, readings
from handsfree.language.tokens import tokenise
from handsfree.language.trouble import diagnosis, trouble
from handsfree.language.units import Ambiguous, band_readings, settle
from handsfree.quantity import Kind, Reading

FILE = Path(__file__).parents[1] / "published" / "utterances.tsv"
LEAST_ROWS, LEAST_ASKED_OR_REFUSED = 400, 80
KINDS = {
    "size": Kind.LENGTH,
    "decimal_inch": Kind.LENGTH,
    "integer": Kind.COUNT,
    "number": Kind.COUNT,
}
BAND_TROUBLES = {"downhill": "runs downhill", "no_unit": "without a unit"}


class Row(NamedTuple):
    rule: str
    unit: str
    utterance: str
    outcome: str
    expected: str
    source: str

    @property
    def kind(self) -> Kind:
        name = self.rule.removesuffix("_band").replace("_", " ")
        return KINDS.get(self.rule) or Kind(name)

    @property
    def bare_unit(self) -> str | None:
        return None if self.unit == "-" else self.unit

    @property
    def tokens(self) -> tuple[str, ...]:
        return tokenise(self.utterance)


def _rows() -> list[Row]:
    lines = [
        line
        for line in FILE.read_text(encoding="utf-8").splitlines()
        if line and not line.startswith("#")
    ]
    assert lines[0].split("\t") == list(Row._fields)
    return [Row(*line.split("\t")) for line in lines[1:]]


ROWS = _rows()
READS = [row for row in ROWS if row.outcome == "reads"]
ASKS = [row for row in ROWS if row.outcome == "asks"]
REFUSES = [row for row in ROWS if row.outcome == "refuses"]


def _ids(rows: list[Row]) -> list[str]:
    return [f"{row.rule}, {row.unit}: {row.utterance}" for row in rows]


def _number(text: str) -> Fraction:
    """Read `14-1/4`, `3/8`, `0.63` or `-40`."""
    whole, dash, part = text.rpartition("-")
    return Fraction(whole) + Fraction(part) if dash and whole else Fraction(text)


def _same(reading: Reading, expected: str, *, system: bool = False) -> bool:
    """Return whether it is that reading, exactly; with `system`, also told in inches or metric."""
    number, unit = expected.split(" ")
    metric = ("metre", "celsius", "gram", "bar", "litre")
    same_system = any(m in reading.unit for m in metric) == any(m in unit for m in metric)
    return reading.to(unit).value == _number(number) and (same_system or not system)


def test_the_file_is_as_long_as_it_must_be() -> None:
    assert len(ROWS) >= LEAST_ROWS
    assert len(ASKS) + len(REFUSES) >= LEAST_ASKED_OR_REFUSED
    assert len(READS) + len(ASKS) + len(REFUSES) == len(ROWS)
    assert len({row[:3] for row in ROWS}) == len(ROWS)
    assert all(row.source for row in ROWS)


@pytest.mark.parametrize("row", READS, ids=_ids(READS))
def test_reads(row: Row) -> None:
    if row.rule.endswith("_band"):
        ((band,),) = number_parser().readings(Rule(row.rule), row.tokens)
        ends = band_readings(band, row.kind, row.bare_unit)
        for reading, expected in zip(ends, row.expected.split(" to "), strict=True):
            assert _same(reading, expected)
        return
    assert trouble(row.tokens, row.rule) is None
    settled = settle(readings(row.tokens, row.rule), row.kind, row.bare_unit)
    assert isinstance(settled, Reading), settled
    assert _same(settled, row.expected), settled


@pytest.mark.parametrize("row", ASKS, ids=_ids(ASKS))
def test_asks_between_two(row: Row) -> None:
    settled = settle(readings(row.tokens, row.rule), row.kind, row.bare_unit)
    assert isinstance(settled, Ambiguous), settled
    one, other = row.expected.split(" / ")
    first, second = settled.choices
    straight = _same(first, one, system=True) and _same(second, other, system=True)
    crossed = _same(first, other, system=True) and _same(second, one, system=True)
    assert straight or crossed, settled


@pytest.mark.parametrize("row", REFUSES, ids=_ids(REFUSES))
def test_refuses_in_one_sentence_that_names_the_trouble(row: Row) -> None:
    if row.rule.endswith("_band") and row.expected in BAND_TROUBLES:
        ((band,),) = number_parser().readings(Rule(row.rule), row.tokens)
        with pytest.raises(WrongKind, match=BAND_TROUBLES[row.expected]):
            band_readings(band, row.kind, row.bare_unit)
        return
    found = diagnosis(row.tokens, row.rule)
    assert found is not None
    assert found.name == row.expected
    sentence = trouble(row.tokens, row.rule)
    assert sentence is not None
    assert sentence[-1] in ".?"
    assert ". " not in sentence
    assert "{" not in sentence
    spoken = readings(row.tokens, row.rule)
    if spoken:
        with pytest.raises(WrongKind):
            settle(spoken, row.kind, row.bare_unit)
