"""Evidence to decision: act on what was heard, ask between two, or let it pass.

The ears give sentences with scores; this groups them by what they mean, so that two ways of
saying one thing never compete. Thresholds live in `data/hearing.toml`, each with how it was
chosen. The louder the room, the larger the lead that a number needs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, log

from handsfree.dialogue.events import Alternative, Heard
from handsfree.dialogue.meanings import Danger, Meaning, Nothing, Stated
from handsfree.language.confusables import heard_for_each_other
from handsfree.library import Hearing


@dataclass(frozen=True, slots=True)
class Act:
    """Take this sentence as said, and as understood."""

    text: str
    meaning: Meaning


@dataclass(frozen=True, slots=True)
class Choose:
    """Ask which of two sentences was said."""

    first: str
    second: str


@dataclass(frozen=True, slots=True)
class Again:
    """Ask for the words of a challenge once more: they are never taken by a guess."""

    text: str


@dataclass(frozen=True, slots=True)
class Ignore:
    """Let it pass."""


@dataclass
class Group:
    """What some of the sentences heard mean alike: the likeliest of them, and how likely all are.

    `score` is in nats, less the doubt; `fit` is the best of them, in nats a phoneme.
    """

    meaning: Meaning
    text: str
    score: float
    fit: float


def believable(alternative: Alternative, heard: Heard, limits: Hearing) -> bool:
    """Return whether an alternative is long enough for the time it took to say it.

    Who spells a name to somebody else takes longer than the few sounds that a sentence of ours
    finds in it.
    """
    spoken = heard.duration - limits.pause
    return not alternative.phonemes or spoken <= limits.slowest * alternative.phonemes


def confidence(heard: Heard) -> float | None:
    """Return how well the best sentence fits its sound, 0 to 1 a phoneme; None without one."""
    return min(1.0, exp(heard.alternatives[0].fit)) if heard.alternatives else None


def grouped(
    heard: Heard,
    meaning_of: Callable[[str], Meaning],
    doubt_of: Callable[[Meaning], float],
    limits: Hearing,
) -> list[Group]:
    """Return what an utterance may mean, likeliest first.

    `meaning_of` says what a sentence would mean now; scores of sentences with one meaning are
    summed as likelihoods, less the doubt (nats) that `doubt_of` has of that meaning: people ask for
    what can be answered more often than for what can't. What is too short to be believed means
    nothing, and stays a rival: a longer sentence is not meant for being longer.
    """
    groups: list[Group] = []
    for alternative in heard.alternatives:
        believed = believable(alternative, heard, limits)
        meaning = meaning_of(alternative.text) if believed else Nothing()
        same = next((group for group in groups if group.meaning == meaning), None)
        if same is None:
            score = alternative.score - doubt_of(meaning)
            groups.append(Group(meaning, alternative.text, score, alternative.fit))
        else:
            same.fit = max(same.fit, alternative.fit)
            same.score = _sum(same.score, alternative.score - doubt_of(meaning))
    return sorted(groups, key=lambda group: -group.score)


def weigh(
    heard: Heard, groups: list[Group], meaning_of: Callable[[str], Meaning], limits: Hearing
) -> Act | Again | Choose | Ignore:
    """Return what to do with an utterance, of which `groups` are the meanings, likeliest first.

    Sentences that mean nothing are rivals like any other: where they lead, or come so near that
    nothing else does, nothing is done. `meaning_of` says what the second ear's sentence would mean.
    """
    if not groups or isinstance(groups[0].meaning, Nothing) or groups[0].fit < limits.fit:
        return Ignore()
    if isinstance(groups[0].meaning, Danger):
        return Act(groups[0].text, groups[0].meaning)  # a false stop costs one "carry on"
    if heard.second is not None and meaning_of(heard.second) != groups[0].meaning:
        return _second_opinion(heard.second, meaning_of, groups)
    noisy = heard.signal_to_noise is not None and heard.signal_to_noise < limits.quiet
    noisy = noisy or isinstance(groups[0].meaning, Stated)  # a state that keeps safe needs most
    needed = limits.margin_noisy if noisy else limits.margin_quiet
    alike = max(needed, limits.margin_alike)
    rivals = [
        group
        for group in groups[1:]
        if groups[0].score - group.score
        < (alike if heard_for_each_other(groups[0].text, group.text) else needed)
    ]
    alarm = next((one for one in rivals if isinstance(one.meaning, Danger)), None)
    if alarm is not None and alarm.fit >= limits.fit:
        return Act(alarm.text, alarm.meaning)
    if not rivals:
        return Act(groups[0].text, groups[0].meaning)
    meant = next(
        (
            rival
            for rival in rivals
            if not isinstance(rival.meaning, Nothing) and rival.fit >= limits.fit
        ),
        None,
    )
    if isinstance(groups[0].meaning, Stated) or (
        meant is not None and isinstance(meant.meaning, Stated)
    ):
        return Again(groups[0].text)
    return Ignore() if meant is None else Choose(groups[0].text, meant.text)


def _second_opinion(
    second: str, meaning_of: Callable[[str], Meaning], groups: list[Group]
) -> Act | Again | Choose | Ignore:
    """Ask where the two ears differ, unless the second one made nothing of it."""
    other = meaning_of(second)
    if isinstance(other, Stated) or isinstance(groups[0].meaning, Stated):
        return Again(groups[0].text)
    if isinstance(other, Nothing):
        return Act(groups[0].text, groups[0].meaning)
    return Choose(groups[0].text, second)


def _sum(first: float, second: float) -> float:
    high, low = max(first, second), min(first, second)
    return high + log(1 + exp(low - high))
