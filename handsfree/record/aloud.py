"""The record in a few sentences, to be read aloud in under a minute."""

from __future__ import annotations

from handsfree.record.certificate import Certificate

MOST_WORDS = 130
"""Read aloud at the 150 words a minute of plain speech, under a minute. Common practice."""
MOST_NAMED = 3


def aloud(shown: Certificate) -> str:
    """Return the summary of a record: plain sentences, the gravest first where room is short."""
    sentences = [f"Job {_short(shown.job)}."]
    if shown.faults:
        sentences.append(f"Warning: {_counted(len(shown.faults), 'fault')} in the record.")
    if shown.differing:
        sentences.append(
            f"Warning: {_counted(shown.differing, 'computed value')} "
            f"{_does(shown.differing, 'differs', 'differ')} from what the inputs give."
        )
    if shown.deviations:
        count = len(shown.deviations) + shown.more_deviations
        sentences.append(f"{_counted(count, 'deviation')}.")
    if shown.missing:
        named = ", ".join(one.split(" ", 1)[1] for one in shown.missing[:MOST_NAMED])
        more = len(shown.missing) - MOST_NAMED
        sentences.append(f"Missing: {named}" + (f", and {more} more." if more > 0 else "."))
    if shown.signatures:
        sentences.append(f"Signed by {' and '.join(_short(one[0]) for one in shown.signatures)}.")
    else:
        sentences.append("Not signed.")
    told = [
        f"{part.title}, {cell.title.lower()}: {_short(cell.text)}."
        for part in shown.parts
        for cell in part.cells
        if cell.aloud and not cell.missing
    ]
    told.append(f"{_counted(shown.total_joints, 'joint')}.")
    if shown.computed and not shown.differing:
        told.append(f"{_counted(shown.computed, 'computed value')} worked out again, all agree.")
    for sentence in told:
        if sum(len(one.split()) for one in (*sentences, sentence)) <= MOST_WORDS:
            sentences.append(sentence)
    return " ".join(sentences)


def _short(text: str) -> str:
    """Return the first words of a text."""
    words = text.split()
    most = 10
    return " ".join(words[:most]) + (" …" if len(words) > most else "")


def _counted(count: int, thing: str) -> str:
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def _does(count: int, one: str, many: str) -> str:
    return one if count == 1 else many
