"""A firm's pack adds what is its own, marked as such, and loosens nothing."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from handsfree.app import Conversation
from handsfree.dialogue.events import Typed
from handsfree.edge.journal import Journal
from handsfree.edge.packs import library_with
from handsfree.edge.replay import Player, played
from handsfree.edge.terminal import Terminal
from handsfree.library import Library, library, with_pack
from handsfree.record.text import lines

FOLDER = Path(__file__).parent.parent / "packs" / "brightwater"
AT = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def texts() -> dict[str, str]:
    return {
        path.relative_to(FOLDER).as_posix(): path.read_text(encoding="utf-8")
        for path in FOLDER.rglob("*.*")
    }


@pytest.fixture(scope="module")
def known() -> Library:
    found = library_with(str(FOLDER))
    assert found.left_out == ()
    return found


TIDY = "procedures/brightwater_tidy.toml"
STATED = """
[[step]]
id = "1"
kind = "stated"
title = "Empty."
say = "Gauge at zero, a port open."
check = "Is it zero and open?"
insist = "I need to hear it: zero and open."
states = ["{states}"]
warns = ["loosen_nut"]
"""
NUT = """
[[step]]
id = "1n"
kind = "done"
title = "Nut."
say = "Undo the nut with two wrenches."
{more}
"""


def step(more: str) -> str:
    """Return the pack's procedure with a step put before its others."""
    head, _, rest = texts()[TIDY].partition("[[step]]")
    return head + more + "\n[[step]]" + rest.replace('"1"', '"9"')


def changed(file: str, text: str) -> list[str]:
    found = with_pack({**texts(), file: text})
    if found.left_out:
        assert found.procedures is library().procedures, "the pack is out as a whole"
        assert found.firm is None
    return [str(fault) for fault in found.left_out]


def hear(player: Player, *sentences: str) -> list[str]:
    return [said for text in sentences for said in player.hear(text)[0].say]


def test_what_is_the_firms_is_said_to_be(known: Library) -> None:
    player = Player(known)
    assert hear(player, "who has the roof keys") == [
        "Brightwater Cooling says: At the front desk, against a signature."
    ]
    assert hear(player, "which shelf is the torque wrench on") == [
        "Brightwater Cooling says: The torque wrench: shelf B 2."
    ]
    assert "Brightwater Cooling's own procedure." in hear(player, "tidy the roof", "four five six")
    assert "By Brightwater Cooling." in hear(player, "the northern crew")


def test_the_firm_is_named_where_its_procedure_is(known: Library) -> None:
    player = Player(known)
    script = "@at brightwater_tidy/1\n> where am I\n> done\n> yes"
    said = [text for _, told, _ in played(player, script) if told for text in told.say]
    assert said[0] == "Tidy the roof, Brightwater Cooling's own, step 1 of 2."
    assert said[-1] == "Tidy the roof, Brightwater Cooling's own finished."


def test_protection_comes_before_the_firms_first_step(known: Library) -> None:
    said = hear(Player(known), "tidy the roof", "four five six")
    assert said[-1] == "Glasses on?"


def test_a_further_phrase_asks_for_what_is_shipped(known: Library) -> None:
    assert Player(known).hear("do a shop flare")[0].what == "procedure:flare_eccentric"
    assert Player(known).hear("nut torque for half inch")[0].what == "torque"


def test_every_shipped_sentence_means_what_it_meant(known: Library) -> None:
    shipped = library()
    assert {p.id for p in shipped.procedures.values()} < set(known.procedures)
    for name, procedure in shipped.procedures.items():
        assert known.procedures[name] == procedure
    assert known.flags == shipped.flags
    assert known.hazards == shipped.hazards
    assert known.safety == shipped.safety
    assert {name: known.facts[name] for name in shipped.facts} == dict(shipped.facts)


def test_the_record_shows_whose_it_was(known: Library, tmp_path: Path) -> None:
    with Journal(tmp_path / "one.jsonl") as journal:
        conversation = Conversation(known, journal, Terminal(), clock=lambda: AT)
        for text in ("tidy the roof", "four five six"):
            type_in(conversation, text)
    with Journal(tmp_path / "one.jsonl") as journal:
        record = "\n".join(lines(journal.entries))
    assert "started brightwater_tidy (Brightwater Cooling, edition 2026-03)" in record
    assert "fact brightwater permit" in record


