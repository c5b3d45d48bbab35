"""The server of the board: the page, the stream of what is shown, and what is typed on it.

It runs in a thread of its own beside the loop. Every limit is here: how many connections, how long
one may say nothing, how much may be sent.
"""

from __future__ import annotations

import asyncio
import errno
import json
import socket
import threading
from collections.abc import AsyncIterator, Callable
from contextlib import suppress
from dataclasses import dataclass
from importlib import resources
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from uvicorn.protocols.http.h11_impl import H11Protocol

from handsfree.edge.board.guard import Guard, our_name, our_page
from handsfree.edge.board.hub import Hub, message
from handsfree.errors import DeviceError

LONGEST = 4096
"""Bytes of the longest body; the longest sentence that anyone types is a tenth of it."""
MOST_CONNECTIONS, MOST_STREAMS = 100, 32
PATIENCE = 5.0
"""Seconds for a request to come, once a connection is open or a body announced."""
BEAT = 15.0
"""Seconds between signs of life on a quiet stream."""
LAST_CALL = 2.0
"""Seconds that open requests have to end when the program does."""

HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; "
    "img-src 'self' blob:; connect-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
}
PAGE = {
    "/": ("board.html", "text/html"),
    "/board.css": ("board.css", "text/css"),
    "/board.js": ("board.js", "text/javascript"),
    "/icon.svg": ("icon.svg", "image/svg+xml"),
}


@dataclass(frozen=True, slots=True)
class Ends:
    """Where the board ends in the loop: what takes a typed line, what warns the person."""

    typed: Callable[[str], bool]
    warn: Callable[[str], None]


class _Checked:
    """Lets in only what names our address and, where it comes from a page, comes from ours."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(part: Message) -> None:
            if part["type"] == "http.response.start":
                part["headers"] = [
                    *part["headers"],
                    *((name.lower().encode(), text.encode()) for name, text in HEADERS.items()),
                ]
            await send(part)

        request = Request(scope)
        host, origin = request.headers.get("host"), request.headers.get("origin")
        writes = request.method not in ("GET", "HEAD")
        answer: ASGIApp = self.app
        if not our_name(host, scope["server"]):
            answer = PlainTextResponse("This is not an address of the board.\n", 421)
        elif (origin is not None or writes) and not our_page(origin, host):
            answer = PlainTextResponse("Only the board's own page may ask this.\n", 403)
        await answer(scope, receive, with_headers)


class _Patient(H11Protocol):
    """A connection that is closed when there are too many, or when no request comes."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override] # it is always a stream
        super().connection_made(transport)
        if len(self.connections) > MOST_CONNECTIONS:
            transport.abort()
            return
        self.loop.call_later(PATIENCE, self._give_up, transport)

    def _give_up(self, transport: asyncio.Transport) -> None:
        if self.cycle is None and not transport.is_closing():
            transport.close()


class _Board:
    """What the routes answer."""

    def __init__(self, hub: Hub, guard: Guard, ends: Ends) -> None:
        self.hub = hub
        self.guard = guard
        self.ends = ends
        self.closing = False
        self.streams = 0
        folder = resources.files("handsfree") / "data" / "board"
        self.files = {path: (folder / name).read_bytes() for path, (name, _) in PAGE.items()}

    def _right(self, request: Request) -> str | None:
        client = request.client.host if request.client is not None else ""
        return self.guard.right(request.headers.get("authorization"), client)

    async def page(self, request: Request) -> Response:
        """Give a file of the page; none of them holds anything of the job."""
        path = request.url.path
        return Response(self.files[path], media_type=PAGE[path][1])

    async def events(self, request: Request) -> Response:
        """Give the stream of what is shown, from the line on that the window has already."""
        right = self._right(request)
        if right is None:
            return _no_pass()
        if self.streams >= MOST_STREAMS:
            return PlainTextResponse("Too many boards are open. Close one.\n", 503)
        same_run = request.query_params.get("run") == self.hub.run
        text = request.query_params.get("after", "0")
        after = int(text) if same_run and text.isdecimal() and len(text) < len("1000000000") else 0
        return StreamingResponse(self._stream(right, after), media_type="text/event-stream")

    async def _stream(self, right: str, after: int) -> AsyncIterator[bytes]:
        changed = asyncio.Event()
        loop = asyncio.get_running_loop()

        def waker() -> None:
            with suppress(RuntimeError):  # the loop has ended, and the program with it
                loop.call_soon_threadsafe(changed.set)

        self.hub.watch(waker)
        self.streams += 1
        version = drawings = -1
        try:
            yield message("hello", {"run": self.hub.run, "right": right, "after": after})
            while not self.closing:
                changed.clear()
                shown, lines = self.hub.after(after)
                if shown.version != version:
                    version = shown.version
                    yield message("glance", {**shown.plain, "now": self.hub.now()})
                if shown.drawings != drawings:
                    drawings = shown.drawings
                    yield message("drawing", shown.drawing)
                if lines:
                    after = lines[-1].number
                    told = [{"n": x.number, "who": x.who, "text": x.text} for x in lines]
                    yield message("lines", told)
                try:
                    await asyncio.wait_for(changed.wait(), BEAT)
                except TimeoutError:
                    yield message("beat", self.hub.now())
        finally:
            self.streams -= 1
            self.hub.unwatch(waker)

    async def say(self, request: Request) -> Response:
        """Take a typed line into the conversation."""
        right = self._right(request)
        if right is None:
            return _no_pass()
        if right != "type":
            return PlainTextResponse("This board may only look.\n", 403)
        body = await _body(request)
        if isinstance(body, Response):
            return body
        text = " ".join(str(body.get("text", "")).split())
        if not text:
            return PlainTextResponse("Nothing was typed.\n", 400)
        if not self.ends.typed(text):
            return PlainTextResponse("Too much at once. Wait for the answers.\n", 503)
        return Response(status_code=204)

    async def pair(self, request: Request) -> Response:
        """Give a pass to another machine for the code that the terminal shows."""
        body = await _body(request)
        if isinstance(body, Response):
            return body
        before = self.guard.code
        made = self.guard.pair(str(body.get("code", "")))
        if self.guard.shared is not None and self.guard.code != before:
            who = request.client.host if request.client is not None else "another machine"
            what = "was let in" if made else "gave five wrong codes; pairing rests for a minute"
            self.ends.warn(f"Board: {who} {what}. The next pairing code is {self.guard.code}.")
        if made is None:
            wait = self.guard.resting()
            text = "Wait a minute.\n" if wait else "That is not the code.\n"
            return PlainTextResponse(text, 429 if wait else 403)
        return JSONResponse({"pass": made})


