"""`handsfree` alone, and `demo`: the first ten minutes."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from contextlib import ExitStack
from typing import TYPE_CHECKING

from handsfree.cli.forms import ANSWERED, Commands, command
from handsfree.errors import DeviceError

if TYPE_CHECKING:
    from handsfree.app import Conversation
    from handsfree.edge.terminal import Terminal
    from handsfree.library.demo import Demo

Say = Callable[[str], bool]
"""Says a sentence of the demo to the conversation; False where nothing more is wanted."""


def add(commands: Commands) -> None:
    """Add `demo`."""
    demo = command(
        commands,
        _demo,
        "demo",
        "Play an invented job, in three minutes; nothing of it is kept.",
        "handsfree demo --aloud",
    )
    demo.add_argument(
        "--aloud", action="store_true", help="speak the sentences and hear them, by voice and ears"
    )


def welcome(options: argparse.Namespace) -> int:
    """Greet, tell which ears and which voice there are, and offer the demo job."""
    from handsfree.cli.looking import look
    from handsfree.library.demo import demo

    print(f"{demo().greeting}\n")
    code = look(as_json=False, data_only=False, pack=None)
    print(
        "\nhandsfree demo      an invented job, three minutes"
        "\nhandsfree talk      speak and type, the main job"
        "\nhandsfree --help    all commands\n"
    )
    if sys.stdin is not None and sys.stdin.isatty() and sys.stdout.isatty():
        try:
            answer = input(demo().offer)
        except EOFError:
            print()
            return code
        if not answer.strip().lower().startswith("n"):
            options.aloud = False
            _demo(options)
    return code


def _demo(options: argparse.Namespace) -> int:
    from handsfree.app import Conversation, now
    from handsfree.edge.keeping import InMemory
    from handsfree.edge.terminal import Terminal
    from handsfree.library import library
    from handsfree.library.demo import demo
    from handsfree.record.entries import JobOpened
    from handsfree.record.text import lines

    job, screen = demo(), Terminal()
    kept = InMemory(JobOpened(at=now(), job=job.title))
    with ExitStack() as stack:
        conversation = Conversation(library(), kept, screen)
        say = _heard(conversation, screen, job, stack) if options.aloud else _typed(conversation)
        screen.tell(f"{job.title}. {job.begins}")
        for turn in job.turns:
            screen.tell(turn.tell)
            if not say(turn.say):
                break
            conversation.let_finish()
    screen.tell(job.ends)
    for line in lines(kept.entries):
        print(f"   {line}")
    return ANSWERED


def _typed(conversation: Conversation) -> Say:
    """Return what types a sentence: on a terminal the person may type another in its place."""
    from handsfree.app import now
    from handsfree.dialogue.events import Typed

    asks = sys.stdin is not None and sys.stdin.isatty()

    def say(text: str) -> bool:
        if asks:
            try:
                text = input(f"> {text}   (Enter, or type another) ").strip() or text
            except EOFError:
                return False
        else:
            conversation.screen.heard(text)
        conversation.handle(Typed(text, now()))
        return True

    return say


def _heard(conversation: Conversation, screen: Terminal, job: Demo, stack: ExitStack) -> Say:
    """Return what speaks a sentence and hears it; raises `DeviceError` where there is no voice."""
    from handsfree.app import listen_to_recording
    from handsfree.dialogue.state import HEARD
    from handsfree.edge.demo import recording
    from handsfree.edge.ear.ears import open_ears
    from handsfree.edge.voice.render import Renderer
    from handsfree.edge.voice.speakers import aloud

    renderer = Renderer()
    stack.callback(renderer.close)
    try:
        conversation.speaker = aloud()
    except DeviceError as error:
        screen.warn(f"{error} I print what I say.")
    else:
        stack.callback(conversation.speaker.close)
    ears, by_typing = open_ears(), _typed(conversation)

    def say(text: str) -> bool:
        blocks = recording(text, renderer)
        took = [bool(effects) for _, _, effects in listen_to_recording(conversation, blocks, ears)]
        asked = conversation.state.job.question
        if any(took) and (asked is None or asked.what != HEARD):
            return True
        screen.tell(job.misheard)
        return by_typing(text)

    return say
