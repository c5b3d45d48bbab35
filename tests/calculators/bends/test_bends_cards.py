"""The cards of the bends: refused as the trade refuses, with words for everything that can come."""

from __future__ import annotations

import random
from datetime import UTC, datetime
from fractions import Fraction
from typing import get_args, get_type_hints

import pytest

from handsfree.calculators.bends.advice import Change
from handsfree.calculators.card import Card, Option, Parameter, Slot
from handsfree.calculators.catalogue import CARDS
from handsfree.dialogue.engine import advance
from handsfree.dialogue.events import Typed
from handsfree.dialogue.state import State
from handsfree.dialogue.telling import tell
from handsfree.errors import Refusal
from handsfree.library import Library
from handsfree.quantity import Kind, Reading

BENDS = tuple(card for card in CARDS if ".bends." in card.function.__module__)
RANDOM_REQUESTS = 400


def test_the_cards_of_the_design_are_there() -> None:
    wanted = {
        "bend_mark", "piece_marks", "cut_length", "u_bend", "offset", "smallest_offset",
        "saddle_three", "saddle_four", "rolling_offset", "tube_left", "kick", "springback",
        "parallel_bends", "bend_room", "straight_for_flare", "bend_terms", "dimension_to_centre",
        "test_bend", "bend_fault", "rebase_marks", "bend_budget",
    }  # fmt: skip
    assert {card.id for card in BENDS} == wanted


def _reading(parameter: Parameter, chance: random.Random) -> Reading:
    low, high = float(parameter.low or 0), float(parameter.high or 100)
    value = min(chance.uniform(low, high), low + chance.choice([1, 4, 20, 100]) * chance.random())
    step = 1 if parameter.kind == "count" else 16
    return Reading(Fraction(round(max(value, low) * step), step), parameter.unit, parameter.kind)


def _request(card: Card, chance: random.Random) -> dict[str, Slot]:
    slots: dict[str, Slot] = {}
    count = chance.randint(2, 6)
    for parameter in card.parameters:
        if parameter.optional and chance.random() < 0.5:
            continue
        if isinstance(parameter, Option):
            slots[parameter.name] = chance.choice(parameter.options)
        elif parameter.many:
            some = count - 1 if parameter.name == "angle" else count
            slots[parameter.name] = tuple(_reading(parameter, chance) for _ in range(some))
        else:
            slots[parameter.name] = _reading(parameter, chance)
    return slots


def _refused(card: Card, slots: dict[str, Slot]) -> Refusal | None:
    try:
        card.run(slots)
    except Refusal as refusal:
        return refusal
    return None


@pytest.mark.parametrize("card", BENDS, ids=lambda card: card.id)
def test_whatever_is_asked_there_are_words_for_what_comes(card: Card, known: Library) -> None:
    chance = random.Random(card.id)  # noqa: S311 - the same requests each time
    words = known.words[card.id]
    answered = 0
    for _ in range(RANDOM_REQUESTS):
        slots = _request(card, chance)
        if card.implausible(slots):
            continue
        refused = _refused(card, slots)
        if refused is not None:
            assert refused.key in words.refusals
            continue
        outcome = card.run(slots)
        answered += 1
        assert outcome.sentence in words.sentences
        assert outcome.sentence in words.why or "formula" in words.why
        assert set(outcome.warnings) <= set(words.warnings)
        signed = {"index_error"}  # an index may sit before or after where it should
        for name, answer in outcome.answers.items():
            readings = answer if isinstance(answer, tuple) else (answer,)
            assert name in signed or all(float(one.value) > -1e-9 for one in readings)
    assert answered


