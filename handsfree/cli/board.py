"""`board`: the conversation on a page of this machine, and the same beside `talk` and `chat`."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from handsfree.cli.forms import ANSWERED, Commands, command

if TYPE_CHECKING:
    from handsfree.app import Loop

PORT = 8137
LARGEST_PORT = 65535


def add(commands: Commands) -> None:
    """Add `board`."""
    from handsfree.cli.talking import add_job_options

    board = command(
        commands,
        _board,
        "board",
        "Show the work on a page of this machine, and type on it.",
        "handsfree board --job roof-unit",
    )
    add_job_options(board)
    add_options(board)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what a board can be told."""
    parser.add_argument(
        "--port", type=_port, default=PORT, help=f"the board's port (default: {PORT}; 0: any)"
    )
    parser.add_argument(
        "--share",
        nargs="?",
        const="look",
        choices=("look", "type"),
        help="let other machines see the board, or type on it as well; they need a pairing code",
    )


def _port(text: str) -> int:
    if not text.isdecimal() or int(text) > LARGEST_PORT:
        raise argparse.ArgumentTypeError(f"{text} is not a port: 0 to {LARGEST_PORT}")
    return int(text)


@contextmanager
def beside(loop: Loop, options: argparse.Namespace) -> Iterator[None]:
    """Serve a board beside a conversation, and say how to open it; raises `DeviceError`."""
    import time

    from handsfree.edge import jobs
    from handsfree.edge.board.beside import Beside
    from handsfree.edge.board.guard import Guard, kept_pass
    from handsfree.edge.board.hub import Hub
    from handsfree.edge.board.server import Ends, Server, own_address

    conversation = loop.conversation
    hub = Hub(conversation.library, conversation.clock)
    hub.remember(conversation.journal.entries)
    conversation.screen = Beside(conversation.screen, hub)
    guard = Guard(kept_pass(jobs.folder() / "board.pass"), options.share, time.monotonic)
    server = Server(hub, guard, Ends(loop.typed_on_board, conversation.screen.warn), options.port)
    print(f"Board: {server.address}", flush=True)
    if guard.shared is not None:
        may = "see this job" if guard.shared == "look" else "see this job and type in it"
        print(
            f"Open to every machine on this network: http://{own_address()}:{server.port}/\n"
            f"Who has the pairing code can {may}. The way there is not encrypted.\n"
            f"Pairing code: {guard.code}",
            flush=True,
        )
    server.start()
    try:
        yield
    finally:
        server.close()


def _board(options: argparse.Namespace) -> int:
    from contextlib import ExitStack

    from handsfree.app import Loop
    from handsfree.cli.talking import can_type, conversation_of, typed_lines

    with ExitStack() as stack:
        loop = Loop(conversation_of(stack, options))
        stack.enter_context(beside(loop, options))
        loop.conversation.open()
        loop.warm_up()
        if can_type():
            loop.listen_to_typing(typed_lines())
        loop.run()
    return ANSWERED
