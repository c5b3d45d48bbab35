from __future__ import annotations

import hashlib
import importlib.machinery
import importlib.util
import sys
import zipfile
from pathlib import Path
from types import ModuleType

import pytest

SCRIPT = Path(__file__).parents[2] / "scripts" / "fetch_model"


def load() -> ModuleType:
    loader = importlib.machinery.SourceFileLoader("fetch_model", str(SCRIPT))
    spec = importlib.util.spec_from_loader("fetch_model", loader)
    assert spec is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["fetch_model"] = module
    loader.exec_module(module)
    return module


sys.dont_write_bytecode = True
FETCH = load()


def archive(folder: Path, *names: str) -> Path:
    file = folder / "given.zip"
    with zipfile.ZipFile(file, "w") as content:
        for name in names:
            content.writestr(name, "model")
    return file


def wanted(file: Path) -> object:
    data = file.read_bytes()
    return FETCH.Wanted(len(data), hashlib.sha256(data).hexdigest())


def test_a_given_file_is_verified_and_unpacked(tmp_path: Path) -> None:
    file = archive(tmp_path, "the-model/am/final.mdl", "the-model/README")
    folder = FETCH.fetch(file, tmp_path / "models", wanted(file))
    assert (folder / "am" / "final.mdl").read_text() == "model"
    assert [entry.name for entry in (tmp_path / "models").iterdir()] == ["the-model"]


@pytest.mark.parametrize(
    ("names", "wrong", "text"),
    [
        (("the-model/a",), {"size": 5}, "bytes instead of 5"),
        (("the-model/a",), {"sha256": "0" * 64}, "SHA-256 differs"),
        (("../outside", "the-model/a"), {}, "leads out"),
        (("one/a", "two/a"), {}, "one folder"),
    ],
)
def test_a_wrong_file_is_not_used(
    tmp_path: Path, names: tuple[str, ...], wrong: dict[str, object], text: str
) -> None:
    file = archive(tmp_path, *names)
    right = wanted(file)
    expected = FETCH.Wanted(**{"size": right.size, "sha256": right.sha256, **wrong})  # type: ignore[attr-defined]
    with pytest.raises(FETCH.NotFetchedError, match=text):
        FETCH.fetch(file, tmp_path / "models", expected)
    models = tmp_path / "models"
    assert not models.exists() or not list(models.iterdir())
    assert not (tmp_path / "outside").exists()


def test_no_archive_and_no_file_are_told(tmp_path: Path) -> None:
    file = tmp_path / "given.zip"
    file.write_bytes(b"not a zip")
    with pytest.raises(FETCH.NotFetchedError, match="no ZIP"):
        FETCH.fetch(file, tmp_path / "models", wanted(file))
    with pytest.raises(FETCH.NotFetchedError, match="There is no file"):
        FETCH.fetch(tmp_path / "none.zip", tmp_path / "models", FETCH.Wanted())