Z = "leg=10+18+12 angle=90 dimension_to=centre radius=15/16"
REFUSED = [
    # card, slots, key; each is impossible or unheard of by C-01 to C-20
    ("bend_mark", "angle=180 distance=12 dimension_to=centre radius=15/16", "no_apex"),
    ("bend_mark", "angle=90 distance=12 dimension_to=centre size=3/8 radius=3-1/8", "odd_radius"),
    ("bend_mark", "angle=90 distance=12 dimension_to=centre size=1/2 radius=15/16", "odd_radius"),
    ("bend_mark", "angle=90 distance=2 dimension_to=centre radius=15/16 grip=1-1/4", "too_short"),
    ("cut_length", "leg=10+12 angle=180 dimension_to=centre radius=15/16", "no_apex"),
    ("cut_length", "leg=10+12 angle=90+90 dimension_to=centre radius=1", "angles_and_legs"),
    ("cut_length", "leg=10+1+10 angle=90 dimension_to=centre radius=15/16", "too_close"),
    ("piece_marks", "leg=10+3+10 angle=90 dimension_to=centre radius=1 between=1-1/4", "too_close"),
    ("piece_marks", "leg=10+9+10 angle=90 dimension_to=centre radius=1 bend=3", "no_such_bend"),
    ("u_bend", "leg=12 centres=1-1/2 radius=15/16", "too_narrow"),
    ("u_bend", "about=fit centres=2 size=1/2 radius=1-1/2", "too_narrow"),
    ("offset", "height=1 angle=45 radius=1-1/2 between=1", "too_close"),
    ("smallest_offset", "about=angle height=1/4 radius=1-1/2 between=1", "no_angle"),
    ("saddle_three", "rise=2 centre_angle=45 centre=4 radius=15/16", "overall_short"),
    ("kick", "kick=3 along=2 by=tube", "kick_long"),
    ("springback", "pulled=90 got=80", "too_springy"),
    ("springback", "pulled=90 got=91", "sprang_forward"),
    ("rebase_marks", "bend=3 measured=10 far_leg=moves " + Z, "no_such_bend"),
    ("bend_budget", "which=4 " + Z, "no_such_leg"),
    ("test_bend", "offcut=20 first=10 second=10", "no_gain"),
    ("test_bend", "offcut=20 first=12 second=12 size=3/8", "odd_radius"),
]  # fmt: skip


def _number(text: str) -> Fraction:
    whole, _, part = text.rpartition("-")
    return Fraction(part) + (Fraction(whole) if whole else 0)


def _slots(card: Card, text: str) -> dict[str, Slot]:
    found: dict[str, Slot] = {}
    for pair in text.split():
        name, _, value = pair.partition("=")
        parameter = card.by_name[name]
        if isinstance(parameter, Option):
            found[name] = value
            continue
        many = tuple(
            Reading(_number(one), parameter.unit, parameter.kind) for one in value.split("+")
        )
        found[name] = many if parameter.many else many[0]
    return found


@pytest.mark.parametrize(("card_id", "text", "key"), REFUSED)
def test_what_cannot_be_is_refused(card_id: str, text: str, key: str) -> None:
    card = next(card for card in BENDS if card.id == card_id)
    with pytest.raises(Refusal) as refused:
        card.run(_slots(card, text))
    assert refused.value.key == key


def test_left_end_and_r_index_do_not_go_together() -> None:
    card = next(card for card in BENDS if card.id == "bend_mark")
    assert card.guard is not None
    with pytest.raises(Refusal):
        card.guard({"measured_from": "left", "index": "R"})


def test_a_shortage_is_told_by_how_much() -> None:
    # C-15: R 1-1/2, grip 1-1/4, leg 2-1/2: short by 1/4
    card = next(card for card in BENDS if card.id == "bend_mark")
    with pytest.raises(Refusal) as refused:
        card.run(
            _slots(card, "angle=90 distance=2-1/2 dimension_to=centre radius=1-1/2 grip=1-1/4")
        )
    short = refused.value.values["short"]
    assert isinstance(short, Reading)
    assert float(short.value) == pytest.approx(0.25)


