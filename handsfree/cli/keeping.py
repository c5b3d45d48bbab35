"""`jobs` and `record`: what has been kept, and what it is handed on as."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from handsfree.cli.forms import ANSWERED, DEVICE_FAILED, Commands, command

if TYPE_CHECKING:
    from pathlib import Path

    from handsfree.edge.papers import Examined


def add(commands: Commands) -> None:
    """Add `jobs` and `record`."""
    jobs = command(commands, _jobs, "jobs", "List the jobs, or copy them.", "handsfree jobs")
    ways = jobs.add_mutually_exclusive_group()
    ways.add_argument("--export", metavar="FOLDER", help="copy every record into this folder")
    ways.add_argument(
        "--import", metavar="FOLDER", dest="take", help="take in the records of this folder"
    )
    jobs.add_argument("--json", action="store_true", help="print an object for each job")
    record = command(
        commands,
        _record,
        "record",
        "Print the record of a job, check it, or hand it on.",
        "handsfree record roof-unit --certificate roof-unit.html",
    )
    record.add_argument("job")
    record.add_argument(
        "--verify", action="store_true", help="check its lines, its clock and its sums"
    )
    record.add_argument("--drawing", metavar="FILE", help="draw its last piece as SVG, here")
    record.add_argument("--certificate", metavar="FILE", help="write its certificate as HTML, here")
    record.add_argument("--paper", choices=("a4", "letter"), default="a4", help="size to print on")
    record.add_argument(
        "--csv", metavar="FOLDER", help="write a table for each kind of entry, here"
    )
    record.add_argument("--json", metavar="FILE", help="write it as JSON by the published schema")
    record.add_argument("--summary", action="store_true", help="say it in under a minute's reading")
    record.add_argument(
        "--form", action="store_true", help="print the empty form, to fill in by hand"
    )


def _jobs(options: argparse.Namespace) -> int:
    import json
    from pathlib import Path

    from handsfree.edge import jobs
    from handsfree.record.text import printable

    if options.export or options.take:
        given = Path(options.export or options.take)
        return _copy(jobs.folder(), given) if options.export else _copy(given, jobs.folder())
    found = jobs.listed()
    if options.json:
        for job in found:
            told = {"name": job.name, "last": job.last.isoformat(), "entries": job.entries}
            print(json.dumps({**told, "file": str(job.path)}, ensure_ascii=False))
        return ANSWERED
    if not found:
        print("No jobs yet. Begin one with: handsfree talk --job NAME")
    for job in found:
        print(f"{job.last:%Y-%m-%d %H:%M}  {job.entries:6d} entries  {printable(job.name)}")
    return ANSWERED


def _copy(source: Path, target: Path) -> int:
    from handsfree.edge.backup import FAULTLESS, copy_jobs

    code, count = ANSWERED, 0
    for copied in copy_jobs(source, target):
        count += 1
        fine = copied.outcome in FAULTLESS and not copied.faults
        print(copied, file=sys.stdout if fine else sys.stderr)
        code = code if fine else DEVICE_FAILED
    if not count:
        print(f"No records in {source}.")
    return code


def _record(options: argparse.Namespace) -> int:
    if options.form:
        from handsfree.record.paper import blank_form

        print(blank_form())
        return ANSWERED
    if options.drawing:
        return _drawing(options)
    handed_on = options.certificate or options.csv or options.json or options.summary
    if options.verify or handed_on:
        return _hand_on(options)
    from handsfree.edge import jobs
    from handsfree.record.text import lines

    entries, faults = jobs.contents(options.job)
    for line in lines(entries):
        print(line)
    return _tell(tuple(str(fault) for fault in faults))


def _drawing(options: argparse.Namespace) -> int:
    from handsfree.edge import jobs
    from handsfree.edge.drawings import save
    from handsfree.library import library

    entries, faults = jobs.contents(options.job)
    save(entries, library(), options.drawing)
    return _tell(tuple(str(fault) for fault in faults))


def _hand_on(options: argparse.Namespace) -> int:
    from handsfree.edge import papers
    from handsfree.library import library

    record = papers.examined(options.job, library())
    if options.certificate:
        papers.write_certificate(record, options.certificate, options.paper)
        print(f"Written: {options.certificate}. Open it in a browser to read or print it.")
    if options.csv:
        names = papers.write_tables(record, options.csv)
        print(f"Written in {options.csv}: {', '.join(names)}")
    if options.json:
        papers.write_json(record, options.json)
        print(f"Written: {options.json}")
    if options.summary:
        print(papers.summary(record))
    if options.verify and not record.faults:
        print(_whole(record))
    return _tell(record.faults)


def _whole(record: Examined) -> str:
    from handsfree.record.entries import Calculated

    computed = sum(isinstance(entry, Calculated) for entry in record.entries)
    return (
        f"{len(record.entries)} entries: the chain is whole, the clock went on evenly, "
        f"and what was computed ({computed}) follows from its inputs."
    )


def _tell(faults: tuple[str, ...]) -> int:
    from handsfree.record.text import printable

    for fault in faults:
        print(printable(fault), file=sys.stderr)
    return DEVICE_FAILED if faults else ANSWERED
