"""`--with DIR`: a firm's own pack, beside what is shipped."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from handsfree.library import Library


def take_pack(parser: argparse.ArgumentParser) -> None:
    """Let a command take a firm's pack."""
    parser.add_argument(
        "--with",
        dest="pack",
        metavar="DIR",
        help="add this company pack (default: HANDSFREE_WITH, or none)",
    )


def chosen(options: argparse.Namespace) -> Library:
    """Return the library with the pack that was chosen."""
    from handsfree.edge.packs import library_with

    return library_with(options.pack)


def chosen_aloud(options: argparse.Namespace) -> Library:
    """Return the same, with a word on standard error where the pack was left out."""
    known = chosen(options)
    if known.left_out:
        count = len(known.left_out)
        faults = "one fault" if count == 1 else f"{count} faults"
        print(known.says["pack_out"].format(faults=faults), file=sys.stderr)
    return known
