from __future__ import annotations

import hashlib
import http.server
import importlib.machinery
import importlib.util
import shutil
import subprocess
import sys
import threading
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

SCRIPT = Path(__file__).parents[2] / "scripts" / "fetch_model"


def load() -> ModuleType:
    sys.dont_write_bytecode = True  # it would lie beside the script
    loader = importlib.machinery.SourceFileLoader("fetch_model", str(SCRIPT))
    spec = importlib.util.spec_from_loader("fetch_model", loader)
    assert spec is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["fetch_model"] = module
    loader.exec_module(module)
    return module


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
        (("the-model/../../outside",), {}, "leads out"),
        (("/tmp/outside-of-models",), {}, "leads out"),  # noqa: S108 - never written
        (("one/a", "two/a"), {}, "one folder"),
        (("just-a-file",), {}, "one folder"),
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


def test_models_that_cannot_be_written_are_told(tmp_path: Path) -> None:
    file = archive(tmp_path, "the-model/a")
    (tmp_path / "models").write_text("in the way")
    with pytest.raises(FETCH.NotFetchedError, match="can't be put into"):
        FETCH.fetch(file, tmp_path / "models", wanted(file))


def test_the_command_says_one_sentence_and_ends_with_4(tmp_path: Path) -> None:
    file = archive(tmp_path, "the-model/a")
    project = tmp_path / "project"
    (project / "scripts").mkdir(parents=True)
    script = shutil.copy(SCRIPT, project / "scripts")
    done = subprocess.run(
        [sys.executable, script, "--from", str(file)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 4
    assert done.stderr.count("\n") == 1
    assert "bytes instead of 41205931" in done.stderr
    (project / "models" / "vosk-model-small-en-us-0.15").mkdir(parents=True)
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, "The Vosk model is there already.\n")


class Site(http.server.BaseHTTPRequestHandler):
    """Gives a file as its path says: whole, cut short, slowly, too long, or not at all."""

    content = b""

    def do_GET(self) -> None:
        if self.path == "/missing":
            self.send_error(404)
            return
        content, asked = self.content, self.headers.get("Range")
        if asked and self.path == "/goes-on":
            assert asked.startswith("bytes=")
            content = content[int(asked[len("bytes=") : -1]) :]
        self.send_response(206 if len(content) < len(self.content) else 200)
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        try:
            if self.path == "/slow":
                for byte in self.content:
                    self.wfile.write(bytes([byte]))
                    time.sleep(0.02)
            else:
                self.wfile.write(content[: -5 if self.path == "/cut" else None])
        except OSError:
            return  # they had enough

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    file = archive(tmp_path, "the-model/am/final.mdl")
    Site.content = file.read_bytes()
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Site) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.02,))
        thread.start()
        monkeypatch.setattr(FETCH, "ADDRESS", f"http://127.0.0.1:{server.server_port}")
        yield file
        server.shutdown()
        thread.join()


def test_a_whole_file_is_fetched(site: Path, tmp_path: Path) -> None:
    folder = FETCH.fetch(None, tmp_path / "models", wanted(site))
    assert (folder / "am" / "final.mdl").read_text() == "model"


@pytest.mark.parametrize(
    ("path", "text"),
    [("/missing", "can't be fetched"), ("/cut", "broke off at"), ("/slow", "too slow")],
)
def test_what_the_network_spoils_is_told(
    site: Path, path: str, text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(FETCH, "ADDRESS", FETCH.ADDRESS + path)
    with pytest.raises(FETCH.NotFetchedError, match=text):
        FETCH.fetch(None, tmp_path / "models", wanted(site), 0.3)
    assert not [entry for entry in (tmp_path / "models").iterdir() if entry.is_dir()]


@pytest.mark.parametrize("path", ["/goes-on", "/begins-anew"])
def test_what_broke_off_goes_on(
    site: Path, path: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    models, address = tmp_path / "models", FETCH.ADDRESS
    monkeypatch.setattr(FETCH, "ADDRESS", address + "/cut")
    with pytest.raises(FETCH.NotFetchedError, match="run scripts/fetch_model again"):
        FETCH.fetch(None, models, wanted(site))
    (part,) = models.iterdir()
    assert part.read_bytes() == Site.content[:-5]
    monkeypatch.setattr(FETCH, "ADDRESS", address + path)
    folder = FETCH.fetch(None, models, wanted(site))
    assert (folder / "am" / "final.mdl").read_text() == "model"
    assert list(models.iterdir()) == [folder]


def test_a_part_that_is_wrong_is_not_kept(
    site: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    models = tmp_path / "models"
    models.mkdir()
    (models / f"{FETCH.NAME}.zip.part").write_bytes(b"x" * 20)
    monkeypatch.setattr(FETCH, "ADDRESS", FETCH.ADDRESS + "/goes-on")
    with pytest.raises(FETCH.NotFetchedError, match="not the published one"):
        FETCH.fetch(None, models, wanted(site))
    assert not list(models.iterdir())


def test_a_file_without_end_is_not_taken(
    site: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    right = wanted(site)
    monkeypatch.setattr(Site, "content", b"x" * 3_000_000)
    with pytest.raises(FETCH.NotFetchedError, match="bytes instead of"):
        FETCH.fetch(None, tmp_path / "models", right)


def test_no_network_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(FETCH, "ADDRESS", "http://127.0.0.1:9")
    with pytest.raises(FETCH.NotFetchedError, match="built-in ear works without it"):
        FETCH.fetch(None, tmp_path / "models", FETCH.Wanted())
