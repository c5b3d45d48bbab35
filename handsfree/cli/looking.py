"""`check`: what works on this machine."""

from __future__ import annotations

import argparse

from handsfree.cli.forms import ANSWERED, DEVICE_FAILED, Commands, command


def add(commands: Commands) -> None:
    """Add `check`."""
    check = command(
        commands, _check, "check", "Tell what works on this machine.", "handsfree check"
    )
    check.add_argument("--data", action="store_true", help="only the data files")


def _check(options: argparse.Namespace) -> int:
    from handsfree.edge.checking import checks

    well = True
    for check in checks(data_only=options.data):
        print(f"{'works  ' if check.works else 'not here'}  {check.part}: {check.text}")
        well = well and (check.works or not check.needed)
    return ANSWERED if well else DEVICE_FAILED
