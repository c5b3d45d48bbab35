"""`check`: what works on this machine."""

from __future__ import annotations

import argparse

from handsfree.cli.forms import ANSWERED, DEVICE_FAILED, Commands, command
from handsfree.cli.packs import take_pack


def add(commands: Commands) -> None:
    """Add `check`."""
    check = command(
        commands, _check, "check", "Tell what works on this machine.", "handsfree check"
    )
    check.add_argument("--data", action="store_true", help="only the data files")
    check.add_argument(
        "--voice", action="store_true", help="read ten sentences, so that you are heard better"
    )
    check.add_argument(
        "--recordings",
        metavar="PLACE",
        help="with --voice: a recording of them, or a folder of ten",
    )
    check.add_argument("--json", action="store_true", help="print an object for each part")
    take_pack(check)


def _check(options: argparse.Namespace) -> int:
    if options.voice:
        from handsfree.cli.enrolling import enrol

        return enrol(options.recordings, options.pack)
    return look(as_json=options.json, data_only=options.data, pack=options.pack)


def look(*, as_json: bool, data_only: bool, pack: str | None) -> int:
    """Look at each part, print what there is to say of it, and return the exit code."""
    import json
    from dataclasses import asdict

    from handsfree.edge.checking import PARTS, checks
    from handsfree.edge.packs import library_with
    from handsfree.edge.progress import Progress

    well = True
    with Progress(1 if data_only else PARTS) as progress:
        for check in checks(lambda: library_with(pack), data_only=data_only, begun=progress.at):
            with progress.aside():
                if as_json:
                    print(json.dumps(asdict(check), ensure_ascii=False), flush=True)
                else:
                    state = "works   " if check.works else "not here"
                    print(f"{state}  {check.part}: {check.text}", flush=True)
            well = well and (check.works or not check.needed)
    return ANSWERED if well else DEVICE_FAILED
