"""The board's server against bad input: refused, or survived, and said clearly."""

from __future__ import annotations

import json
import socket
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing
from types import SimpleNamespace
from typing import Any

import pytest

from handsfree.edge.board.guard import Guard
from handsfree.edge.board.server import LONGEST, MOST_CONNECTIONS, Ends, Server
from handsfree.errors import DeviceError

Site = Any
Sites = Callable[..., Site]


def events(site: Site, query: str = "") -> Iterator[tuple[str, Any]]:
    """Yield the events of a stream, with what they hold."""
    with closing(socket.create_connection(("127.0.0.1", site.port), timeout=10)) as link:
        link.sendall(
            f"GET /events{query} HTTP/1.1\r\nHost: 127.0.0.1:{site.port}\r\n"
            f"Authorization: Bearer {site.guard.owner}\r\n\r\n".encode()
        )
        name = ""
        for raw in link.makefile("rb"):
            line = raw.decode().rstrip("\r\n")
            if line.startswith("event: "):
                name = line.removeprefix("event: ")
            elif line.startswith("data: "):
                yield name, json.loads(line.removeprefix("data: "))


def until(site: Site, wanted: Callable[[str, Any], bool], query: str = "") -> Any:
    """Return what the first wanted event of a stream holds."""
    return next(content for name, content in events(site, query) if wanted(name, content))


def said(text: str) -> Callable[[str, Any], bool]:
    return lambda name, lines: name == "lines" and any(text in one["text"] for one in lines)


def test_what_is_typed_on_the_board_is_one_stream_with_the_terminal(site: Site) -> None:
    status, _, _ = site.ask("POST", "/say", {"text": "what's nineteen mil in inches"})
    assert status == 204
    until(site, said("19 mm is 0.748 in."))
    shown = until(site, lambda name, _: name == "glance")
    assert (shown["number"], shown["unit"]) == ("0.748", "in")
    assert "> what's nineteen mil in inches" in site.out.getvalue()
    assert "19 mm is 0.748 in." in site.out.getvalue()


def test_a_window_that_comes_back_misses_nothing_and_gets_nothing_twice(site: Site) -> None:
    site.type("what's nineteen mil in inches")
    first = until(site, said("0.748"))
    site.type("what's twenty mil in inches")
    until(site, said("0.787"))
    query = f"?run={site.hub.run}&after={first[-1]['n']}"
    lines = until(site, lambda name, _: name == "lines", query)
    assert lines[0]["n"] == first[-1]["n"] + 1
    other_run = until(site, lambda name, _: name == "lines", "?run=other&after=9999")
    assert other_run[0]["n"] == 1


@pytest.mark.parametrize(
    ("method", "path", "content", "headers", "status", "words"),
    [
        ("GET", "/events", None, {"authorization": ""}, 401, "Take the address"),
        ("GET", "/events", None, {"authorization": "Bearer wrong"}, 401, "Take the address"),
        ("POST", "/say", {"text": "done"}, {"authorization": "Bearer wrong"}, 401, "pass"),
        ("GET", "/", None, {"host": "rebound.example"}, 421, "not an address"),
        ("GET", "/", None, {"host": ""}, 400, ""),
        ("GET", "/events", None, {"origin": "http://elsewhere.example"}, 403, "own page"),
        ("POST", "/say", {"text": "done"}, {"origin": "http://elsewhere.example"}, 403, "own page"),
        ("POST", "/say", {"text": "done"}, {"origin": ""}, 403, "own page"),
        ("POST", "/say", {"text": "done"}, {"origin": "null"}, 403, "own page"),
        ("POST", "/say", {"text": "x" * LONGEST}, {}, 413, "Too long"),
        ("POST", "/say", b"\xff\x00", {}, 400, "not what the board sends"),
        ("POST", "/say", b"[" * 4000, {}, 400, "not what the board sends"),
        ("POST", "/say", [1], {}, 400, "not what the board sends"),
        ("POST", "/say", {"text": " \n "}, {}, 400, "Nothing was typed"),
        ("POST", "/pair", {"code": "000000"}, {}, 403, "not the code"),
        ("GET", "/say", None, {}, 405, ""),
        ("GET", "/../pyproject.toml", None, {}, 404, ""),
        ("GET", "/board.css/../../says.toml", None, {}, 404, ""),
    ],
)
def test_what_is_refused_is_told(  # noqa: PLR0913 - a request is all of these
    site: Site,
    method: str,
    path: str,
    content: Any,
    headers: dict[str, str],
    status: int,
    words: str,
) -> None:
    got, body, _ = site.ask(method, path, content, **headers)
    assert got == status
    assert words in body.decode()
    assert "done" not in site.out.getvalue()


