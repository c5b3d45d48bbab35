"""When what was heard is acted on, asked about, or let pass."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from handsfree.dialogue.effects import Say, Write
from handsfree.dialogue.engine import advance
from handsfree.dialogue.events import Alternative, Heard
from handsfree.dialogue.state import State
from handsfree.library import Library
from handsfree.record import entries as record

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)


def heard(
    *sentences: tuple[str, float],
    fit: float = 0.0,
    duration: float = 0.0,
    noise: float | None = None,
    second: str | None = None,
) -> Heard:
    alternatives = tuple(Alternative(text, score, fit, 15) for text, score in sentences)
    return Heard(alternatives, AT, duration, noise, second)


def outcome(event: Heard, known: Library) -> tuple[str, ...]:
    _, effects = advance(State(), event, known)
    return tuple(
        effect.entry.kind if isinstance(effect, Write) else effect.text
        for effect in effects
        if isinstance(effect, Write | Say)
    )


FIFTEEN, FIFTY = "fifteen bar in psi", "fifty bar in psi"


def test_a_clear_number_is_acted_on(known: Library) -> None:
    assert outcome(heard((FIFTEEN, -10), ("fifty four bar in psi", -13)), known)[0] == "calculated"
    assert outcome(heard((FIFTEEN, -10), (FIFTY, -14)), known)[0] == "calculated"


def test_words_that_are_heard_for_each_other_need_a_larger_lead(known: Library) -> None:
    assert outcome(heard((FIFTEEN, -10), (FIFTY, -13)), known)[0] == "asked"


def test_a_close_rival_is_asked_about(known: Library) -> None:
    said = outcome(heard((FIFTEEN, -10), (FIFTY, -11)), known)
    assert said[0] == "asked"
    assert FIFTEEN in " ".join(said)
    assert FIFTY in " ".join(said)


def test_in_noise_a_larger_lead_is_wanted(known: Library) -> None:
    pair = ((FIFTEEN, -10.0), (FIFTY, -14.0))
    assert outcome(heard(*pair, noise=30.0), known)[0] == "calculated"
    assert outcome(heard(*pair, noise=10.0), known)[0] == "asked"


def test_two_ways_of_saying_one_thing_do_not_compete(known: Library) -> None:
    event = heard(("what's 15 bar in psi", -10), ("fifteen bar in psi", -10.1), (FIFTY, -14))
    assert outcome(event, known)[0] == "calculated"


def test_talk_that_is_not_for_us_is_let_pass(known: Library) -> None:
    assert outcome(heard((FIFTEEN, -10), fit=-1.6), known) == ()
    assert outcome(heard((FIFTEEN, -10), duration=2.0), known)[0] == "calculated"
    assert outcome(heard((FIFTEEN, -10), duration=4.0), known) == ()
    assert outcome(heard(), known) == ()


def test_a_sentence_too_short_for_its_time_leaves_no_room_to_a_longer_one(known: Library) -> None:
    short = Alternative("two sixty", -10, 0.0, 8)
    longer = Alternative("the arc of two sixty", -13, 0.0, 14)
    assert outcome(Heard((longer,), AT, 2.7), known) != ()
    assert outcome(Heard((short, longer), AT, 2.7), known) == ()


def test_a_sentence_that_means_nothing_and_leads_is_let_pass(known: Library) -> None:
    assert outcome(heard(("fifteen in the bar", -5), (FIFTY, -15)), known) == ()


def test_a_sentence_that_means_nothing_is_a_rival(known: Library) -> None:
    assert outcome(heard(("fifteen in the bar", -7), (FIFTEEN, -10)), known) == ()


def test_what_could_only_be_refused_is_doubted(known: Library) -> None:
    event = heard(("fifteen psi in psi", -10), (FIFTEEN, -10.5))
    assert outcome(event, known)[0] == "calculated"


def test_the_second_ear_must_agree(known: Library) -> None:
    assert outcome(heard((FIFTEEN, -10), second=FIFTEEN), known)[0] == "calculated"
    assert outcome(heard((FIFTEEN, -10), second=FIFTY), known)[0] == "asked"


@pytest.mark.parametrize(
    ("answer", "bar"), [("fifteen", 15), ("the first one", 15), ("second", 50), (FIFTY, 50)]
)
def test_the_question_between_two_is_answered(known: Library, answer: str, bar: int) -> None:
    state, _ = advance(State(), heard((FIFTEEN, -10), (FIFTY, -10)), known)
    _, effects = advance(state, heard((answer, 0)), known)
    told = [e.entry for e in effects if isinstance(e, Write)]
    (calculated,) = [entry for entry in told if isinstance(entry, record.Calculated)]
    assert calculated.inputs["value"].value == bar  # type: ignore[union-attr]


def test_a_sentence_that_is_merely_like_another_is_no_likeness_when_heard(known: Library) -> None:
    """Typed, "wron" is asked about; a "one" that somebody says is not "wrong"."""
    assert outcome(heard(("one", -1)), known) == ()
    assert outcome(heard(("zero", -1)), known) == ()


def test_a_yes_or_no_that_nobody_asked_for_is_let_pass(known: Library) -> None:
    for word in ("no", "yes", "okay"):
        assert outcome(heard((word, -1)), known) == ()
    assert outcome(heard(("done", -1)), known) == (
        "Nothing is open.",
        "Say: start a flare, or ask a number.",
    )


def test_a_whole_request_is_no_piece_of_a_choice(known: Library) -> None:
    first, second = "two sixteen bar in psi", "two sixty bar in psi"
    state, _ = advance(State(), heard((first, -10.0), (second, -10.1)), known)
    assert state.job.question is not None
    state, _ = advance(state, heard(("sixteen bar in psi", -1.0)), known)
    assert state.job.calculated is not None
    assert state.job.calculated.inputs["value"].value == 16  # type: ignore[union-attr]
