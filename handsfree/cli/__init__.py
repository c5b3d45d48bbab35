"""The commands. A room for each group of them; imports are late: `--help` must answer at once."""

from handsfree.cli.commands import main

__all__ = ["main"]