def _no_pass() -> Response:
    text = "This address has no pass, or an old one. Take the address from the terminal.\n"
    return PlainTextResponse(text, 401, {"WWW-Authenticate": "Bearer"})


async def _body(request: Request) -> dict[str, Any] | Response:
    """Return the JSON object of a request, or the answer that refuses it."""
    found = bytearray()
    try:
        async with asyncio.timeout(PATIENCE):
            async for part in request.stream():
                found += part
                if len(found) > LONGEST:
                    text = f"Too long: {LONGEST} bytes are the most.\n"
                    return PlainTextResponse(text, 413, {"Connection": "close"})
        content = json.loads(found)
    except (TimeoutError, ClientDisconnect):
        return PlainTextResponse("The rest did not come.\n", 408, {"Connection": "close"})
    except (ValueError, RecursionError):
        content = None
    if not isinstance(content, dict):
        return PlainTextResponse("This is not what the board sends.\n", 400)
    return content


class Server:
    """The board while it is served. `address` is what is opened on this machine."""

    def __init__(self, hub: Hub, guard: Guard, ends: Ends, port: int) -> None:
        self._socket = _listening("127.0.0.1" if guard.shared is None else "0.0.0.0", port)  # noqa: S104  # nosec B104 - only with --share
        self.port: int = self._socket.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}/#{guard.owner}"
        self._board = _Board(hub, guard, ends)
        self._hub = hub
        routes = [
            *(Route(path, self._board.page) for path in PAGE),
            Route("/events", self._board.events),
            Route("/say", self._board.say, methods=["POST"]),
            Route("/pair", self._board.pair, methods=["POST"]),
        ]
        self._server = uvicorn.Server(
            uvicorn.Config(
                _Checked(Starlette(routes=routes)),
                http=_Patient,
                ws="none",
                lifespan="off",
                loop="asyncio",
                log_config=None,
                access_log=False,
                server_header=False,
                date_header=False,
                proxy_headers=False,
                h11_max_incomplete_event_size=16 * 1024,
                timeout_keep_alive=int(PATIENCE),
                timeout_graceful_shutdown=int(LAST_CALL),
            )
        )
        self._thread = threading.Thread(
            target=self._server.run, kwargs={"sockets": [self._socket]}, daemon=True
        )

    def start(self) -> None:
        """Serve from now on."""
        self._thread.start()

    def close(self) -> None:
        """Stop serving; open boards look for the next run."""
        self._board.closing = True
        self._server.should_exit = True
        self._hub.wake()
        self._thread.join(LAST_CALL + 1)
        self._socket.close()


def _listening(host: str, port: int) -> socket.socket:
    """Return a socket that listens; raises `DeviceError`, in words, where that cannot be."""
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((host, port))
        found.listen(128)
    except (OSError, OverflowError) as error:
        found.close()
        if getattr(error, "errno", None) == errno.EADDRINUSE:
            raise DeviceError(
                f"The board's port {port} is in use, perhaps by another board. Close that one, or "
                f"choose another port: --port {port + 1}."
            ) from error
        raise DeviceError(
            f"The board cannot be opened on port {port}: {error}. Choose another: --port 8137."
        ) from error
    return found


def own_address() -> str:
    """Return the address by which other machines reach this one, or a word for it.

    Connecting a datagram socket only looks up the way to a documentation address (RFC 5737);
    nothing is sent.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked, suppress(OSError):
        asked.connect(("192.0.2.1", 9))
        name: str = asked.getsockname()[0]
        return name
    return "<this machine>"
