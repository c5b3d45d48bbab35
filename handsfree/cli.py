"""The commands. Imports are late: `--help` must answer at once."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from handsfree import __version__
from handsfree.errors import DataError, DeviceError, HandsfreeError, JournalError

if TYPE_CHECKING:
    from handsfree.app import Conversation
    from handsfree.edge.journal import Journal
    from handsfree.edge.voice.speaker import Speaker

ANSWERED, WRONG_USE, NOT_ANSWERED, DEVICE_FAILED = 0, 2, 3, 4


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="handsfree",
        description="Says the next step, the caution and the number for refrigeration tube work, "
        "and keeps the record. Everything stays on this machine.",
    )
    parser.add_argument("--version", action="version", version=f"handsfree {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="command")

    def add(name: str, text: str, example: str) -> argparse.ArgumentParser:
        form = argparse.RawDescriptionHelpFormatter
        return commands.add_parser(
            name, help=text, description=text, epilog=f"example:\n  {example}", formatter_class=form
        )

    talk = add("talk", "Speak and type; the main job.", "handsfree talk --job roof-unit")
    chat = add("chat", "Type only.", "handsfree chat --job roof-unit")
    for command in (talk, chat):
        command.add_argument("--job", help="the job's name (default: the last one, or today)")
        command.add_argument("--new", action="store_true", help="begin a new job, always")
    talk.add_argument("--save-voice", metavar="DIR", help="write each sentence as a WAV file here")
    talk.add_argument("--mute", action="store_true", help="show sentences, do not say them")

    ask = add("ask", "Ask one question.", 'handsfree ask "what is 19 mil in inches"')
    ask.add_argument("question", nargs="+")
    ask.add_argument("--json", action="store_true", help="print the answer as JSON")
    ask.add_argument("--script", metavar="FILE", help="play this script first: bender, facts")
    ask.add_argument("--drawing", metavar="FILE", help="draw the piece asked about as SVG, here")

    listen = add("listen", "Take a recording as the microphone.", "handsfree listen talk.wav")
    listen.add_argument("file", help="a WAV or FLAC file, or - for 16-bit PCM at 16 kHz")
    listen.add_argument("--job", help="keep the record in this job (default: none is kept)")
    listen.add_argument("--real-time", action="store_true", help="play at the pace of speech")
    listen.add_argument("--save-voice", metavar="DIR", help="write each sentence as a WAV file")
    listen.add_argument("--json", action="store_true", help="print what was heard as JSON lines")

    replay = add("replay", "Play a scripted conversation.", "handsfree replay session.txt --json")
    replay.add_argument("file")
    replay.add_argument("--json", action="store_true", help="print an object for each heard line")

    check = add("check", "Tell what works on this machine.", "handsfree check")
    check.add_argument("--data", action="store_true", help="only the data files")

    add("jobs", "List the jobs.", "handsfree jobs")
    record = add("record", "Print the record of a job.", "handsfree record roof-unit")
    record.add_argument("job")
    record.add_argument("--verify", action="store_true", help="check the chain of the record")
    record.add_argument("--drawing", metavar="FILE", help="draw its last piece as SVG, here")
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code: 0, 2 wrong use, 3 not answered, 4 a device failed."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal may not have every letter
            stream.reconfigure(errors="replace")
    parser = _parser()
    options = parser.parse_args(arguments)
    if options.command is None:
        parser.print_help()
        return ANSWERED
    run = {
        "talk": _talk,
        "chat": _chat,
        "ask": _ask,
        "listen": _listen,
        "replay": _replay,
        "check": _check,
        "jobs": _jobs,
        "record": _record,
    }[options.command]
    try:
        code = run(options)
        sys.stdout.flush()
    except (DeviceError, JournalError) as error:
        print(error, file=sys.stderr)
        return DEVICE_FAILED
    except DataError as error:
        print(error, file=sys.stderr)
        return DEVICE_FAILED
    except HandsfreeError as error:
        print(error, file=sys.stderr)
        return WRONG_USE
    except BrokenPipeError:
        _let_go_of_output()
        return ANSWERED
    except OSError as error:
        _let_go_of_output()
        print(f"What I say cannot be written out: {error.strerror}.", file=sys.stderr)
        return DEVICE_FAILED
    except KeyboardInterrupt:
        print("Stopped. The record is kept.", file=sys.stderr)
        return ANSWERED
    return code


def _let_go_of_output() -> None:
    """Keep Python from trying once more, at its end, to write what nobody takes."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


