"""What every command shares: its exit codes and the form of its help."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TypeAlias

ANSWERED, WRONG_USE, NOT_ANSWERED, DEVICE_FAILED = 0, 2, 3, 4

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"  # noqa: SLF001 - it has no public name
Run: TypeAlias = Callable[[argparse.Namespace], int]


def command(
    commands: Commands, run: Run, name: str, text: str, example: str
) -> argparse.ArgumentParser:
    """Return the parser of a new command that `run` carries out, its help ending in an example."""
    form = argparse.RawDescriptionHelpFormatter
    parser = commands.add_parser(
        name, help=text, description=text, epilog=f"example:\n  {example}", formatter_class=form
    )
    parser.set_defaults(run=run)
    return parser
