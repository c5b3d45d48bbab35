"""Numbers to words, as the trade says them.

Fractions stay fractions ("eleven and one sixteenth inches"), decimals are read figure by figure
with their leading zero ("zero point six three"), and units are always said in full.
"""

from __future__ import annotations

from fractions import Fraction

from handsfree.quantity import Number, Reading, number_text, units

_ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen"
).split()
_TENS = "_ _ twenty thirty forty fifty sixty seventy eighty ninety".split()
_SCALES = ((1_000_000, "million"), (1_000, "thousand"), (100, "hundred"))
_PARTS = {
    2: ("half", "halves"),
    3: ("third", "thirds"),
    4: ("quarter", "quarters"),
    8: ("eighth", "eighths"),
    16: ("sixteenth", "sixteenths"),
    32: ("thirty-second", "thirty-seconds"),
    64: ("sixty-fourth", "sixty-fourths"),
}
_HUNDRED, _TWENTY = 100, 20
_TEENS = range(13, 20)


def say_integer(value: int) -> str:
    """Return a whole number in words: `five hundred and thirty-eight`."""
    if value < 0:
        return "minus " + say_integer(-value)
    for scale, name in _SCALES:
        if value >= scale:
            head, rest = divmod(value, scale)
            words = f"{say_integer(head)} {name}"
            if not rest:
                return words
            joint = " and " if rest < _HUNDRED else " "
            return words + joint + say_integer(rest)
    if value < _TWENTY:
        return _ONES[value]
    tens, rest = divmod(value, 10)
    return _TENS[tens] + (f"-{_ONES[rest]}" if rest else "")


def say_fraction(value: Fraction) -> str:
    """Return a fraction below one in words: `three eighths`, `a half`."""
    one, many = _PARTS[value.denominator]
    if value.numerator == 1:
        return f"a {one}" if value.denominator in (2, 4) else f"one {one}"
    return f"{say_integer(value.numerator)} {many}"


def say_number(value: Number) -> str:
    """Return a number in words: a tape fraction as such, anything else as a decimal."""
    exact = Fraction(value)
    if exact < 0:
        return "minus " + say_number(-value)
    whole, part = divmod(exact, 1)
    if part == 0:
        return say_integer(int(whole))
    if isinstance(value, Fraction) and part.denominator in _PARTS:
        words = say_fraction(part)
        return f"{say_integer(int(whole))} and {words}" if whole else words
    return say_decimal(value)


def say_decimal(value: Number) -> str:
    """Return a number as a decimal in words, figure by figure: `zero point six three`."""
    text = number_text(value)
    whole, _, figures = text.partition(".")
    words = say_integer(int(whole)) if whole not in ("-0",) else "minus zero"
    if figures:
        words += " point " + " ".join(_ONES[int(figure)] for figure in figures)
    return words


def say_reading(reading: Reading) -> str:
    """Return a reading in words with its unit: `three eighths of an inch`, `ninety degrees`."""
    unit = units()[reading.unit]
    one, many = unit.say
    exact = Fraction(reading.value)
    tape = reading.unit in ("inch", "foot")
    decimal = not tape and exact.denominator not in (1, 2)
    number = say_decimal(reading.value) if decimal else say_number(reading.value)
    if not many:
        return number
    if tape and isinstance(reading.value, Fraction) and 0 < exact < 1 and exact.denominator in _PARTS:
        if exact == Fraction(1, 2):
            return f"half an {one}" if one == "inch" else f"half a {one}"
        article = "an" if one[0] in "aeiou" else "a"
        return f"{number} of {article} {one}"
    return f"{number} {one if exact == 1 else many}"


def say_figures(value: int) -> str:
    """Return a whole number figure by figure: `five zero`."""
    return " ".join(_ONES[int(figure)] for figure in str(abs(value)))


def read_back(reading: Reading) -> str:
    """Return a reading in another form than it was said in, so that a slip is noticed.

    A teen or a round ten also figure by figure ("fifty, five zero"), a tape fraction also as a
    decimal ("fourteen and a quarter, fourteen point two five").
    """
    exact = Fraction(reading.value)
    said = say_reading(reading)
    if exact.denominator == 1:
        confusable = exact in _TEENS or (_TWENTY < exact < _HUNDRED and exact % 10 == 0)
        return f"{said}, {say_figures(int(exact))}" if confusable else said
    if reading.unit == "inch":
        return f"{said}, {say_decimal(float(exact))}"
    return said