# ---------------------------------------------------------------------------- talking


def _journal(options: argparse.Namespace) -> Journal:
    """Return the journal of the job that is meant, opened or begun."""
    from handsfree.app import now  # noqa: PLC0415
    from handsfree.edge import jobs  # noqa: PLC0415

    name: str | None = options.job
    if name is None and not options.new:
        latest = jobs.latest()
        name = latest.name if latest is not None else None
    named = name or f"{now():%Y-%m-%d %H.%M}"
    return jobs.begun(named, now()) if options.new else jobs.open_or_create(named, now())


def _conversation(journal: Journal) -> Conversation:
    from handsfree.app import Conversation  # noqa: PLC0415
    from handsfree.edge.terminal import Terminal  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    screen = Terminal()
    known = library()
    for fault in known.broken:
        screen.warn(f"Left out: {fault}")
    return Conversation(known, journal, screen)


def _typed_lines() -> Iterable[str]:
    """Yield what is typed, line by line, with a prompt where a person types.

    Bytes that are no text become marks of replacement: they are not understood, and end nothing.
    """
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")
    prompt = "> " if sys.stdin.isatty() else ""
    while True:
        if prompt:
            print(prompt, end="", flush=True)
        line = sys.stdin.readline()
        if not line:
            return
        yield line


def _chat(options: argparse.Namespace) -> int:
    from handsfree.app import Loop  # noqa: PLC0415

    with _journal(options) as journal:
        conversation = _conversation(journal)
        conversation.open()
        loop = Loop(conversation)
        loop.warm_up()
        loop.listen_to_typing(_typed_lines())
        loop.run()
    return ANSWERED


def _talk(options: argparse.Namespace) -> int:
    """Speak and type, as far as this machine can: each part that is missing is told once."""
    from contextlib import ExitStack  # noqa: PLC0415

    from handsfree.app import Loop  # noqa: PLC0415
    from handsfree.edge.ear.sources import Microphone  # noqa: PLC0415

    with ExitStack() as stack:
        conversation = _conversation(stack.enter_context(_journal(options)))
        screen = conversation.screen
        if not options.mute:
            try:
                speaker = _speaker(options.save_voice)
            except DeviceError as error:
                screen.warn(f"{error} I print what I say.")
            else:
                stack.callback(speaker.close)
                conversation.speaker = speaker
        loop = Loop(conversation)
        conversation.open()
        loop.warm_up()
        try:
            with Microphone():
                pass
        except DeviceError as error:
            screen.warn(str(error))
            if sys.stdin is None or sys.stdin.closed or not (sys.stdin.isatty() or _has_input()):
                screen.warn("Nothing to type on either. Use: handsfree listen FILE.wav")
                return DEVICE_FAILED
        else:
            from handsfree.edge.ear.ears import open_ears  # noqa: PLC0415

            loop.listen_to(Microphone(), open_ears())
        loop.listen_to_typing(_typed_lines())
        loop.run()
    return ANSWERED


def _speaker(folder: str | None) -> Speaker:
    """Return the voice: into files where a folder was named, aloud otherwise."""
    from handsfree.edge.voice import speakers  # noqa: PLC0415

    return speakers.into_files(folder) if folder else speakers.aloud()


def _has_input() -> bool:
    """Return whether something is piped in: no terminal, but not the empty device either."""
    import stat  # noqa: PLC0415

    mode = os.fstat(sys.stdin.fileno()).st_mode
    return stat.S_ISFIFO(mode) or stat.S_ISREG(mode) or stat.S_ISSOCK(mode)