SAID = [
    # what is said (common practice, no source), and the calculator that it is for
    ("where do I mark a ninety at twelve", "bend_mark"),
    ("need a ninety twelve inches off this end, three eighths", "bend_mark"),
    ("mark for a left-hand ninety at fourteen and a quarter", "bend_mark"),
    ("half-inch tube, bend centre at ten, where's my line", "bend_mark"),
    ("same but off the right", "bend_mark"),
    ("I've only got the other end to measure from", "bend_mark"),
    ("mark for R index, nine and a half", "bend_mark"),
    ("long end's in the hook, want nine and a half on the short leg", "bend_mark"),
    ("ten, ninety, eighteen, ninety, twelve", "piece_marks"),
    ("give me all the marks for a Z, ten up, eighteen across, twelve up", "piece_marks"),
    ("where's the second mark", "piece_marks"),
    ("what's my overall cut", "piece_marks"),
    ("how long do I cut it", "cut_length"),
    ("what length for two legs of fifteen and a ninety", "cut_length"),
    ("developed length", "cut_length"),
    ("total tube, three bends", "cut_length"),
    ("one-eighty, legs twelve", "u_bend"),
    ("hairpin, centres at three", "u_bend"),
    ("U with ten-inch legs, what length", "u_bend"),
    ("can I do a two-inch centre U in half inch", "u_bend"),
    ("six-inch offset at thirty", "offset"),
    ("how far apart are my marks for a four inch jog with forty-fives", "offset"),
    ("what's my shrink", "offset"),
    ("offset around a beam, three and a half", "offset"),
    ("travel for eight at twenty-two and a half", "offset"),
    ("how small an offset can I do at forty-five", "smallest_offset"),
    ("too tight for forty-five, what angle then", "smallest_offset"),
    ("will a two-inch offset go", "smallest_offset"),
    ("steepest I can run it", "smallest_offset"),
    ("saddle over a two-inch pipe", "saddle_three"),
    ("three bend saddle, forty-five centre, clear two inches", "saddle_three"),
    ("jump this pipe", "saddle_three"),
    ("marks for a saddle at thirty from the end", "saddle_three"),
    ("box saddle, six wide, three high", "saddle_four"),
    ("go over a duct, flat on top", "saddle_four"),
    ("four-bend, thirties", "saddle_four"),
    ("up six and over eight with forty-fives", "rolling_offset"),
    ("rolling offset, rise six roll eight", "rolling_offset"),
    ("what's my true offset", "rolling_offset"),
    ("what angle do I roll it", "rolling_offset"),
    ("how much is left on the roll", "tube_left"),
    ("fifty foot coil, used eighteen six and twelve nine", "tube_left"),
    ("will it still reach if I cut the flare off", "tube_left"),
    ("spare length", "tube_left"),
    ("kick it over an inch and a half in twelve", "kick"),
    ("what angle for a one inch kick at ten", "kick"),
    ("kick the stub two inches", "kick"),
    ("I pulled to ninety and it's eighty-seven", "springback"),
    ("how far past", "springback"),
    ("set for ninety, springs back three", "springback"),
    ("over-bend for forty-five", "springback"),
    ("keep the liquid line two inches off the suction round the corner", "parallel_bends"),
    ("second pipe, same bends, three inch spacing", "parallel_bends"),
    ("stagger for forty-fives", "parallel_bends"),
    ("can I bend that close", "bend_room"),
    ("leg's only an inch and a half", "bend_room"),
    ("two bends three inches apart okay?", "bend_room"),
    ("what's the shortest leg I can do", "bend_room"),
    ("how much straight do I need to get the flare bar on", "straight_for_flare"),
    ("can I flare after this bend", "straight_for_flare"),
    ("room for the nut", "straight_for_flare"),
    ("setback for sixty on the half inch", "bend_terms"),
    ("how much tube in a forty-five", "bend_terms"),
    ("gain on a ninety", "bend_terms"),
    ("it's twelve to the back of the bend", "dimension_to_centre"),
    ("outside to outside is thirty", "dimension_to_centre"),
    ("tight to the wall, what's centre", "dimension_to_centre"),
    ("leg's three sixteenths long", "bend_fault"),
    ("it's an inch out", "bend_fault"),
    ("came out short by four tenths", "bend_fault"),
    ("second leg's wrong, first is fine", "bend_fault"),
    ("first leg came out ten and an eighth, where's the next mark", "rebase_marks"),
    ("how close will leg two come out", "bend_budget"),
]


