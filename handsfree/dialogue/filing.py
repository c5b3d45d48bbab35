"""What is typed for the record: fields of the certificate, photos, signatures, overrides."""

from __future__ import annotations

from handsfree.dialogue.meanings import File
from handsfree.dialogue.turn import Turn
from handsfree.record import entries as record
from handsfree.record.paper import (
    OVERRIDE,
    PHOTO,
    SIGNATURE,
    filed,
    override_of,
    paper,
    signature_of,
)


def filing(text: str) -> File | None:
    """Return what a line files into the record, or None where it files nothing."""
    found = filed(text)
    return None if found is None else File(*found)


def file(turn: Turn, meant: File) -> None:
    """Write it into the record, as it was typed, and say so."""
    if meant.name == PHOTO:
        turn.write(record.PhotoNamed, file=meant.text, of=_in_hand(turn))
        turn.say("filed_photo", text=meant.text)
    elif meant.name == SIGNATURE:
        name, role = signature_of(meant.text)
        turn.write(record.Signed, name=name, role=role)
        turn.say("filed_signature", name=name)
    elif meant.name == OVERRIDE:
        _override(turn, meant.text)
    else:
        _field(turn, meant)


def _in_hand(turn: Turn) -> str:
    """Return what a photo is of: the procedure and step in hand, or the last joint."""
    if turn.job.place:
        frame = turn.job.place[-1]
        return f"{frame.procedure} {frame.step}, joint {turn.job.joints + 1}"
    return f"joint {turn.job.joints}" if turn.job.joints else ""


def _override(turn: Turn, text: str) -> None:
    """Write an override: it needs a reason, and a name that answers for it."""
    found = override_of(text)
    name = "" if found is None else found[2] or turn.job.worker
    if found is None or not name:
        turn.say("override_needs")
        return
    turn.write(record.Overridden, what=found[0], reason=found[1], name=name)
    turn.say("filed_override", name=name)


def _field(turn: Turn, meant: File) -> None:
    """Write a field; a second text for it is a new line that corrects the first."""
    blank = paper().field[meant.name]
    before = turn.job.fields.get(meant.name)
    if before is not None and not blank.many:
        turn.write(
            record.Corrected,
            corrects=before,
            name=meant.name,
            value=meant.text,
            words=turn.words,
        )
        turn.say("field_corrected", title=blank.title, text=meant.text)
        return
    turn.write(record.FieldWritten, name=meant.name, text=meant.text, words=turn.words)
    turn.say("filed", title=blank.title, text=meant.text)
