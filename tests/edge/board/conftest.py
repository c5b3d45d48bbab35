"""A board in front of a real conversation: the loop, the server, and a small HTTP client."""

from __future__ import annotations

import http.client
import io
import json
import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

import pytest

from handsfree.app import Conversation, Loop
from handsfree.dialogue.events import Typed
from handsfree.edge.board.beside import Beside
from handsfree.edge.board.guard import Guard, Right
from handsfree.edge.board.hub import Hub
from handsfree.edge.board.server import Ends, Server
from handsfree.edge.keeping import NoRecord
from handsfree.edge.terminal import Terminal
from handsfree.library import Library
from handsfree.record.entries import Entry

OWNER = "owner-pass-of-the-tests-0123456789"


@dataclass
class Site:
    """A conversation with its board; `out` is its terminal, `warned` what the server told it."""

    loop: Loop
    hub: Hub
    guard: Guard
    server: Server
    out: io.StringIO
    warned: list[str] = field(default_factory=list)

    @property
    def port(self) -> int:
        return self.server.port

    def type(self, *lines: str) -> None:
        for line in lines:
            self.loop.events.put(Typed(line, datetime.now(UTC)))

    def ask(
        self, method: str, path: str, content: Any = None, **headers: str
    ) -> tuple[int, bytes, http.client.HTTPMessage]:
        """Return the status, body and headers of an answer to our own page's request.

        A header of None is left out; `host` and `origin` may be set.
        """
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        body = content if isinstance(content, bytes | None) else json.dumps(content).encode()
        host = f"127.0.0.1:{self.port}"
        sent = {"host": host, "authorization": f"Bearer {OWNER}", **headers}
        if method == "POST":
            sent = {"origin": f"http://{host}", **sent}
        link.putrequest(method, path, skip_host=True)
        for name, value in sent.items():
            if value:
                link.putheader(name, value)
        if body is not None:
            link.putheader("content-length", str(len(body)))
        link.endheaders(body)
        try:
            answer = link.getresponse()
            return answer.status, answer.read(), answer.headers
        finally:
            link.close()


@pytest.fixture
def site_of(known: Library) -> Iterator[Callable[..., Site]]:
    """Return what makes sites; all are closed at the end."""
    made: list[Site] = []

    def make(shared: Right | None = None, entries: Sequence[Entry] = ()) -> Site:
        out, record = io.StringIO(), NoRecord()
        record.entries = entries
        conversation = Conversation(known, record, Terminal(out))
        hub = Hub(known, conversation.clock)
        conversation.screen = Beside(conversation.screen, hub)
        loop, warned = Loop(conversation), list[str]()
        guard = Guard(OWNER, shared, lambda: 0.0)
        server = Server(hub, guard, Ends(loop.typed_on_board, warned.append), 0)
        conversation.open()
        server.start()
        threading.Thread(target=loop.run, daemon=True).start()
        made.append(Site(loop, hub, guard, server, out, warned))
        return made[-1]

    yield make
    for site in made:
        site.loop.events.put(None)
        site.server.close()


@pytest.fixture
def site(site_of: Callable[..., Site]) -> Site:
    return site_of()
