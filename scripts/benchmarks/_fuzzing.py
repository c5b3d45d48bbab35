"""Every parser that takes bytes from outside, and how it is fed: sound files with parts changed.

A case passes when the parser takes it or says in its own words why not; any other exception, and
more than `PATIENCE` seconds, is a fault. What the board takes over HTTP is fuzzed beside it.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import signal
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from handsfree.cli import main as command_line
from handsfree.dialogue.absent import present
from handsfree.dialogue.engine import opening
from handsfree.dialogue.folding import folded
from handsfree.dialogue.state import State
from handsfree.dialogue.vocabulary import vocabulary
from handsfree.edge.ear.sources import FileSource, PcmSource
from handsfree.edge.journal import read
from handsfree.edge.replay import Player, ScriptError, played
from handsfree.errors import DeviceError
from handsfree.library import library, with_pack
from handsfree.procedures.files import read_procedures
from handsfree.procedures.rules import Names
from handsfree.record.entries import entry_to
from handsfree.record.text import lines

ROOT = Path(__file__).parents[2]
AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
PATIENCE = 20
"""Seconds after which a case counts as a hang; the slowest sound one takes about one."""
CODES = (0, 2, 3, 4)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner, max_size=3)
    ),
    max_leaves=6,
)


@dataclass(frozen=True)
class Target:
    """A parser: what it is fed, how it is called, and its share of the cases."""

    name: str
    cases: st.SearchStrategy[Any]
    take: Callable[[Any], None]
    share: float


@st.composite
def changed(draw: st.DrawFn, sound: bytes) -> bytes:
    """Draw sound bytes with up to six parts overwritten, cut out, repeated or put in."""
    data = bytearray(sound)
    for _ in range(draw(st.integers(0, 6))):
        start = draw(st.integers(0, max(0, len(data))))
        length = draw(st.integers(0, 40))
        match draw(st.integers(0, 4)):
            case 0:
                data[start : start + length] = draw(st.binary(max_size=40))
            case 1:
                del data[start : start + length]
            case 2:
                data[start:start] = data[start : start + length] * draw(st.integers(1, 30))
            case 3:
                data[start:start] = draw(st.text(max_size=20)).encode(errors="surrogatepass")
            case _:
                del data[start:]
    return bytes(data)


def changed_text(sound: str) -> st.SearchStrategy[str]:
    """Draw a sound text with parts changed, as far as it is still text."""
    return changed(sound.encode()).map(lambda data: data.decode(errors="replace"))


@contextlib.contextmanager
def in_time() -> Iterator[None]:
    """Raise `TimeoutError` where a case takes too long."""

    def late(*_: object) -> None:
        raise TimeoutError(f"more than {PATIENCE} seconds")

    before = signal.signal(signal.SIGALRM, late)
    signal.alarm(PATIENCE)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def _record() -> list[dict[str, Any]]:
    """Return the entries of a short job as JSON objects."""
    player, found = Player(library()), []
    for text in (
        *("this is Sam", "the tube is three eighths", "bender radius is fifteen sixteenths"),
        *("dimensions are to the centre", "where do I mark a ninety at twelve", "deburr the end"),
        *("glasses on", "done", "yes", "note the drain is blocked", "pause"),
    ):
        _, effects = player.hear(text)
        found.extend(entry_to(e.entry) for e in effects if hasattr(e, "entry"))
    return [json.loads(json.dumps(entry)) for entry in found]


def sealed(entries: list[Any]) -> bytes:
    """Return a journal of these entries with its chain whole, by the rule it publishes."""
    previous, out = "0" * 64, b""
    for number, entry in enumerate(entries, start=1):
        body = {"boot": "b", "entry": entry, "mono": number, "previous": previous, "seq": number}
        plain = json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        raw = plain.encode(errors="surrogatepass")
        previous = hashlib.sha256(previous.encode() + b"\n" + raw).hexdigest()
        whole = json.dumps(
            {**body, "hash": previous}, sort_keys=True, separators=(",", ":"), ensure_ascii=False
        )
        out += whole.encode(errors="surrogatepass") + b"\n"
    return out


@st.composite
def journals(draw: st.DrawFn, entries: list[dict[str, Any]]) -> bytes:
    """Draw a journal with changed bytes, or with a whole chain over changed entries."""
    if draw(st.booleans()):
        return draw(changed(sealed(entries)))
    odd = json.loads(json.dumps(entries))
    for _ in range(draw(st.integers(1, 4))):
        entry = odd[draw(st.integers(0, len(odd) - 1))]
        key = draw(st.sampled_from([*sorted(entry), "odd"]))
        entry[key] = draw(JSON | st.sampled_from([e.get(key) for e in odd]))
    return sealed(draw(st.permutations(odd)) if draw(st.booleans()) else odd)


def _take_journal(folder: Path) -> Callable[[bytes], None]:
    known, file = library(), folder / "one.jsonl"

    def take(data: bytes) -> None:
        file.write_bytes(data)
        found = read(file)
        list(lines(found.entries))
        state = State(present(folded(found.entries), known))
        vocabulary(state, known)
        opening(state, AT, known)

    return take


def _pack() -> dict[str, str]:
    folder = ROOT / "tests" / "packs" / "brightwater"
    return {
        path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted(folder.rglob("*.*"))
    }


@st.composite
def packs(draw: st.DrawFn, texts: dict[str, str]) -> dict[str, str]:
    """Draw a pack with one or two of its files changed, left away or renamed."""
    found = dict(texts)
    for _ in range(draw(st.integers(1, 2))):
        name = draw(st.sampled_from(sorted(texts)))
        if draw(st.integers(0, 9)):
            found[name] = draw(changed_text(texts[name]))
        else:
            found[draw(st.text(max_size=12))] = found.pop(name, "")
    return found


def _take_procedure(text: str) -> None:
    known = library()
    names = Names(
        frozenset(known.cards), frozenset(known.facts), known.sources, known.flags, known.hazards
    )
    read_procedures({"cut.toml": text}, names)


def _wav() -> bytes:
    out = io.BytesIO()
    soundfile.write(out, np.zeros(800, dtype=np.float32), 8000, format="WAV", subtype="PCM_16")
    return out.getvalue()


def _take_sound(folder: Path) -> Callable[[bytes], None]:
    file = folder / "one.wav"

    def take(data: bytes) -> None:
        file.write_bytes(data)
        with contextlib.suppress(DeviceError):
            for _ in FileSource(file):
                pass
        with contextlib.suppress(DeviceError):
            for _ in PcmSource(io.BytesIO(data)):
                pass

    return take


WORDS = (
    *("ask", "replay", "jobs", "record", "completion", "bash", "--json", "--verify", "--help"),
    *("--version", "--with", "--script", "--drawing", "--", "-", "--job", "where do I mark a"),
    *("ninety at", "three eighths", "what's 19 mil in inches", "torque on a half inch flare", "x"),
)
"""What command lines are made of; nothing that waits for a device or for typing."""
SCRIPT = (
    "@fact dimension_to = centre\n@bender 3/8 radius=15/16 between=1-1/4\n@worker Sam\n@flag ppe\n"
    "> where do I mark a ninety at twelve\n@clock +60s\n@at cut/2\n> done\n> why\n> leave it\n"
)


def _take_arguments(folder: Path) -> Callable[[list[str]], None]:
    def take(arguments: list[str]) -> None:
        with (
            contextlib.chdir(folder),
            contextlib.redirect_stdout(io.StringIO()),
            contextlib.redirect_stderr(io.StringIO()),
        ):
            try:
                code = command_line(arguments)
            except SystemExit as ended:
                code = int(ended.code or 0)
        if code not in CODES:
            raise AssertionError(f"exit code {code}")

    return take


def _take_script(text: str) -> None:
    with contextlib.suppress(ScriptError):
        for _ in played(Player(library()), text):
            pass


@contextlib.contextmanager
def targets() -> Iterator[tuple[Target, ...]]:
    """Give every parser with a folder to write its cases into."""
    plain = st.text(st.characters(exclude_characters="/\0"), max_size=20)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        cut = (ROOT / "handsfree" / "data" / "procedures" / "cut.toml").read_text(encoding="utf-8")
        yield (
            Target("journal", journals(_record()), _take_journal(folder), 0.2),
            Target("procedure", changed_text(cut), _take_procedure, 0.2),
            Target("pack", packs(_pack()), with_pack_taken, 0.05),
            Target("sound", changed(_wav()), _take_sound(folder), 0.25),
            Target(
                "command line",
                st.lists(st.sampled_from(WORDS) | plain, min_size=1, max_size=6),
                _take_arguments(folder),
                0.2,
            ),
            Target("script", changed_text(SCRIPT), _take_script, 0.1),
        )


def with_pack_taken(texts: dict[str, str]) -> None:
    """Take a pack, and see that a fault leaves the shipped library as it is."""
    found = with_pack(texts)
    if found.left_out and found.procedures is not library().procedures:
        raise AssertionError("a faulty pack was taken in part")


def fuzz(target: Target, cases: int, chance: int) -> int:
    """Return how many cases a parser took; raises what it raised, with the smallest such case."""
    taken = 0

    @seed(chance)
    @settings(
        max_examples=cases,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=(Phase.generate, Phase.shrink),
    )
    @given(target.cases)
    def run(case: Any) -> None:
        nonlocal taken
        taken += 1
        with in_time():
            target.take(case)

    run()
    return taken
