"""How fast the board opens and follows, and whether it grows, in a real browser.

Every figure is measured here and now; nothing is asserted. A day is not waited for: its events
come as fast as they are answered, and the eight idle hours pass at `FASTER` times their pace. Then
as many beats are sent, ticks taken and timers drawn as in eight hours, and no hour of wall time
passes: what grows by the clock alone would not be seen.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import shutil
import statistics
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

OPENINGS, FOLLOWED, EVENTS = 5, 60, 5000
HOURS, FASTER, DRAWN = 8, 480, 0.5
OWNER = "owner-pass-of-the-benchmark-01234"
MEGABYTE = 1024 * 1024
UNTIL = """([name, wanted]) => new Promise(done => { const look = setInterval(() => {
  const found = name ? document.getElementById(name).textContent : window.seen.length;
  if (name ? found.includes(wanted) : found > wanted) { clearInterval(look); done(); } }, 5); })"""
WATCH = """() => { window.seen = []; new MutationObserver(() => window.seen.push(
  [document.getElementById('figure').textContent, Date.now() / 1000]))
  .observe(document.getElementById('figure'), {characterData: true, childList: true}); }"""


@contextmanager
def _served() -> Iterator[tuple[Any, Any]]:
    """Yield the loop of a new job and its board."""
    from handsfree.app import Conversation, Loop, now  # noqa: PLC0415 - what it costs is measured
    from handsfree.edge import jobs  # noqa: PLC0415
    from handsfree.edge.board.beside import Beside  # noqa: PLC0415
    from handsfree.edge.board.guard import Guard  # noqa: PLC0415
    from handsfree.edge.board.hub import Hub  # noqa: PLC0415
    from handsfree.edge.board.server import Ends, Server  # noqa: PLC0415
    from handsfree.edge.terminal import Terminal  # noqa: PLC0415
    from handsfree.library import library  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as folder:
        os.environ[jobs.SETTING] = folder
        with jobs.open_or_create("board", now()) as journal, Path(os.devnull).open("w") as nowhere:
            conversation = Conversation(library(), journal, Terminal(nowhere))
            hub = Hub(conversation.library, now)
            conversation.screen = Beside(conversation.screen, hub)
            loop = Loop(conversation)
            guard = Guard(OWNER, None, time.monotonic)
            server = Server(hub, guard, Ends(loop.typed_on_board, print), 0)
            conversation.open()
            server.start()
            thread = threading.Thread(target=loop.run, daemon=True)
            thread.start()
            yield loop, server
            loop.events.put(None)
            thread.join()
            server.close()


def _memory(pid: int) -> float:
    """Return the resident memory of a process, MB."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / MEGABYTE


def _of_the_browser(pid: int) -> float:
    """Return the resident memory of all processes below one, MB, but for those it shares."""
    total = 0.0
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            parent = int((folder / "stat").read_text().rsplit(")", 1)[1].split()[1])
            if parent == pid:
                pages = (folder / "statm").read_text().split()
                own = (int(pages[1]) - int(pages[2])) * os.sysconf("SC_PAGE_SIZE") / MEGABYTE
                total += own + _of_the_browser(int(folder.name))
        except OSError:
            continue
    return total


def _opened(browser: Any, address: str) -> tuple[float, float]:
    """Return seconds to the first paint, and until the job is shown, in a new window."""
    context = browser.new_context()
    page = context.new_page()
    page.goto(address)
    page.locator("#sayings button").first.wait_for()
    shown = page.evaluate("performance.now()") / 1000
    paint = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    context.close()
    return paint / 1000, shown


def _followed(page: Any, loop: Any) -> list[float]:
    """Return seconds from a line's coming in to its number's standing on the page."""
    from handsfree.dialogue.events import Typed  # noqa: PLC0415

    page.evaluate(WATCH)
    begun = []
    for number in range(FOLLOWED):
        begun.append(time.time())
        loop.events.put(Typed(f"what's {1000 + 30 * number} mil in inches", datetime.now(UTC)))
        page.evaluate(UNTIL, ["", number])
    seen = page.evaluate("window.seen")
    return [at - start for start, (_, at) in zip(begun, seen, strict=True)]


