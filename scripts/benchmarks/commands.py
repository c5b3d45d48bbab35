"""Sixty commands by four synthetic voices: acted on rightly, asked, let pass, and acted on wrongly.

The voices are synthetic (two of espeak-ng, two of flite), so this shows how everything fits
together; what people are heard like is measured by `scripts/bench hearing`.
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
VOICES = {
    "espeak american": ["espeak-ng", "-v", "en-us", "-s", "150", "-w", "{file}", "{text}"],
    "espeak british": ["espeak-ng", "-v", "en-gb", "-s", "150", "-w", "{file}", "{text}"],
    "flite slt": ["flite", "-voice", "slt", "-t", "{text}", "-o", "{file}"],
    "flite rms": ["flite", "-voice", "rms", "-t", "{text}", "-o", "{file}"],
}
STANDING = [
    "the tube is three eighths",
    "bender radius is fifteen sixteenths",
    "dimensions are to the centre",
    "flares are for high pressure",
    "flaring tool is the wing nut bar",
]
"""What the job knows, as on the second request of the day."""
COMMANDS = """
what's nineteen mil in inches
three and five eighths in metric
twelve point seven millimetres in inches
forty five millimetres in inches
nine sixteenths in millimetres
what's seven eighths in metric
one and a quarter inches in millimetres
six hundred psi in bar
thirty eight bar in pounds
four point one five megs
one hundred and fifty psi in bar
ten bar in psi
five hundred microns in pascals
what's one millibar in microns
fifteen hundred microns in pascals
twenty nine inches good enough
what's forty newton metres in foot pounds
twenty five foot pounds in newton metres
what's eighteen newton metres in inch pounds
seven and five sixteenths plus three and seven eighths
half of eleven and three quarters
nine and a half minus two and three eighths
forty and three sixteenths divided by three
which is bigger nine sixteenths or five eighths
half of fourteen
where do I mark a ninety at twelve
mark for a ninety at fourteen and a quarter
mark for a forty five at twenty
where do I mark a ninety at nine and three eighths
ninety at sixteen and a half
cut length fifteen ninety fifteen
cut length ten ninety eighteen ninety twelve
what should the flare measure
how far do I stick it out
flare gauge says thirteen millimetres
torque on a half inch flare
torque on a three eighths flare
is forty newton metres okay on three eighths
what's the torque
standard band for half inch
the tube is half inch
the tube is five eighths
dimensions are to the outside
dimensions are to the centre
flaring tool is the clutch
vacuum limit is five hundred microns
maker says forty two newton metres
start a flare
start a cut
make up the joint
inspect the flare
where am I
repeat
help
pause
stop
number again
start ten minutes
how long left
can I test with oxygen
""".strip().splitlines()


def _render(voice: str, text: str, file: Path) -> None:
    # a synthesiser reads "psi" as the Greek letter; flite knows metres by their American spelling
    said = text.replace("psi", "p s i")
    if voice.startswith("flite"):
        said = said.replace("metre", "meter")
    command = [part.format(file=file, text=said) for part in VOICES[voice]]
    subprocess.run(command, check=True, capture_output=True, timeout=20)


def _measure(voices: list[str]) -> tuple[Counter[str], list[str]]:
    from handsfree.dialogue.engine import advance  # noqa: PLC0415 - after the command line is read
    from handsfree.dialogue.events import Typed  # noqa: PLC0415
    from handsfree.dialogue.state import State  # noqa: PLC0415
    from handsfree.dialogue.telling import tell  # noqa: PLC0415
    from handsfree.dialogue.vocabulary import vocabulary  # noqa: PLC0415
    from handsfree.edge.ear.ears import open_ears  # noqa: PLC0415
    from handsfree.edge.ear.endpoint import utterances  # noqa: PLC0415
    from handsfree.edge.ear.sources import FileSource  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    known, ears, state = library(), open_ears(), State()
    for line in STANDING:
        state, _ = advance(state, Typed(line, AT), known)
    ears.listen_for(vocabulary(state, known))
    counts: Counter[str] = Counter()
    notes: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "said.wav"
        for voice in voices:
            for text in COMMANDS:
                after, effects = advance(state, Typed(text, AT), known)
                right = tell(text, state, after, effects, known)
                _render(voice, text, file)
                heard = [ears.hear(samples, AT) for samples in utterances(FileSource(file))]
                outcome, said = "let pass", ""
                if len(heard) == 1:
                    after, effects = advance(state, heard[0], known)
                    said = after.moment.heard if effects else ""
                    got = tell(said, state, after, effects, known)
                    if (got.what, got.answers, got.slots) == (
                        right.what,
                        right.answers,
                        right.slots,
                    ):
                        outcome = "right"
                    elif effects:
                        outcome = "asked" if got.what == "heard" else "wrong"
                counts[outcome] += 1
                if outcome != "right":
                    notes.append(f"{outcome}: {voice}: {text} -> {said}")
    return counts, notes


def main(arguments: list[str]) -> int:
    """Print the table, or JSON."""
    parser = argparse.ArgumentParser(prog="scripts/bench commands", description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--notes", action="store_true", help="print each that was not right")
    options = parser.parse_args(arguments)
    voices = [name for name, command in VOICES.items() if shutil.which(command[0])]
    if len(voices) < len(VOICES):
        print("skipped: espeak-ng and flite are not both installed", file=sys.stderr)
        return 0
    counts, notes = _measure(voices)
    total = sum(counts.values())
    if options.json:
        print(json.dumps({"total": total, **counts}))
    else:
        for outcome in ("right", "asked", "let pass", "wrong"):
            print(f"{outcome:9} {counts[outcome]:4d} of {total}  {counts[outcome] / total:6.1%}")
    if options.notes:
        print("\n".join(notes))
    return 0