def _ask(options: argparse.Namespace) -> int:
    import json  # noqa: PLC0415

    from handsfree.dialogue.effects import Show, Write  # noqa: PLC0415
    from handsfree.edge.drawings import save  # noqa: PLC0415
    from handsfree.edge.replay import Player, played  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415
    from handsfree.reference import properties  # noqa: PLC0415

    known = library()
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
    from pathlib import Path  # noqa: PLC0415

    try:
        return Path(file).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise DeviceError(f"The script {file} cannot be read: {error}.") from error


def _replay(options: argparse.Namespace) -> int:
    import json  # noqa: PLC0415

    from handsfree.dialogue.effects import Say  # noqa: PLC0415
    from handsfree.edge.replay import Player, played  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    for line, told, effects in played(Player(library()), _script(options.file)):
        if told is not None and options.json:
            print(json.dumps(told.plain(), ensure_ascii=False))
        elif told is not None:
            print(f"> {line.text}")
        said = [effect.text for effect in effects if isinstance(effect, Say)]
        if not options.json:
            for sentence in said:
                print(f"< {sentence}")
    return ANSWERED


def _listen(options: argparse.Namespace) -> int:
    import json  # noqa: PLC0415
    from contextlib import ExitStack  # noqa: PLC0415
    from pathlib import Path  # noqa: PLC0415

    from handsfree.app import Conversation, NoRecord, listen_to_recording, now  # noqa: PLC0415
    from handsfree.dialogue.telling import tell  # noqa: PLC0415
    from handsfree.edge import jobs  # noqa: PLC0415
    from handsfree.edge.ear.ears import open_ears  # noqa: PLC0415
    from handsfree.edge.ear.sources import FileSource, PcmSource  # noqa: PLC0415
    from handsfree.edge.terminal import Terminal  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    known = library()
    blocks = (
        PcmSource(sys.stdin.buffer)
        if options.file == "-"
        else FileSource(Path(options.file), real_time=options.real_time)
    )
    with ExitStack() as stack:
        record = (
            stack.enter_context(jobs.open_or_create(options.job, now()))
            if options.job
            else NoRecord()
        )
        screen = Terminal(sys.stderr if options.json else None)
        conversation = Conversation(known, record, screen)
        if options.save_voice:
            conversation.speaker = _speaker(options.save_voice)
            stack.callback(conversation.speaker.close)
        conversation.tell_warnings()
        ears = open_ears()
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


# ---------------------------------------------------------------------------- looking


def _check(options: argparse.Namespace) -> int:
    from handsfree.edge.checking import checks  # noqa: PLC0415

    well = True
    for check in checks(data_only=options.data):
        print(f"{'works  ' if check.works else 'not here'}  {check.part}: {check.text}")
        well = well and (check.works or not check.needed)
    return ANSWERED if well else DEVICE_FAILED


def _jobs(_: argparse.Namespace) -> int:
    from handsfree.edge import jobs  # noqa: PLC0415
    from handsfree.record.text import printable  # noqa: PLC0415

    found = jobs.listed()
    if not found:
        print("No jobs yet. Begin one with: handsfree talk --job NAME")
    for job in found:
        print(f"{job.last:%Y-%m-%d %H:%M}  {job.entries:6d} entries  {printable(job.name)}")
    return ANSWERED


def _record(options: argparse.Namespace) -> int:
    from handsfree.edge import jobs  # noqa: PLC0415
    from handsfree.record.text import lines  # noqa: PLC0415

    entries, faults = jobs.contents(options.job)
    if options.drawing:
        from handsfree.edge.drawings import save  # noqa: PLC0415
        from handsfree.library import library  # noqa: PLC0415

        save(entries, library(), options.drawing)
    elif not options.verify:
        for line in lines(entries):
            print(line)
    for fault in faults:
        print(fault, file=sys.stderr)
    if options.verify and not faults:
        print(f"{len(entries)} entries, the chain is whole.")
    return DEVICE_FAILED if faults else ANSWERED
