"""`listen`: a recording as the microphone."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from handsfree.cli.forms import ANSWERED, Commands, command
from handsfree.cli.packs import chosen, take_pack

if TYPE_CHECKING:
    from handsfree.app import Conversation
    from handsfree.edge.ear.ears import Ears
    from handsfree.edge.voice.speaker import Speaker


def add(commands: Commands) -> None:
    """Add `listen`."""
    listen = command(
        commands,
        _listen,
        "listen",
        "Take a recording as the microphone.",
        "handsfree listen talk.wav",
    )
    listen.add_argument("file", help="a WAV or FLAC file, or - for 16-bit PCM at 16 kHz")
    listen.add_argument("--job", help="keep the record in this job (default: none is kept)")
    listen.add_argument("--real-time", action="store_true", help="play at the pace of speech")
    listen.add_argument("--save-voice", metavar="DIR", help="write each sentence as a WAV file")
    listen.add_argument("--json", action="store_true", help="print what was heard as JSON lines")
    traced(listen)
    take_pack(listen)


def traced(command: argparse.ArgumentParser) -> None:
    """Give a command that hears `--trace`."""
    command.add_argument(
        "--trace", action="store_true", help="tell what each stage of an utterance took"
    )


def trace(conversation: Conversation, ears: Ears) -> None:
    """Tell the times of each utterance's stages on standard error."""
    conversation.trace = ears.trace = lambda line: print(f"trace: {line}", file=sys.stderr)


def voice(folder: str | None) -> Speaker:
    """Return the voice: into files where a folder was named, aloud otherwise."""
    from handsfree.edge.voice import speakers

    return speakers.into_files(folder) if folder else speakers.aloud()


def _listen(options: argparse.Namespace) -> int:
    import json
    from contextlib import ExitStack
    from pathlib import Path

    from handsfree.app import Conversation, listen_to_recording, now
    from handsfree.cli.copying import copy_beside
    from handsfree.dialogue.telling import tell
    from handsfree.edge import jobs
    from handsfree.edge.ear.ears import open_ears
    from handsfree.edge.ear.sources import FileSource, PcmSource
    from handsfree.edge.keeping import NoRecord
    from handsfree.edge.terminal import Terminal

    known = chosen(options)
    blocks = (
        PcmSource(sys.stdin.buffer)
        if options.file == "-"
        else FileSource(Path(options.file), real_time=options.real_time)
    )
    with ExitStack() as stack:
        screen = Terminal(sys.stderr if options.json else None)
        if options.job:
            journal = stack.enter_context(jobs.open_or_create(options.job, now()))
            conversation = Conversation(known, journal, screen)
            copy_beside(stack, conversation, journal)
        else:
            conversation = Conversation(known, NoRecord(), screen)
        if options.save_voice:
            conversation.speaker = voice(options.save_voice)
            stack.callback(conversation.speaker.close)
        if isinstance(blocks, FileSource) and blocks.fault is not None:
            screen.warn(blocks.fault)
        conversation.tell_warnings()
        ears = open_ears()
        if options.trace:
            trace(conversation, ears)
        utterances = 0
        for heard, before, effects in listen_to_recording(conversation, blocks, ears):
            utterances += 1
            if options.json and heard.alternatives:
                text = conversation.state.moment.heard if effects else heard.alternatives[0].text
                told = tell(text, before, conversation.state, effects, known).plain()
                print(json.dumps(told, ensure_ascii=False), flush=True)
        if not utterances:
            screen.warn("I heard no speech in that. Speak nearer to the microphone.")
    return ANSWERED
