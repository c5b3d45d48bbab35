"""The board in a real browser: it follows, types, comes back, and everyone can use it."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from handsfree.dialogue.events import Alternative, Heard
from handsfree.record.entries import FlagSet, Frame, JointMade, ProcedureStarted

AT = datetime.now(UTC)
AXE = Path(sys.prefix) / "axe-core" / "axe.min.js"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(
        CHROMIUM is None, reason="there is no Chromium: the board was not looked at"
    ),
]
playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect

Site = Any
Page = Any


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    arguments = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with playwright.sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=CHROMIUM, args=arguments)
        yield found
        found.close()


@pytest.fixture
def opened(browser: Any) -> Iterator[Callable[..., Page]]:
    """Return what opens a window; afterwards none may have complained or asked elsewhere."""
    contexts, complaints, asked = [], list[str](), list[str]()

    def window(address: str, **settings: Any) -> Page:
        contexts.append(browser.new_context(**settings))
        page = contexts[-1].new_page()
        page.set_default_timeout(8000)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "console",
            lambda told: None if "Failed to load" in told.text else complaints.append(told.text),
        )
        page.on("request", lambda request: asked.append(request.url))
        page.goto(address)
        return page

    yield window
    for context in contexts:
        context.close()
    assert complaints == [], "no error, and nothing that the policy had to stop"
    assert [
        url for url in asked if not url.startswith(("http://127.0.0.1:", "blob:http://127"))
    ] == []


def hear(site: Site, *sentences: str) -> None:
    for text in sentences:
        site.loop.events.put(Heard((Alternative(text),), datetime.now(UTC)))


def typed(page: Page, text: str) -> None:
    page.fill("#words", text)
    page.press("#words", "Enter")


def test_it_follows_a_spoken_job(site: Site, opened: Callable[..., Page]) -> None:
    page = opened(site.server.address)
    hear(site, "start lockout")
    expect(page.locator("#sentence")).to_have_text(
        "Tell the person in charge that the unit goes off."
    )
    expect(page.locator("#procedure")).to_have_text("Lockout")
    expect(page.locator("#place")).to_have_text("1 of 11")
    hear(site, "what's nineteen mil in inches")
    expect(page.locator("#figure")).to_have_text("0.748")
    expect(page.locator("#unit")).to_have_text("in")
    expect(page.locator("#heard")).to_have_text("what's nineteen mil in inches")
    hear(site, "set a timer for ten minutes")
    expect(page.locator("#timers time")).to_have_text("9:59")
    expect(page.locator("#lines")).to_contain_text("19 mm is 0.748 in.")


def test_a_caution_stands_on_the_board_while_it_is_in_force(
    site_of: Callable[..., Site], opened: Callable[..., Page]
) -> None:
    place = (Frame(procedure="cut", step="6"),)
    site = site_of(
        entries=[
            FlagSet(at=AT, flag="ppe", evidence="glasses on"),
            FlagSet(at=AT, flag="tube_known", evidence="new tube"),
            ProcedureStarted(at=AT, procedure="cut", place=place),
        ]
    )
    page = opened(site.server.address)
    expect(page.locator("#caution-text")).to_have_text("The end will be sharp.")
    expect(page.locator("#caution-text")).to_be_visible()
    assert page.locator("#caution-text").get_attribute("aria-live") == "assertive"
    page.click("#sayings .answer")
    expect(page.locator("#caution")).to_be_hidden()


def test_two_windows_are_one_conversation(site: Site, opened: Callable[..., Page]) -> None:
    first, second = opened(site.server.address), opened(site.server.address)
    expect(second.locator("#sayings button").first).to_be_visible()
    typed(first, "what's nineteen mil in inches")
    expect(second.locator("#figure")).to_have_text("0.748")
    typed(second, "I'm Rosa")
    expect(first.locator("#worker")).to_have_text("Rosa")
    assert "> I'm Rosa" in site.out.getvalue()


def test_a_question_is_answered_with_a_touch(site: Site, opened: Callable[..., Page]) -> None:
    page = opened(site.server.address, has_touch=True, viewport={"width": 390, "height": 844})
    typed(page, "the tube is three eighths")
    typed(page, "start a flare")
    expect(page.locator("#question")).to_have_text("High-pressure gas, or an older one?")
    page.tap("text=high pressure")
    expect(page.locator("#question")).to_be_hidden()
    expect(page.locator("#balloon-number")).to_have_text("1")


def test_the_piece_is_drawn_and_told_to_who_cannot_see(
    site: Site, opened: Callable[..., Page]
) -> None:
    page = opened(site.server.address)
    for line in (
        "the tube is three eighths",
        "dimensions to centre",
        "radius is fifteen sixteenths",
        "ten ninety eighteen ninety twelve",
    ):
        typed(page, line)
    image = page.locator("#paper img")
    expect(image).to_be_visible()
    assert "Cut 39-1/4" in (image.get_attribute("alt") or "")
    assert page.evaluate("document.querySelector('#paper img').naturalWidth") > 0
    page.click("#paper button")
    assert page.locator("#paper button").bounding_box()["width"] == page.viewport_size["width"]


def test_a_reload_loses_nothing(site: Site, opened: Callable[..., Page]) -> None:
    page = opened(site.server.address)
    hear(site, "what's nineteen mil in inches", "set a timer for ten minutes", "start lockout")
    expect(page.locator("#place")).to_have_text("1 of 11")
    shown = "['figure', 'heard', 'place', 'sentence', 'lines'].map(id => at(id).textContent)"
    before = page.evaluate(shown)
    page.reload()
    expect(page.locator("#place")).to_have_text("1 of 11")
    assert page.evaluate(shown) == before
    expect(page.locator("#lines p").last).to_be_in_viewport()
    expect(page.locator("#timers time")).to_be_visible()


def test_it_comes_back_when_the_program_was_killed_and_started_again(
    tmp_path: Path, opened: Callable[..., Page]
) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = str(free.getsockname()[1])
    command = [sys.executable, "-m", "handsfree", "board", "--job", "roof", "--port", port]
    settings = {**os.environ, "HANDSFREE_JOBS": str(tmp_path)}

    def started() -> tuple[subprocess.Popen[str], str]:
        program = subprocess.Popen(
            command, env=settings, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True
        )
        assert program.stdout is not None
        return program, program.stdout.readline().split()[1]

    program, address = started()
    try:
        page = opened(address)
        typed(page, "start lockout")
        expect(page.locator("#place")).to_have_text("1 of 11")
        typed(page, "what's nineteen mil in inches")
        expect(page.locator("#figure")).to_have_text("0.748")
        program.send_signal(signal.SIGKILL)
        program.communicate()
        expect(page.locator("#link")).to_contain_text("No connection")
        program, again = started()
        assert again == address, "the same pass, so that open boards find it"
        expect(page.locator("#link")).to_be_hidden()
        expect(page.locator("#place")).to_have_text("1 of 11")
        expect(page.locator("#figure")).to_have_text("0.748")
        expect(page.locator("#lines")).to_contain_text("what's nineteen mil in inches")
        expect(page.locator("#lines")).to_contain_text("Lockout")
        typed(page, "where am I")
        expect(page.locator("#lines")).to_contain_text("where am I")
    finally:
        program.kill()
        program.communicate()


HOSTILE = (
    'note <img src=x onerror="window.bad=1">',
    "note </script><script>window.bad=2</script>",
    'note " onfocus=window.bad=3 autofocus x="',
    "I'm <svg onload=window.bad=4>",
    "note event: glance\\ndata: {}\\n\\n",
    "note \u202egnp.exe \u0000 \u2028 \ufeff",
)


def test_hostile_notes_are_only_text(site: Site, opened: Callable[..., Page]) -> None:
    page = opened(site.server.address)
    for line in HOSTILE:
        site.type(line)
    site.type("what's nineteen mil in inches")
    expect(page.locator("#figure")).to_have_text("0.748")
    assert page.evaluate("window.bad") is None
    assert page.locator("#sheet script, #lines img, #lines svg, #worker svg").count() == 0
    expect(page.locator("#lines")).to_contain_text('<img src=x onerror="window.bad=1">')


NASTY = '<img src=x onerror="window.bad=5">'


def test_the_joints_are_listed_with_their_state(
    site_of: Callable[..., Site], opened: Callable[..., Page]
) -> None:
    made = [
        JointMade(at=AT, number=number, procedure="make_up", values={"torque": "34 N·m"})
        for number in range(1, 15)
    ]
    nasty = JointMade(at=AT, number=15, procedure=NASTY, values={"size": NASTY, "torque": NASTY})
    page = opened(site_of(entries=[*made, nasty]).server.address)
    rows = page.locator("#made > li")
    expect(rows).to_have_count(13)
    expect(rows.first).to_contain_text("15")
    expect(rows.first.locator(".kind")).to_have_text(f"{NASTY} {NASTY}")
    expect(rows.first.locator(".states li").nth(1)).to_have_text(NASTY)
    expect(rows.nth(1)).to_contain_text("flared")
    expect(rows.nth(1).locator(".states li")).to_have_text(
        ["not inspected", "34 N·m", "not tested"]
    )
    expect(rows.last).to_have_text("and 3 before, in the record")
    assert page.evaluate("window.bad") is None
    assert page.locator("#made img").count() == 0
    letters = "parseFloat(getComputedStyle(document.querySelector('#made .kind')).fontSize)"
    assert page.evaluate(letters) >= 25, "read from two metres"


def test_all_of_it_can_be_done_with_the_keyboard(site: Site, opened: Callable[..., Page]) -> None:
    page = opened(site.server.address)
    hear(site, "set a timer for ten minutes", "unroll the tube")
    expect(page.locator("#place")).to_contain_text("of")
    page.keyboard.press("Tab")
    expect(page.locator(".past")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.type("glasses on")
    page.keyboard.press("Enter")
    expect(page.locator("#lines")).to_contain_text("glasses on")
    expect(page.locator("#words")).to_be_focused()
    page.evaluate("document.activeElement.blur(); scrollTo(0, 0)")
    reached = set()
    for _ in range(30):
        page.keyboard.press("Tab")
        reached.add(
            page.evaluate("document.activeElement.textContent || document.activeElement.id")
        )
    assert {"repeat", "words", "Say"} <= reached
    page.locator("#sayings button", has_text="repeat").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#lines .typed-line").last).to_contain_text("repeat")


@pytest.mark.skipif(not AXE.exists(), reason="axe-core is not at hand: WCAG was not checked")
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1440])
def test_axe_finds_no_barrier(
    site_of: Callable[..., Site], opened: Callable[..., Page], scheme: str, width: int
) -> None:
    site = site_of(entries=[JointMade(at=AT, number=1, procedure="braze")])
    page = opened(
        site.server.address, color_scheme=scheme, viewport={"width": width, "height": 900}
    )
    axe = AXE.read_text(encoding="utf-8")

    def barriers() -> list[str]:
        page.evaluate(axe)
        page.wait_for_timeout(200)  # the caution has come to rest
        found = page.evaluate("rules => axe.run({runOnly: rules})", RULES)
        assert len(found["passes"]) > 15
        return [f"{x['id']}: {x['nodes'][0]['html']}" for x in found["violations"]]

    expect(page.locator("#sayings button").first).to_be_visible()
    assert barriers() == []
    for line in (
        "the tube is three eighths",
        "dimensions to centre",
        "radius is fifteen sixteenths",
    ):
        site.type(line)
    site.type("ten ninety eighteen ninety twelve", "set a timer for ten minutes", "unroll the tube")
    expect(page.locator("#paper img")).to_be_visible()
    expect(page.locator("#sayings .spoken")).to_be_visible()
    page.evaluate("at('caution').hidden = false; put('caution-text', 'Heavy coil? Two people.')")
    page.evaluate("body.classList.add('lost'); link('No connection'); put('refused', 'Not sent.')")
    assert barriers() == []
    page.evaluate("askForCode('Type the code.'); put('pairing-fault', 'That is not the code.')")
    assert barriers() == []


@pytest.mark.parametrize("width", [320, 820, 1440])
def test_it_fits_and_gloves_can_touch_it(
    site: Site, opened: Callable[..., Page], width: int
) -> None:
    """No sideways scrolling at 320 px (WCAG 2.2, 1.4.10), targets above 44 px (2.5.5)."""
    page = opened(site.server.address, viewport={"width": width, "height": 800})
    site.type("start lockout", "what's 123456 mil in inches", "note " + "long" * 60)
    expect(page.locator("#lines")).to_contain_text("longlong")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    boxes = [one.bounding_box() for one in page.locator("button:visible, input:visible").all()]
    assert len(boxes) > 4
    assert min(min(box["height"], box["width"]) for box in boxes) >= 44


def test_who_wants_no_motion_gets_none(site: Site, opened: Callable[..., Page]) -> None:
    page = opened(site.server.address, reduced_motion="reduce")
    moving = "getComputedStyle(at('caution')).animationName"
    assert page.evaluate(moving) == "none"
    assert opened(site.server.address).evaluate(moving) == "come"


def test_a_browser_that_went_to_sleep_catches_up(site: Site, opened: Callable[..., Page]) -> None:
    page = opened(site.server.address)
    expect(page.locator("#sayings button").first).to_be_visible()
    page.evaluate("Object.defineProperty(document, 'hidden', {get: () => window.asleep})")
    page.evaluate("window.tell = () => document.dispatchEvent(new Event('visibilitychange'))")
    tell = "asleep => {window.asleep = !!asleep; window.tell()}"
    page.evaluate(tell, "asleep")
    hear(site, "what's nineteen mil in inches", "what's twenty mil in inches")
    page.wait_for_timeout(300)
    assert page.locator("#figure").inner_text() == "none yet"
    page.evaluate(tell, "")
    expect(page.locator("#figure")).to_have_text("0.7874")
    expect(page.locator("#lines")).to_contain_text("0.748")


def test_another_machine_pairs_and_may_only_look(
    site_of: Callable[..., Site], opened: Callable[..., Page]
) -> None:
    site = site_of("look")
    page = opened(f"http://127.0.0.1:{site.port}/")
    expect(page.locator("#pairing")).to_be_visible()
    page.fill("#code", "x")
    page.press("#code", "Enter")
    expect(page.locator("#pairing-fault")).to_contain_text("not the code")
    page.fill("#code", site.guard.code)
    page.press("#code", "Enter")
    expect(page.locator("#sayings button").first).to_be_disabled()
    expect(page.locator("#words")).to_be_hidden()
    hear(site, "what's nineteen mil in inches")
    expect(page.locator("#figure")).to_have_text("0.748")


def test_an_old_address_is_told(site: Site, opened: Callable[..., Page]) -> None:
    page = opened(f"http://127.0.0.1:{site.port}/#an-old-pass")
    expect(page.locator("#pairing-why")).to_contain_text("Take the address from the terminal")