def _idle(page: Any) -> float:
    """Let the idle hours pass at their faster pace, and return how many beats the page took."""
    from handsfree import app  # noqa: PLC0415
    from handsfree.edge.board import server  # noqa: PLC0415

    page.evaluate("""() => { window.beats = 0; const taken = TAKES.beat;
      TAKES.beat = now => { window.beats += 1; taken(now); }; }""")
    tick, beat = app.TICK, server.BEAT
    app.TICK, server.BEAT = tick / FASTER, beat / FASTER
    beats, drawn = HOURS * 3600 / beat, int(beat / DRAWN)
    try:
        while (taken := page.evaluate("window.beats")) < beats:
            page.evaluate("times => { while (times--) showTimers(); }", drawn)
            page.wait_for_timeout(1000 * beat / FASTER)
    finally:
        app.TICK, server.BEAT = tick, beat
    return float(taken)


def _grown(page: Any, loop: Any, devtools: Any) -> list[tuple[str, float, str]]:
    """Return how much page, browser and program grow by many events and idle hours, MB."""
    from handsfree.dialogue.events import Typed  # noqa: PLC0415

    def sizes() -> tuple[float, float, float]:
        devtools.send("HeapProfiler.collectGarbage")
        heap = devtools.send("Runtime.getHeapUsage")["usedSize"] / MEGABYTE
        return heap, _of_the_browser(os.getpid()), _memory(os.getpid())

    def send(events: int) -> None:
        for number in range(events):
            line = f"what's {number % 997 + 3} mil in inches"
            loop.events.put(Typed(line, datetime.now(UTC)))
        loop.events.put(Typed(f"note {events}", datetime.now(UTC)))
        page.evaluate(UNTIL, ["lines", f"note {events}"])

    streams: list[str] = []
    page.on("request", lambda asked: streams.append(asked.url) if "/events" in asked.url else None)
    loop.events.put(Typed(f"set a timer for {HOURS + 1} hours", datetime.now(UTC)))
    send(EVENTS // 10)  # what is loaded once is no growth
    before = sizes()
    begun = time.perf_counter()
    send(EVENTS)
    took = time.perf_counter() - begun
    after = sizes()
    beats = _idle(page)
    rested = sizes()
    names = ("the page's heap", "the browser's processes", "our process")
    return [
        *(
            (f"page's heap, {when}", size[0], "MB")
            for when, size in (("before", before), ("after", rested))
        ),
        *(
            (f"our process, {when}", size[2], "MB")
            for when, size in (("before", before), ("after", rested))
        ),
        *(
            (f"grown after {EVENTS} events: {name}", now - then, "MB")
            for name, then, now in zip(names, before, after, strict=True)
        ),
        *(
            (f"grown after these and {HOURS} h idle, faster: {name}", now - then, "MB")
            for name, then, now in zip(names, before, rested, strict=True)
        ),
        (f"beats taken in {HOURS} h idle, {FASTER} times as fast", beats, ""),
        ("streams opened anew since the start", float(len(streams)), ""),
        (f"{EVENTS} events, written, answered and shown", took, "s"),
    ]


def main(arguments: list[str]) -> int:
    """Print the figures and return the exit code."""
    parser = argparse.ArgumentParser(prog="scripts/bench board")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(arguments)
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        print("There is no Chromium: install it with apt-get install chromium, then run again.")
        return 4
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - only where there is a browser

    flags = ["--no-sandbox"] if os.geteuid() == 0 else []
    with _served() as (loop, server), sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=flags)
        opened = [_opened(browser, server.address) for _ in range(OPENINGS)]
        page = browser.new_page()
        page.goto(server.address)
        page.locator("#sayings button").first.wait_for()
        first, *followed = _followed(page, loop)
        rows = [
            ("first paint, median", statistics.median(one for one, _ in opened), "s"),
            ("first paint, slowest", max(one for one, _ in opened), "s"),
            ("the job is shown, median", statistics.median(one for _, one in opened), "s"),
            ("follows a line, median", statistics.median(followed), "s"),
            ("follows a line, slowest but the first", max(followed), "s"),
            ("follows the first line, which makes the phrase book", first, "s"),
            *_grown(page, loop, page.context.new_cdp_session(page)),
        ]
        browser.close()
    if options.json:
        print(json.dumps({name: {"value": value, "unit": unit} for name, value, unit in rows}))
        return 0
    out = io.StringIO()
    for name, value, unit in rows:
        out.write(f"{name:<64} {value:8.3f} {unit}\n")
    print(out.getvalue(), end="")
    return 0
