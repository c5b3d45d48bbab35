from __future__ import annotations

from pathlib import Path

from handsfree.library import Library, read_library

DATA = Path(__file__).parent.parent / "handsfree" / "data"
SOUND = (DATA / "procedures" / "deburr.toml").read_text(encoding="utf-8")


def test_nothing_of_ours_is_broken(known: Library) -> None:
    assert [str(fault) for fault in known.broken] == []
    assert set(known.procedures) >= {
        "protect",
        "cut",
        "deburr",
        "flare_bar",
        "inspect_flare",
        "make_up",
    }


def test_three_mistakes_in_one_file_are_told_at_once_and_stop_nothing_else() -> None:
    text = (
        SOUND.replace('id = "deburr"', 'id = "ream_out"')
        .replace('kind = "done"', 'kind = "don"', 1)
        .replace("insist =", "insits =")
        .replace('goto = "cut/2"\n', "goto = 5\n")
    )
    library = read_library({"ream_out.toml": text})
    told = [str(fault) for fault in library.broken]
    assert len(told) == 3
    assert all("ream_out.toml, step" in fault for fault in told)
    assert "Did you mean 'insist'?" in " ".join(told)
    assert all("^" in fault for fault in told)
    assert "ream_out" not in library.procedures
    assert "deburr" in library.procedures


def test_mistakes_in_the_graph_are_told_with_what_to_do() -> None:
    text = (
        SOUND.replace('id = "deburr"', 'id = "ream_out"')
        .replace('next = "2"', 'next = "22"')
        .replace("Tap it, and wipe", "Tap it {colour}, and wipe")
        .replace('sources = ["practice"]', 'sources = ["hearsay"]', 1)
    )
    told = " ".join(str(fault) for fault in read_library({"ream_out.toml": text}).broken)
    assert "goes to '22', which is not a step" in told
    assert "nothing fills '{colour}'" in told
    assert "'hearsay' is not a source" in told


def test_a_step_that_nothing_leads_to_is_told() -> None:
    text = SOUND.replace('id = "deburr"', 'id = "ream_out"').replace('goto = "1b"', 'goto = "1"')
    told = [str(fault) for fault in read_library({"ream_out.toml": text}).broken]
    assert len(told) == 1
    assert 'step "1b": no step leads here' in told[0]


def test_text_that_is_not_toml_is_told() -> None:
    told = [str(fault) for fault in read_library({"odd.toml": "id = = 3"}).broken]
    assert len(told) == 1
    assert told[0].startswith("odd.toml: this is not TOML")


def test_a_procedure_that_leads_to_a_missing_one_is_out() -> None:
    text = SOUND.replace('id = "deburr"', 'id = "ream_out"').replace("cut/2", "saw/2")
    library = read_library({"ream_out.toml": text})
    assert "goes to 'saw/2', which is not there" in str(library.broken[0])


def test_a_procedure_added_as_one_file_runs() -> None:
    text = SOUND.replace('id = "deburr"', 'id = "ream_out"').replace(
        '"(deburr | ream) [it | the end | this end]"', '"ream out the old end"'
    )
    library = read_library({"ream_out.toml": text})
    assert "ream_out" in library.procedures
    assert any(phrase.id == "ream_out" for phrase in library.phrases)


def test_every_calculator_answers_to_its_phrases(known: Library) -> None:
    """Every card has phrases, and every option that must be asked has its words."""
    for name, card in known.cards.items():
        assert any(phrase.id == name for phrase in known.phrases)
        for parameter in card.missing({}):
            assert known.question(card, parameter).endswith((".", "?"))