def type_in(conversation: Conversation, text: str) -> None:
    conversation.handle(Typed(text, AT))


def test_a_job_goes_on_without_its_pack_and_again_with_it(
    known: Library, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "one.jsonl"
    with Journal(file) as journal:
        conversation = Conversation(known, journal, Terminal(), clock=lambda: AT)
        for text in ("tidy the roof", "four five six", "glasses are on"):
            type_in(conversation, text)
    with Journal(file) as journal:
        without = Conversation(library(), journal, Terminal(), clock=lambda: AT)
        without.open()
        assert "Brightwater tidy is not among my procedures." in capsys.readouterr().err
        type_in(without, "where am I")
        type_in(without, "what's 19 mil in inches")
        assert "3/4 in." in capsys.readouterr().out
    with Journal(file) as journal:
        again = Conversation(known, journal, Terminal(), clock=lambda: AT)
        again.open()
        assert "Protection and work area" in capsys.readouterr().out


def test_a_faulty_pack_is_left_out_aloud_and_the_talk_goes_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "pack.toml").write_text('id = "x"\nname = "X"\n')
    found = library_with(str(tmp_path))
    with Journal(tmp_path / "one.jsonl") as journal:
        conversation = Conversation(found, journal, Terminal(), clock=lambda: AT)
        conversation.open()
        assert "The company pack is left out: one fault to mend." in capsys.readouterr().err
        type_in(conversation, "what's 19 mil in inches")
    assert "3/4 in." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("file", "text", "wanted"),
    [
        # what takes the place of what is shipped
        ("procedures/lockout.toml", 'id = "lockout"', "does not begin with 'brightwater_'"),
        (
            "facts.toml",
            '[vacuum_limit]\nquestion = "Limit?"\ntold = "."\nwords = true',
            "begin with",
        ),
        ("questions.toml", '[oil]\nphrases = ["a"]\nsay = "b"\nsources = []', "begin with"),
        ("pack.toml", 'id = "bend"\nname = "B"\nedition = "1"', "begins names that are shipped"),
        ("pack.toml", 'id = "practice"\nname = "B"\nedition = "1"', "names that are shipped"),
        # what says again, or nearly, what means something already
        (
            "questions.toml",
            '[brightwater_a]\nphrases = ["stop"]\nsay = "No."\nsources = []',
            "'stop' means stop 'stop' already",
        ),
        (
            "questions.toml",
            '[brightwater_a]\nphrases = ["can I vent the gas"]\nsay = "Yes."\nsources = []',
            "means refuse 'venting' already",
        ),
        (
            "questions.toml",
            '[brightwater_a]\nphrases = ["can we vent the gas"]\nsay = "Yes."\nsources = []',
            "which keeps people safe",
        ),
        (
            "phrases.toml",
            '[procedure]\nflare_eccentric = ["how do I anneal it"]\n[calculator]\nnothing = ["a"]',
            "there is no shipped calculator of this name",
        ),
        (
            "facts.toml",
            '[brightwater_a]\nquestion = "A?"\ntold = "."\nwords = true\nphrases = ["a <x>"]',
            "free words are asked for",
        ),
        (
            "facts.toml",
            texts()["facts.toml"].replace(
                "[we are] the <brightwater_crew> crew", "[the] <brightwater_crew>"
            ),
            "without a word of its own",
        ),
        # what is refused
        (
            "questions.toml",
            '[brightwater_a]\nphrases = ["which key"]\nsay = "Just top it up."\nsources = []',
            "speaks of 'top it up', which is refused",
        ),
        (TIDY, step(NUT.format(more="").replace("Undo the nut", "Use compressed air")), "refused"),
        # what defines a safeguard away
        (TIDY, texts()[TIDY].replace('needs = ["ppe"]\n', ""), "it does not need 'ppe'"),
        (TIDY, step(NUT.format(more='sets = ["isolated"]')), "it sets 'isolated'"),
        (TIDY, step(NUT.format(more='clears = ["on_system"]')), "it ends 'on_system'"),
        (TIDY, "makes_joint = 'flared'\n" + texts()[TIDY], "it writes a joint down as made"),
        (TIDY, step(NUT.format(more="inspects = true")), "it counts as an inspection"),
        (TIDY, step(NUT.format(more="")), "'undo the nut' is an act that needs its caution"),
        (TIDY, step(NUT.format(more='hazard = ["loosen_nut"]')), "round its caution 'loosen_nut'"),
        (
            TIDY,
            step(STATED.format(states="yes") + NUT.format(more='hazard = ["loosen_nut"]')),
            "'yes' does not answer the challenge 'loosen_nut'",
        ),
        (TIDY, texts()[TIDY].replace('goto = "1"', 'goto = "braze/5"'), "in the middle"),
        # what widens a band
        (
            TIDY,
            step(
                '[[step]]\nid = "1"\nkind = "value"\ntitle = "Limit."\nsay = "Read the limit."\n'
                '[step.value]\nname = "limit"\nkind = "vacuum"\nunit = "micron"\n'
                'fact = "vacuum_limit"\nlow = "1"\nhigh = "50000"\n'
            ),
            "its band is wider than that of 'vacuum_limit'",
        ),
        (
            TIDY,
            step(
                '[[step]]\nid = "1"\nkind = "call"\ncalls = "evacuate"\n'
                'gives = { vacuum_limit = "50000" }\n'
            ),
            "'vacuum_limit' cannot be '50000'",
        ),
        (
            TIDY,
            step(
                '[[step]]\nid = "1"\nkind = "done"\ntitle = "Torque."\nsay = "Set {t}."\n'
                '[step.numbers.t]\ncalculator = "torque"\nanswers = ["torque"]\nwithout = "it"\n'
                'with = { maker_torque = "300" }\n'
            ),
            "'maker_torque' is a figure",
        ),
        # what is not of the form
        ("pack.toml", "id = = 3", "this is not TOML"),
        ("pack.toml", 'id = "Ö!"\nname = "B"\nedition = "1"', "cannot begin names"),
        ("pack.toml", 'id = "brightwater"\nname = "{x}"\nedition = "1"', "plain words"),
        ("flags.toml", "", "this file is no part of a pack"),
        ("lookups.toml", '[brightwater_a]\ntable = "b"\nphrases = []\nsay = ""', "no tables/b.csv"),
        ("tables/shelves.csv", "item\n", "has no 'shelf'"),
        ("tables/shelves.csv", "item,shelf\na\n", "it has not 2 fields"),
        ("questions.toml", '[brightwater_a]\nphrases = ["(a"]\nsay = "b"\nsources = []', "closed"),
        ("questions.toml", "a = " + "[" * 5000, "this is not TOML"),
        (
            "questions.toml",
            '[brightwater_a]\nphrases = ["b key"]\nsay = "b"\nsources = ["nowhere"]',
            "'nowhere' is not a source",
        ),
        (TIDY, texts()[TIDY].replace('goto = "1"', 'goto = "11"'), "which is not a step"),
        (TIDY, texts()[TIDY].replace("Sweep up", "Sweep 3 times up"), "without a source"),
    ],
)
def test_each_violation_is_one_message_with_its_place(file: str, text: str, wanted: str) -> None:
    found = changed(file, text)
    assert any(wanted in fault for fault in found), found
    assert all(": " in fault for fault in found)


def test_a_challenge_in_the_shipped_words_stands() -> None:
    sound = step(STATED.format(states="zero and open") + NUT.format(more='hazard = ["loosen_nut"]'))
    assert changed(TIDY, sound) == []


def test_a_firm_may_forbid_what_is_refused() -> None:
    text = '[brightwater_a]\nphrases = ["which gas"]\nsay = "Never oxygen."\nsources = []'
    assert changed("questions.toml", text) == []


@pytest.mark.parametrize(
    ("name", "content", "wanted"),
    [
        ("pack.toml", b"\xff\xfe", "this is not UTF-8"),
        ("pack.toml", b'id = "\x1b[2J"', "control character"),
        ("pack.toml", b"#" * 300_000, "larger than"),
        ("procedures/deep/one.toml", b"", "this is no file"),
    ],
)
def test_odd_files_are_told(tmp_path: Path, name: str, content: bytes, wanted: str) -> None:
    (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
    (tmp_path / name).write_bytes(content)
    assert any(wanted in str(fault) for fault in library_with(str(tmp_path)).left_out)


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    (fault,) = library_with(str(tmp_path / "nothing")).left_out
    assert "cannot be read" in str(fault)
