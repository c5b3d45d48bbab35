"""`talk` and `chat`: the main job."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING

from handsfree.cli import board
from handsfree.cli.copying import copy_beside
from handsfree.cli.forms import ANSWERED, DEVICE_FAILED, Commands, command
from handsfree.cli.hearing import traced
from handsfree.cli.packs import chosen, take_pack
from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from contextlib import ExitStack

    from handsfree.app import Conversation, Loop
    from handsfree.edge.ear.ears import Ears
    from handsfree.edge.ear.enrolment import Profile
    from handsfree.edge.journal import Journal
    from handsfree.edge.terminal import Screen


def add(commands: Commands) -> None:
    """Add `talk` and `chat`."""
    talk = command(
        commands, _talk, "talk", "Speak and type; the main job.", "handsfree talk --job roof-unit"
    )
    chat = command(commands, _chat, "chat", "Type only.", "handsfree chat --job roof-unit")
    for either in (talk, chat):
        add_job_options(either)
        either.add_argument("--board", action="store_true", help="show it on a page as well")
        board.add_options(either)
    talk.add_argument("--save-voice", metavar="DIR", help="write each sentence as a WAV file here")
    traced(talk)
    talk.add_argument(
        "--headset", action="store_true", help="my voice is not in your microphone: talk over me"
    )
    talk.add_argument(
        "--button",
        action="store_true",
        help="any key, or a foot switch: pressed it is done, held it is push-to-talk",
    )
    talk.add_argument("--mute", action="store_true", help="show sentences, do not say them")


def add_job_options(parser: argparse.ArgumentParser) -> None:
    """Add what says which job is meant."""
    parser.add_argument("--job", help="the job's name (default: the last one, or today)")
    take_pack(parser)
    parser.add_argument("--new", action="store_true", help="begin a new job, always")


def journal_of(options: argparse.Namespace) -> Journal:
    """Return the journal of the job that is meant, opened or begun."""
    from handsfree.app import now
    from handsfree.edge import jobs

    name: str | None = options.job
    if name is None and not options.new:
        latest = jobs.latest()
        name = latest.name if latest is not None else None
    named = name or f"{now():%Y-%m-%d %H.%M}"
    return jobs.begun(named, now()) if options.new else jobs.open_or_create(named, now())


def conversation_of(stack: ExitStack, options: argparse.Namespace) -> Conversation:
    """Return the conversation about a job, on the terminal; what is broken in the data is told."""
    from handsfree.app import Conversation
    from handsfree.edge.terminal import Terminal

    journal, screen = stack.enter_context(journal_of(options)), Terminal()
    known = chosen(options)
    for fault in known.broken:
        screen.warn(f"Left out: {fault}")
    conversation = Conversation(known, journal, screen)
    copy_beside(stack, conversation, journal)
    return conversation


def typed_lines() -> Iterable[str]:
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
    from contextlib import ExitStack

    from handsfree.app import Loop

    with ExitStack() as stack:
        conversation = conversation_of(stack, options)
        loop = Loop(conversation)
        if options.board:
            stack.enter_context(board.beside(loop, options))
        conversation.open()
        loop.warm_up()
        loop.listen_to_typing(typed_lines())
        loop.run()
    return ANSWERED


def _talk(options: argparse.Namespace) -> int:
    """Speak and type, as far as this machine can: each part that is missing is told once."""
    from contextlib import ExitStack

    from handsfree.app import Loop
    from handsfree.cli.hearing import voice
    from handsfree.edge.button import keys
    from handsfree.edge.ear.microphone import Microphone

    with ExitStack() as stack:
        conversation = conversation_of(stack, options)
        screen = conversation.screen
        if not options.mute:
            try:
                speaker = voice(options.save_voice)
            except DeviceError as error:
                screen.warn(f"{error} I print what I say.")
            else:
                stack.callback(speaker.close)
                conversation.speaker = speaker
        loop = Loop(conversation)
        if options.board:
            stack.enter_context(board.beside(loop, options))
            screen = conversation.screen
        conversation.open()
        loop.warm_up()
        if not can_type() and not options.board:
            try:
                with Microphone():
                    pass
            except DeviceError as error:
                screen.warn(f"{error}\nNothing to type on either. Use: handsfree listen FILE.wav")
                return DEVICE_FAILED
        _listen(loop, options)
        if options.button:
            loop.listen_to_button(stack.enter_context(keys()))
        elif can_type() or not options.board:
            loop.listen_to_typing(typed_lines())
        loop.run()
    return ANSWERED


def _listen(loop: Loop, options: argparse.Namespace) -> None:
    """Begin to listen, as fits the user's voice and whether it is a headset."""
    from functools import cache

    from handsfree.cli.hearing import trace
    from handsfree.edge.ear.ears import open_ears
    from handsfree.edge.ear.microphone import Microphone

    conversation, profile = loop.conversation, _profile(loop.conversation.screen)
    if profile.fit is not None:
        conversation.believe(profile.fit)

    @cache
    def ears() -> Ears:
        opened = open_ears()
        if options.trace:
            trace(conversation, opened)
        return opened

    saying = None if options.headset else conversation.saying
    loop.listen_to(lambda: Microphone(saying), ears, profile.gain)


def _profile(screen: Screen) -> Profile:
    """Return what is kept of the user's voice; one that cannot be read is told and left out."""
    from handsfree.edge.ear.enrolment import Profile
    from handsfree.edge.ear.profile import kept

    try:
        return kept()
    except DeviceError as error:
        screen.warn(str(error))
        return Profile()


def can_type() -> bool:
    """Return whether lines can come in: a terminal, or something piped in, not the empty device."""
    import stat

    if sys.stdin is None or sys.stdin.closed:
        return False
    if sys.stdin.isatty():
        return True
    mode = os.fstat(sys.stdin.fileno()).st_mode
    return stat.S_ISFIFO(mode) or stat.S_ISREG(mode) or stat.S_ISSOCK(mode)