@pytest.mark.parametrize(("text", "card_id"), SAID)
def test_what_is_said_finds_its_calculator(text: str, card_id: str, known: Library) -> None:
    state = State()
    at = datetime(2026, 3, 2, 9, tzinfo=UTC)
    after, effects = advance(state, Typed(text, at), known)
    told = tell(text, state, after, effects, known)
    assert told.what == card_id
    assert told.outcome in ("did", "asked", "refused")


def test_no_phrase_implies_one_of_several_values(known: Library) -> None:
    # a phrase implies a single reading, which a parameter of many readings cannot take
    for card in BENDS:
        for phrase in known.words[card.id].phrases:
            for name in phrase.presets:
                parameter = card.by_name[name]
                assert isinstance(parameter, Option) or not parameter.many


ANSWERED = [
    # with dimensions to centre, 3/8 OD, radius 15/16, worked by hand; the last thing said
    ("ten, ninety, eighteen, ninety, twelve", "10 in."),
    ("give me all the marks for a Z, ten up, eighteen across, twelve up", "10 in."),
    ("ten up eighteen across twelve down", "10 in."),
    ("where do I mark a ninety at twelve", "11-1/16 in."),
    ("one-eighty, legs twelve", "25-1/8 in."),
    ("six-inch offset at thirty", "12 in."),
    ("travel for eight at twenty-two and a half", "20-7/8 in."),
    ("up six and over eight with forty-fives", "53°."),
    ("I pulled to ninety and it's eighty-seven", "93°."),
    ("set for ninety, springs back three", "93°."),
    ("keep the liquid line two inches off the suction round the corner", "2 in."),
    ("leg's three sixteenths long", "Off by 3/16 in."),
]


@pytest.mark.parametrize(("text", "last"), ANSWERED)
def test_the_number_comes_last(text: str, last: str, known: Library) -> None:
    at = datetime(2026, 3, 2, 9, tzinfo=UTC)
    state = State()
    for fact in ("dimensions to centre", "the tube is 3/8", "3/8 bender radius is 15/16"):
        state, _ = advance(state, Typed(fact, at), known)
    after, effects = advance(state, Typed(text, at), known)
    told = tell(text, state, after, effects, known)
    assert told.outcome == "did"
    assert told.say[-1] == last


@pytest.mark.parametrize("kind", get_args(get_type_hints(Change)["kind"]))
def test_what_is_in_the_way_and_what_helps_is_told(kind: str, known: Library) -> None:
    for card in ("piece_marks", "rebase_marks"):
        words = known.words[card].refusals[f"in_the_way_{kind}"]
        assert words.count(". ") == 1, "why, and what instead"


def test_a_tube_that_clears_the_beam_already_needs_no_offset(known: Library) -> None:
    inch = {"obstruction": 1, "clearance": 1, "size": Fraction(3, 8), "from_wall": 4, "radius": 1}
    by_name = known.cards["offset"].by_name
    slots: dict[str, Slot] = {"height_by": "beam", "angle": Reading(45, "degree", Kind.ANGLE)}
    for name, value in inch.items():
        parameter = by_name[name]
        assert isinstance(parameter, Parameter)
        slots[name] = Reading(Fraction(value), "inch", parameter.kind)
    with pytest.raises(Refusal) as refusal:
        known.cards["offset"].run(slots)
    assert refusal.value.key == "no_offset"
