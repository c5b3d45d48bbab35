"""What a record is handed on as: certificate, tables, data, summary; and what is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from handsfree.edge import jobs
from handsfree.edge.clocks import clock_steps
from handsfree.errors import DeviceError
from handsfree.library import Library
from handsfree.library.reckoning import Reckoning
from handsfree.record.aloud import aloud
from handsfree.record.certificate import Certificate, certificate
from handsfree.record.entries import Entry
from handsfree.record.export import as_json, as_tables
from handsfree.record.page import PaperSize, page
from handsfree.record.recomputing import differences


@dataclass(frozen=True, slots=True)
class Examined:
    """A record with all that is wrong with it: its lines, its clock, its sums, in sentences."""

    entries: Sequence[Entry]
    seal: str
    lines: tuple[str, ...]
    clock: tuple[str, ...]
    sums: tuple[str, ...]
    reckoning: Reckoning

    @property
    def faults(self) -> tuple[str, ...]:
        """Return everything that is wrong."""
        return (*self.lines, *self.clock, *self.sums)

    def certificate(self) -> Certificate:
        """Return the certificate; differing sums are marked where they stand."""
        return certificate(self.entries, (*self.lines, *self.clock), self.seal, self.reckoning)


def examined(name: str, library: Library) -> Examined:
    """Return a job's record, checked line by line and sum by sum; raises `JournalError`."""
    found, path = jobs.whole(name)
    reckoning = Reckoning(library)
    return Examined(
        found.entries,
        found.last_hash,
        tuple(str(fault) for fault in found.all_faults),
        tuple(str(step) for step in clock_steps(path)),
        tuple(str(one) for one in differences(found.entries, reckoning)),
        reckoning,
    )


def write_certificate(record: Examined, file: str, size: PaperSize) -> None:
    """Write the certificate as one HTML file; raises `DeviceError`."""
    _write(Path(file), page(record.certificate(), size))


def write_json(record: Examined, file: str) -> None:
    """Write the record as JSON by the published schema; raises `DeviceError`."""
    _write(Path(file), as_json(record.entries, record.faults, record.seal))


def write_tables(record: Examined, folder: str) -> Sequence[str]:
    """Write one CSV table for each kind of entry; return their names. Raises `DeviceError`."""
    tables = as_tables(record.entries)
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DeviceError(f"The folder {folder} cannot be made: {error.strerror}.") from error
    for name, text in tables.items():
        _write(Path(folder) / name, text)
    return sorted(tables)


def summary(record: Examined) -> str:
    """Return the record in a few sentences."""
    return aloud(record.certificate())


def _write(path: Path, text: str) -> None:
    try:
        path.write_text(text, encoding="utf-8", errors="replace", newline="")
    except OSError as error:
        raise DeviceError(
            f"{path} cannot be written: {error.strerror}. Choose another place."
        ) from error
