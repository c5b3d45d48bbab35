"""`completion`: what a shell needs to complete the commands and their options."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from handsfree.cli.forms import ANSWERED, Commands, command

SHELLS = ("bash", "zsh", "tcsh")


def add(commands: Commands, parser: Callable[[], argparse.ArgumentParser]) -> None:
    """Add `completion`; `parser` makes the parser of the whole command line."""
    completion = command(
        commands,
        lambda options: _completion(options, parser()),
        "completion",
        "Print the completion of a shell.",
        'handsfree completion bash    # then: eval "$(handsfree completion bash)"',
    )
    completion.add_argument("shell", choices=SHELLS)


def _completion(options: argparse.Namespace, parser: argparse.ArgumentParser) -> int:
    import shtab

    print(shtab.complete(parser, options.shell))
    return ANSWERED
