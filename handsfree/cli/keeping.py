"""`jobs` and `record`: what has been kept."""

from __future__ import annotations

import argparse
import sys

from handsfree.cli.forms import ANSWERED, DEVICE_FAILED, Commands, command


def add(commands: Commands) -> None:
    """Add `jobs` and `record`."""
    command(commands, _jobs, "jobs", "List the jobs.", "handsfree jobs")
    record = command(
        commands, _record, "record", "Print the record of a job.", "handsfree record roof-unit"
    )
    record.add_argument("job")
    record.add_argument("--verify", action="store_true", help="check the chain of the record")
    record.add_argument("--drawing", metavar="FILE", help="draw its last piece as SVG, here")


def _jobs(_: argparse.Namespace) -> int:
    from handsfree.edge import jobs
    from handsfree.record.text import printable

    found = jobs.listed()
    if not found:
        print("No jobs yet. Begin one with: handsfree talk --job NAME")
    for job in found:
        print(f"{job.last:%Y-%m-%d %H:%M}  {job.entries:6d} entries  {printable(job.name)}")
    return ANSWERED


def _record(options: argparse.Namespace) -> int:
    from handsfree.edge import jobs
    from handsfree.record.text import lines

    entries, faults = jobs.contents(options.job)
    if options.drawing:
        from handsfree.edge.drawings import save
        from handsfree.library import library

        save(entries, library(), options.drawing)
    elif not options.verify:
        for line in lines(entries):
            print(line)
    for fault in faults:
        print(fault, file=sys.stderr)
    if options.verify and not faults:
        print(f"{len(entries)} entries, the chain is whole.")
    return DEVICE_FAILED if faults else ANSWERED
