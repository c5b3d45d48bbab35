"""Who may look at the board and who may type on it.

A request must name the very address at which it came in (`Host`), so that no name that a stranger
points at this machine works; what comes from a page must come from our own (`Origin`); and all but
the empty page needs a pass. The owner's pass stands in the address after `#`, which browsers never
send; other machines get theirs for the pairing code that the terminal shows.
"""

from __future__ import annotations

import hmac
import ipaddress
import os
import secrets
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from handsfree.errors import DeviceError

Right = Literal["look", "type"]
TRIES, LOCKED, MOST_GUESTS = 5, 60.0, 32
"""Wrong pairing codes until a new one is made, seconds that pairing then rests, passes given."""
LEAST_PASS = 32
"""Letters of the shortest pass that is taken from the disk."""


def new_code() -> str:
    """Return a pairing code of six figures; each is good for one machine."""
    return f"{secrets.randbelow(1_000_000):06d}"


@dataclass(slots=True)
class Guard:
    """The passes of one run. `shared` is what other machines may do; None keeps them out."""

    owner: str
    shared: Right | None
    clock: Callable[[], float]
    code: str = field(default_factory=new_code)
    _wrong: int = 0
    _closed_until: float = 0.0
    _guests: set[str] = field(default_factory=set)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def right(self, header: str | None, client: str) -> Right | None:
        """Return what the bearer of an `Authorization` header may do, or None.

        The owner's pass counts only on this machine: elsewhere it would have crossed the network.
        """
        scheme, _, given = (header or "").partition(" ")
        if scheme.lower() != "bearer" or not given:
            return None
        if _same(given, self.owner):
            return "type" if loopback(client) else None
        with self._lock:
            known = any([_same(given, guest) for guest in self._guests])  # noqa: C419 - all, always: the time must not tell which
        return self.shared if known else None

    def pair(self, code: str) -> str | None:
        """Return a new pass for the right code; None for a wrong one, or while pairing rests."""
        with self._lock:
            if self.shared is None or self.clock() < self._closed_until:
                return None
            if not _same(code, self.code):
                self._wrong += 1
                if self._wrong == TRIES:
                    self._wrong, self.code = 0, new_code()
                    self._closed_until = self.clock() + LOCKED
                return None
            if len(self._guests) == MOST_GUESTS:
                return None
            guest = secrets.token_urlsafe(LEAST_PASS)
            self._guests.add(guest)
            self._wrong, self.code = 0, new_code()
            return guest

    def resting(self) -> bool:
        """Return whether pairing rests after too many wrong codes."""
        return self.clock() < self._closed_until


def _same(given: str, held: str) -> bool:
    return hmac.compare_digest(given.encode(errors="surrogatepass"), held.encode())


def loopback(client: str) -> bool:
    """Return whether an address is this machine itself."""
    with suppress(ValueError):
        return ipaddress.ip_address(client).is_loopback
    return False


def our_name(host: str | None, at: tuple[str, int | None]) -> bool:
    """Return whether a `Host` header names the address at which the request came in."""
    address, port = at
    ours = {f"{address}:{port}"}
    if loopback(address):
        ours.add(f"localhost:{port}")
    return host in ours


def our_page(origin: str | None, host: str | None) -> bool:
    """Return whether an `Origin` header is that of our own page."""
    return origin == f"http://{host}"


def kept_pass(file: Path) -> str:
    """Return the owner's pass of this machine, made at the first time, readable only by its user.

    It is kept, so that an open board finds its way back when the program is started again.
    Raises `DeviceError` where it can be neither read nor written.
    """
    with suppress(OSError, ValueError):
        held = file.read_text(encoding="ascii").strip()
        if len(held) >= LEAST_PASS and file.stat().st_mode & 0o077 == 0:
            return held
    made = secrets.token_urlsafe(LEAST_PASS)
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.unlink(missing_ok=True)
        with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as out:
            out.write(made)
    except OSError as error:
        raise DeviceError(
            f"The board's pass cannot be kept in {file}: {error.strerror}. Free the disk or set "
            "HANDSFREE_JOBS to a folder that can be written."
        ) from error
    return made
