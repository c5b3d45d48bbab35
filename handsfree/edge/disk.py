"""What differs between systems when a file must last: flushing, locking, telling boots apart."""

from __future__ import annotations

import errno
import os
import sys
from functools import cache
from pathlib import Path
from uuid import uuid4

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

BINARY: int = getattr(os, "O_BINARY", 0)
"""Windows alters line ends unless it is told not to."""
BEYOND = 1 << 40
"""A byte that no record reaches: Windows bars others from reading the bytes that are locked."""
_NOT_FLUSHABLE = {errno.EINVAL, errno.ENOTSUP}


def flush(handle: int) -> None:
    """Return when what was written is on the disk itself; raises `OSError`."""
    if sys.platform == "darwin":
        # there fsync leaves the data in the drive's own memory
        try:
            fcntl.fcntl(handle, fcntl.F_FULLFSYNC)
        except OSError:
            os.fsync(handle)
    else:
        os.fsync(handle)


def forget(handle: int) -> None:
    """Let go of what memory holds of a flushed file, so that reading it asks the disk itself."""
    if hasattr(os, "posix_fadvise"):
        os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)


def flush_folder(folder: Path) -> None:
    """Make the names of new files last through a power cut, where folders can be flushed."""
    if os.name != "posix":
        return
    try:
        handle = os.open(folder, os.O_RDONLY)
    except PermissionError:  # one may be allowed to write into a folder and not to read it
        return
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in _NOT_FLUSHABLE:
            raise
    finally:
        os.close(handle)


def lock(handle: int) -> None:
    """Take a file for this process; raises `OSError`, `BlockingIOError` where another has it.

    The lock ends with the process, however that ends.
    """
    if sys.platform == "win32":
        os.lseek(handle, BEYOND, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except PermissionError as error:
            raise BlockingIOError(errno.EWOULDBLOCK, error.strerror) from error
    else:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


@cache
def boot() -> str:
    """Return what tells one run of the monotonic clock from the next.

    It is the machine's boot where Linux names it, and this process elsewhere.
    """
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return f"process {uuid4()}"
