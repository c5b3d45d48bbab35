"""The command line as a whole: which commands there are, and how each ends."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Sequence

from handsfree import __version__
from handsfree.cli import asking, board, completing, first, hearing, keeping, looking, talking
from handsfree.cli.forms import ANSWERED, DEVICE_FAILED, WRONG_USE
from handsfree.errors import DataError, DeviceError, HandsfreeError, JournalError


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="handsfree",
        description="Says the next step, the caution and the number for refrigeration tube work, "
        "and keeps the record. Everything stays on this machine.",
    )
    parser.set_defaults(run=first.welcome)
    parser.add_argument("--version", action="version", version=f"handsfree {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="command")
    for room in (talking, board, first, asking, hearing, looking, keeping):
        room.add(commands)
    completing.add(commands, _parser)
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code: 0, 2 wrong use, 3 not answered, 4 a device failed."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal may not have every letter
            stream.reconfigure(errors="replace")
    parser = _parser()
    options = parser.parse_args(arguments)
    try:
        code: int = options.run(options)
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
