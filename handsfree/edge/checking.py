"""What works on this machine, part by part, and what to do about what does not."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from handsfree.errors import DataError, DeviceError, JournalError

if TYPE_CHECKING:
    from handsfree.library import Library

PARTS = 8
"""How many parts are looked at."""


@dataclass(frozen=True, slots=True)
class Check:
    """One part: whether it works, what there is to say, and whether nothing goes without it."""

    part: str
    works: bool
    text: str
    needed: bool = False


def checks(
    read: Callable[[], Library], *, begun: Callable[[str], None], data_only: bool = False
) -> Iterator[Check]:
    """Yield each part's state, on the library that `read` gives; `begun` is told each part."""
    begun("data")
    try:
        known = read()
    except DataError as error:
        yield Check("data", works=False, text=str(error), needed=True)
        return
    yield from _data(known)
    if data_only:
        return
    looks: tuple[tuple[str, Callable[[], str]], ...] = (
        ("built-in ear", lambda: _built_in_ear(known)),
        ("second ear", _second_ear),
        ("microphone", _microphone),
        ("voice", _voice),
        ("loudspeaker", _loudspeaker),
        ("jobs folder", _jobs_folder),
        ("second copy", _second_copy),
    )
    for part, look in looks:
        begun(part)
        yield _try(part, look, needed=part == "jobs folder")


def _try(part: str, look: Callable[[], str], *, needed: bool) -> Check:
    try:
        return Check(part, works=True, text=look(), needed=needed)
    except (DeviceError, JournalError) as error:
        return Check(part, works=False, text=str(error), needed=needed)


def _data(known: Library) -> Iterator[Check]:
    for fault in known.broken:
        yield Check("procedure", works=False, text=str(fault), needed=True)
    for fault in known.left_out:
        yield Check("company pack", works=False, text=str(fault), needed=True)
    if known.firm is not None:
        own = [name for name in known.procedures if known.firm_of(name)]
        text = f"{known.firm.signed}; procedures of its own: {len(own)}"
        yield Check("company pack", works=True, text=text, needed=True)
    text = (
        f"{len(known.cards)} calculators, {len(known.procedures)} procedures, "
        f"{len(known.phrases)} phrases"
    )
    yield Check("data", works=True, text=text, needed=True)


def _built_in_ear(known: Library) -> str:
    from handsfree.dialogue.state import State  # noqa: PLC0415 - read when looked at
    from handsfree.dialogue.vocabulary import vocabulary  # noqa: PLC0415
    from handsfree.edge.ear.builtin import BuiltInEar  # noqa: PLC0415
    from handsfree.edge.ear.lexicon import missing  # noqa: PLC0415
    from handsfree.language.grammar import words  # noqa: PLC0415

    BuiltInEar()
    grammar = vocabulary(State(), known)
    said = words(grammar.start, grammar.rules)
    guessed = missing(said)
    text = f"{len(said)} words"
    if guessed:
        text += f"; sounds only guessed: {', '.join(guessed)} (add them to pronunciations.tsv)"
    return text


def _second_ear() -> str:
    from handsfree.edge.ear.ears import MODELS  # noqa: PLC0415 - as above
    from handsfree.edge.ear.vosk_ear import VoskEar, find_model  # noqa: PLC0415

    folder = find_model(MODELS)
    if folder is None:
        raise DeviceError("No Vosk model. Fetch it with scripts/fetch_model; it works without.")
    VoskEar(folder)
    return str(folder)


def _microphone() -> str:
    from handsfree.edge.ear.microphone import Microphone  # noqa: PLC0415 - as above

    with Microphone():
        return "answers"


def _voice() -> str:
    from handsfree.edge.voice.render import Renderer  # noqa: PLC0415 - as above

    Renderer().close()
    return "speaks"


def _loudspeaker() -> str:
    from handsfree.edge.voice.speakers import player_here  # noqa: PLC0415 - as above

    player_here()
    return "answers"


def _jobs_folder() -> str:
    from handsfree.edge.jobs import folder  # noqa: PLC0415 - as above

    place = folder()
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise JournalError(f"{place} cannot be made: {error.strerror}.") from error
    if not os.access(place, os.W_OK):
        raise JournalError(f"{place} cannot be written. Set HANDSFREE_JOBS to another folder.")
    return str(place)


def _second_copy() -> str:
    from handsfree.edge.jobs import folder  # noqa: PLC0415 - as above
    from handsfree.edge.second_copy import SETTING, chosen_folder  # noqa: PLC0415

    place, jobs = chosen_folder(), folder()
    if place is None:
        return f"none; {SETTING} set to a folder has each stage's end copied there"
    if not (place.is_dir() and os.access(place, os.W_OK)):
        raise JournalError(f"{place} is not there or cannot be written. Put the card in.")
    if place.resolve() == jobs.resolve():
        raise JournalError(f"{place} is the folder of the jobs itself. Choose another one.")
    beside = jobs.exists() and place.stat().st_dev == jobs.stat().st_dev
    return f"{place}" + (" (on the same disk as the jobs: choose a card)" if beside else "")