def test_every_answer_forbids_what_a_page_could_be_made_to_do(site: Site) -> None:
    """The policy by the words of Content Security Policy Level 3 (W3C)."""
    for path, headers in (("/", {}), ("/events", {"authorization": ""}), ("/nowhere", {})):
        _, body, held = site.ask("GET", path, **headers)
        policy = held["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert held["x-content-type-options"] == "nosniff"
        assert held["server"] is None
        assert b"<script>" not in body
        assert b"http://" not in body.replace(b"http://www.w3.org", b"")
        assert b"https://" not in body


def test_the_page_holds_nothing_of_the_job(site: Site) -> None:
    site.type("I'm Rosa")
    until(site, said("Rosa"))
    for path in ("/", "/board.js", "/board.css", "/icon.svg"):
        status, body, _ = site.ask("GET", path, authorization="")
        assert status == 200
        assert b"Rosa" not in body


def test_a_body_that_never_comes_and_a_length_that_lies(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("handsfree.edge.board.server.PATIENCE", 0.3)
    for length in ("100", "99999999999"):
        with closing(socket.create_connection(("127.0.0.1", site.port), timeout=10)) as link:
            link.sendall(
                f"POST /say HTTP/1.1\r\nHost: 127.0.0.1:{site.port}\r\n"
                f"Origin: http://127.0.0.1:{site.port}\r\nContent-Length: {length}\r\n"
                f"Authorization: Bearer {site.guard.owner}\r\n\r\n{{".encode()
            )
            assert b" 408 " in link.recv(200)


def test_a_thousand_connections_are_survived(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who was there stays, who says nothing goes, and then the board opens again."""
    monkeypatch.setattr("handsfree.edge.board.server.PATIENCE", 1.0)
    stream = events(site)
    assert next(stream)[0] == "hello"
    with ExitStack() as stack:
        for _ in range(1000):
            link = stack.enter_context(closing(socket.socket()))
            link.settimeout(5)
            link.connect(("127.0.0.1", site.port))
        site.type("what's nineteen mil in inches")
        assert any(said("0.748")(*event) for event in stream)
        deadline = time.monotonic() + 10
        status = 0
        while status != 200 and time.monotonic() < deadline:
            try:
                status, _, _ = site.ask("GET", "/")
            except OSError:
                time.sleep(0.1)
        assert status == 200
    assert MOST_CONNECTIONS < 1000


def test_a_board_that_sleeps_gets_what_holds_when_it_wakes(site: Site) -> None:
    stream = events(site)
    assert next(stream)[0] == "hello"
    for number in range(40, 340):
        site.type(f"convert {number} mil to inches")
    site.type("what's nineteen mil in inches")
    numbers = [
        content["number"] for name, content in until_number(stream, "0.748") if name == "glance"
    ]
    assert numbers[-1] == "0.748"


def until_number(stream: Iterator[tuple[str, Any]], number: str) -> Iterator[tuple[str, Any]]:
    for name, content in stream:
        yield name, content
        if name == "glance" and content["number"] == number:
            return


def test_a_port_in_use_is_told(site: Site) -> None:
    ends = Ends(lambda _: True, lambda _: None)
    with pytest.raises(DeviceError, match=f"{site.port} is in use.*--port {site.port + 1}"):
        Server(site.hub, Guard("x", None, lambda: 0.0), ends, site.port)


def test_other_machines_only_look_unless_told_otherwise(site_of: Sites) -> None:
    for shared, status in (("look", 403), ("type", 204)):
        site = site_of(shared)
        got, body, _ = site.ask("POST", "/pair", {"code": site.guard.code}, authorization="")
        assert got == 200
        bearer = "Bearer " + json.loads(body)["pass"]
        got, _, _ = site.ask("POST", "/say", {"text": "where am I"}, authorization=bearer)
        assert got == status
        assert "was let in" in site.warned[-1]
        assert site.guard.code in site.warned[-1]


def test_guessing_codes_rests_the_pairing_and_is_told(site_of: Sites) -> None:
    site = site_of("look")
    wrong = f"{(int(site.guard.code) + 1) % 1_000_000:06d}"
    codes = [site.ask("POST", "/pair", {"code": wrong})[0] for _ in range(6)]
    assert codes == [403, 403, 403, 403, 429, 429]
    assert "wrong codes" in site.warned[-1]


def test_it_listens_on_this_machine_only_unless_shared(site_of: Sites) -> None:
    assert site_of().server._socket.getsockname()[0] == "127.0.0.1"  # noqa: SLF001 - what the system says
    assert site_of("look").server._socket.getsockname()[0] == "0.0.0.0"  # noqa: S104, SLF001 - as above


def test_the_record_gives_the_conversation_back(site: Site) -> None:
    entries = [
        SimpleNamespace(words="start a cut"),
        SimpleNamespace(words="start a cut"),
        SimpleNamespace(words="done"),
    ]
    site.hub.remember(entries)
    _, lines = site.hub.after(0)
    assert [one.text for one in lines][-2:] == ["start a cut", "done"]
