"""`ask` and `replay`: one question, or a scripted conversation."""

from __future__ import annotations

import argparse

from handsfree.cli.forms import ANSWERED, NOT_ANSWERED, Commands, command
from handsfree.cli.packs import chosen_aloud, take_pack
from handsfree.errors import DeviceError


def add(commands: Commands) -> None:
    """Add `ask` and `replay`."""
    ask = command(
        commands, _ask, "ask", "Ask one question.", 'handsfree ask "what is 19 mil in inches"'
    )
    ask.add_argument("question", nargs="+")
    ask.add_argument("--json", action="store_true", help="print the answer as JSON")
    ask.add_argument("--script", metavar="FILE", help="play this script first: bender, facts")
    ask.add_argument("--drawing", metavar="FILE", help="draw the piece asked about as SVG, here")

    take_pack(ask)

    replay = command(
        commands,
        _replay,
        "replay",
        "Play a scripted conversation.",
        "handsfree replay session.txt --json",
    )
    replay.add_argument("file")
    replay.add_argument("--json", action="store_true", help="print an object for each heard line")
    take_pack(replay)


def _ask(options: argparse.Namespace) -> int:
    import json

    from handsfree.dialogue.effects import Show, Write
    from handsfree.edge.drawings import save
    from handsfree.edge.replay import Player, played
    from handsfree.reference import properties

    known = chosen_aloud(options)
    if not options.json:
        properties.while_loading(lambda: print(known.says["one_moment"], flush=True))
    player = Player(known)
    if options.script:
        for _ in played(player, _script(options.script)):
            pass
    told, effects = player.hear(" ".join(options.question))
    if options.json:
        print(json.dumps(told.plain(), ensure_ascii=False))
    else:
        for sentence in told.say or [known.says["not_understood"]]:
            print(sentence)
        for effect in effects:
            if isinstance(effect, Show) and effect.view.drawing:
                print(effect.view.drawing, end="")
    if options.drawing and told.outcome == "did":
        entries = [effect.entry for effect in effects if isinstance(effect, Write)]
        save(entries, known, options.drawing)
    return ANSWERED if told.outcome == "did" else NOT_ANSWERED


def _script(file: str) -> str:
    """Return the text of a script; raises `DeviceError` where it cannot be read."""
    from pathlib import Path

    try:
        return Path(file).read_text(encoding="utf-8")
    except OSError as error:
        raise DeviceError(
            f"The script {file} cannot be read: {error.strerror}. Check the name."
        ) from error
    except UnicodeDecodeError as error:
        raise DeviceError(
            f"The script {file} is not text. Give lines as in scripts/pictures/bench.txt."
        ) from error


def _replay(options: argparse.Namespace) -> int:
    import json

    from handsfree.dialogue.effects import Say
    from handsfree.edge.replay import Player, played

    for line, told, effects in played(Player(chosen_aloud(options)), _script(options.file)):
        if told is not None and options.json:
            print(json.dumps(told.plain(), ensure_ascii=False))
        elif told is not None:
            print(f"> {line.text}")
        said = [effect.text for effect in effects if isinstance(effect, Say)]
        if not options.json:
            for sentence in said:
                print(f"< {sentence}")
    return ANSWERED
