"""The set-up scripts with stand-ins for the programs that they call: Python, apt, sudo."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
SHELL = [
    *("scripts/lib.sh", "scripts/start", "scripts/test", "scripts/check", ".ci/run"),
    *("scripts/audit", "scripts/offline", "scripts/renew_constraints", "scripts/trial"),
]
NEEDED = [
    "bash",
    "env",
    "dirname",
    "cat",
    "cksum",
    "cut",
    "grep",
    "mkdir",
    "cp",
    "chmod",
    "touch",
    "rm",
    "uname",
    "timeout",
    "tar",
    "gzip",
]
PYTHON = """#!/usr/bin/env bash
echo "python $*" >> "$LOG"
case "$*" in
  "-m venv"*)
    [ "$3" = --clear ] && rm -rf "${@: -1}"
    mkdir -p "${@: -1}/bin"
    echo "command = python $*" > "${@: -1}/pyvenv.cfg"
    cp "$0" "${@: -1}/bin/python"
    printf '#!/usr/bin/env bash\\necho "handsfree $* in $PWD"\\n' > "${@: -1}/bin/handsfree"
    chmod +x "${@: -1}/bin/handsfree" ;;
  "-m pip --version") exit 0 ;;
  "-m pip"*) exit "${PIP_ENDS_WITH:-0}" ;;
  *fetch_model*) echo "not fetched" >&2; exit 4 ;;
  -c*ensurepip*) exit "${NO_VENV:-0}" ;;
  *) exec "$REAL_PYTHON" "$@" ;;
esac
"""

pytestmark = pytest.mark.skipif(shutil.which("bash") is None, reason="this system has no bash")


class Machine:
    """A copy of the scripts, on a machine that has only the programs that are put there."""

    def __init__(self, folder: Path) -> None:
        self.project, self.programs, self.log = folder / "a b", folder / "bin", folder / "log"
        shutil.copytree(
            ROOT / "scripts",
            self.project / "scripts",
            ignore=shutil.ignore_patterns("benchmarks", "__pycache__"),
        )
        (self.project / "pyproject.toml").write_text("first")
        self.programs.mkdir()
        for name in NEEDED:
            found = shutil.which(name)
            assert found, name
            (self.programs / name).symlink_to(found)
        self.put("id", "echo 1000")
        self.put("uname", "echo Linux")

    def put(self, name: str, text: str) -> None:
        file = self.programs / name
        file.unlink(missing_ok=True)
        if not text.startswith("#!"):
            text = f'#!/usr/bin/env bash\necho "{name} $*" >> "$LOG"\n{text}\n'
        file.write_text(text)
        file.chmod(0o755)

    def run(
        self, program: str, *arguments: str, **settings: str
    ) -> tuple[int, str, str, list[str]]:
        """Return how a bash program ended, what it said, and which programs it called."""
        self.log.write_text("")
        done = subprocess.run(
            ["bash", "-c", program, "bash", *arguments],
            cwd=self.project,
            env={
                "PATH": str(self.programs),
                "LOG": str(self.log),
                "REAL_PYTHON": sys.executable,
                **settings,
            },
            capture_output=True,
            text=True,
            check=False,
        )
        return done.returncode, done.stdout, done.stderr, self.log.read_text().splitlines()


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    machine = Machine(tmp_path)
    machine.put("python3.12", PYTHON)
    return machine


def installs(log: list[str]) -> list[str]:
    return [line for line in log if "pip install" in line and "--editable" in line]


ENVIRONMENT = 'source scripts/lib.sh; environment "$@"'


@pytest.mark.parametrize("script", SHELL)
def test_the_shell_can_read_it(script: str) -> None:
    subprocess.run(["bash", "-n", str(ROOT / script)], check=True)
    if script != "scripts/lib.sh":
        assert os.access(ROOT / script, os.X_OK)


def test_a_bare_machine_without_python_is_told(machine: Machine) -> None:
    (machine.programs / "python3.12").unlink()
    machine.put("python3", "exit 1")  # too old: it answers no to what it is asked
    code, _, said, _ = machine.run("scripts/start")
    assert code == 4
    assert said.splitlines()[-1].startswith("Python 3.11 or newer with its venv module is needed")


def test_a_python_without_its_venv_module_gets_it_where_that_is_allowed(machine: Machine) -> None:
    machine.put("id", "echo 0")
    machine.put("apt-get", "exit 0")
    code, _, said, log = machine.run(ENVIRONMENT, NO_VENV="1")
    assert code == 4
    assert "venv module is needed" in said
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    asked = [line for line in log if line.startswith("apt-get")]
    assert f"install -y --no-install-recommends python{version}-venv" in asked[0]


def test_the_environment_is_made_once(machine: Machine) -> None:
    code, _, said, log = machine.run(ENVIRONMENT)
    assert (code, len(said.splitlines())) == (0, 1)
    assert len(installs(log)) == 1
    assert "--group" not in installs(log)[0]
    assert machine.run(ENVIRONMENT)[1:3] == ("", "")
    assert installs(machine.run(ENVIRONMENT)[3]) == []


def test_the_group_is_added_and_serves_without_it_too(machine: Machine) -> None:
    machine.run(ENVIRONMENT)
    log = machine.run(ENVIRONMENT, "dev")[3]
    assert [line for line in log if line.endswith("--upgrade pip>=25.1")]
    assert installs(log)[0].endswith("--editable . --group dev")
    assert installs(machine.run(ENVIRONMENT, "dev")[3]) == []
    shutil.rmtree(machine.project / ".venv")
    assert len(installs(machine.run(ENVIRONMENT, "dev")[3])) == 1
    assert installs(machine.run(ENVIRONMENT)[3]) == []


def test_what_was_tried_with_this_python_is_what_is_installed(machine: Machine) -> None:
    for kept in (machine.project / "scripts").glob("constraints-*.txt"):
        kept.unlink()
    assert "--constraint" not in installs(machine.run(ENVIRONMENT)[3])[0]
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    file = machine.project / "scripts" / f"constraints-{sys.platform}-{version}.txt"
    file.write_text("rich==14.0.0\n")
    assert f"--constraint scripts/{file.name} " in installs(machine.run(ENVIRONMENT)[3])[0]
    assert installs(machine.run(ENVIRONMENT)[3]) == []
    file.write_text("rich==14.1.0\n")
    assert len(installs(machine.run(ENVIRONMENT)[3])) == 1


def test_without_a_network_namespace_the_offline_proof_says_so(machine: Machine) -> None:
    code, _, said, _ = machine.run("scripts/offline")
    assert (code, "run scripts/test first" in said) == (4, True)
    machine.run(ENVIRONMENT)
    machine.put("unshare", "exit 1")
    code, _, said, _ = machine.run("scripts/offline")
    assert (code, "allows no network namespace" in said) == (4, True)
    machine.put("unshare", 'shift; exec "$@"')
    machine.put("ip", "exit 0")
    _, _, _, log = machine.run("scripts/offline -k this")
    assert "ip link set lo up" in log
    assert "python -m pytest -k this" in log


def test_every_pinned_version_is_within_its_bounds() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = [*project["project"]["dependencies"], *project["dependency-groups"]["dev"]]
    for file in (ROOT / "scripts").glob("constraints-*.txt"):
        lines = file.read_text(encoding="utf-8").splitlines()
        pinned = dict(line.split("==") for line in lines if not line.startswith("#"))
        held = {canonicalize_name(name): version for name, version in pinned.items()}
        for need in map(Requirement, wanted):
            assert need.specifier.contains(held[canonicalize_name(need.name)]), need


def test_a_changed_project_is_installed_again(machine: Machine) -> None:
    machine.run(ENVIRONMENT)
    (machine.project / "pyproject.toml").write_text("second")
    log = machine.run(ENVIRONMENT)[3]
    assert len(installs(log)) == 1
    assert not [line for line in log if "-m venv" in line]


def test_an_environment_that_broke_or_was_moved_is_made_anew(
    machine: Machine, tmp_path: Path
) -> None:
    machine.run(ENVIRONMENT)
    python = machine.project / ".venv" / "bin" / "python"
    python.unlink()
    python.symlink_to("/nowhere/python")
    for _ in ("broken", "moved"):
        log = machine.run(ENVIRONMENT)[3]
        assert len([line for line in log if "-m venv --clear" in line]) == 1
        assert len(installs(log)) == 1
        assert installs(machine.run(ENVIRONMENT)[3]) == []
        machine.project = machine.project.rename(tmp_path / "moved")


def test_packages_that_cannot_be_had_are_told_and_tried_again(machine: Machine) -> None:
    code, _, said, _ = machine.run(ENVIRONMENT, PIP_ENDS_WITH="1")
    assert code == 4
    assert "is there a network? Then run this again." in said.splitlines()[-1]
    code, _, _, log = machine.run(ENVIRONMENT)
    assert (code, len(installs(log))) == (0, 1)


PACKAGES = f"{ENVIRONMENT}; packages bash:never no-such-thing:one no-such-library.so.9:two"


@pytest.mark.parametrize("rights", ["root", "sudo"])
def test_system_packages_are_installed_where_it_may(machine: Machine, rights: str) -> None:
    machine.put("id", f"echo {0 if rights == 'root' else 1000}")
    machine.put("sudo", '[ "$1" = -n ] || exit 1; shift; [ "$1" = true ] || "$@"')
    machine.put("apt-get", "exit 0")
    code, _, said, log = machine.run(PACKAGES)
    assert (code, len(said.splitlines())) == (0, 1)
    asked = [line for line in log if line.startswith("apt-get")]
    assert len(asked) == 1
    assert asked[0].endswith("install -y --no-install-recommends one two")


def test_what_looks_for_barriers_is_fetched_or_told_once(machine: Machine) -> None:
    fetch = f"{ENVIRONMENT}; barriers"
    machine.put("npm", "exit 1")
    assert "not tested for WCAG" in machine.run(fetch)[2].splitlines()[-1]
    code, _, said, log = machine.run(fetch)
    assert (code, "WCAG" in said) == (0, False)
    assert not [line for line in log if line.startswith("npm")]
    (machine.project / ".venv" / ".no-axe-core").unlink()
    make = "mkdir package; echo script > package/axe.min.js; tar -czf axe-core-4.9.9.tgz package"
    machine.put("npm", f"{make}; rm -r package")
    machine.run(fetch)
    folder = machine.project / ".venv" / "axe-core"
    assert [file.name for file in folder.iterdir()] == ["axe.min.js"]
    assert not [line for line in machine.run(fetch)[3] if line.startswith("npm")]


def test_old_lists_of_packages_are_renewed(machine: Machine) -> None:
    machine.put("id", "echo 0")
    machine.put("apt-get", 'case "$*" in *update) touch "$LOG.new";; *) [ -e "$LOG.new" ];; esac')
    code, _, said, log = machine.run(PACKAGES)
    assert (code, len(said.splitlines())) == (0, 1)
    asked = [line.split()[-1] for line in log if line.startswith("apt-get")]
    assert asked == ["two", "update", "two"]


@pytest.mark.parametrize("why", ["no apt", "no rights", "no password", "no network"])
def test_what_cannot_be_installed_is_one_sentence_and_tried_once(
    machine: Machine, why: str
) -> None:
    if why != "no apt":
        machine.put("apt-get", "exit 1")
    if why == "no password":
        machine.put("sudo", "exit 1")
    if why == "no network":
        machine.put("id", "echo 0")
    code, _, said, log = machine.run(PACKAGES)
    assert code == 0
    assert len(said.splitlines()) == 2
    assert said.splitlines()[1].endswith("have them installed with: apt-get install one two")
    assert bool([line for line in log if line.startswith("apt-get")]) == (why == "no network")
    code, _, said, log = machine.run(PACKAGES)
    assert (code, len(said.splitlines())) == (0, 1)
    assert not [line for line in log if line.startswith("apt-get")]


def test_another_system_brings_its_own(machine: Machine) -> None:
    machine.put("uname", "echo Darwin")
    machine.put("id", "echo 0")
    machine.put("apt-get", "exit 0")
    assert not [line for line in machine.run(PACKAGES)[3] if line.startswith("apt-get")]


def test_start_talks_where_it_was_called_and_tries_the_model_once(
    machine: Machine, tmp_path: Path
) -> None:
    machine.put("aplay", "exit 0")
    start = f'cd "{tmp_path}"; "{machine.project}/scripts/start" --save-voice "a folder"'
    code, out, said, log = machine.run(start)
    assert (code, out) == (0, f"handsfree talk --save-voice a folder in {tmp_path}\n")
    assert "not fetched" in said
    assert [line for line in log if "fetch_model --within" in line]
    code, out, _, log = machine.run(start)
    assert (code, out.startswith("handsfree talk")) == (0, True)
    assert not [line for line in log if "fetch_model" in line]


def test_the_environment_may_stand_elsewhere(machine: Machine, tmp_path: Path) -> None:
    machine.put("aplay", "exit 0")
    start = f'cd "{tmp_path}"; "{machine.project}/scripts/start"'
    for place in ("other", str(tmp_path / "far away")):
        code, out, _, _ = machine.run(start, HANDSFREE_VENV=place)
        assert (code, out) == (0, f"handsfree talk in {tmp_path}\n")
        assert (machine.project / place / "bin" / "python").exists()
    assert not (machine.project / ".venv").exists()


def test_check_runs_every_gate_and_stops_at_the_first_that_fails(machine: Machine) -> None:
    machine.run(ENVIRONMENT, "dev")
    tools = machine.project / ".venv" / "bin"
    for name in ("ruff", "mypy", "lint-imports", "bandit"):
        machine.put(name, '[ "$FAILS" != "${0##*/}" ]')
        (machine.programs / name).rename(tools / name)
    gates = [
        "ruff format",
        "ruff check",
        "mypy",
        "lint-imports",
        "bandit",
        "python -m pytest -k this",
    ]
    code, _, _, log = machine.run("scripts/check -k this", FAILS="")
    assert [gate for gate in gates if any(line.startswith(gate) for line in log)] == gates
    assert all("scripts/fetch_model" in line for line in log if line.startswith("ruff"))
    assert code != 0  # the stand-in project has no tests
    for failing, stays in (("ruff", 1), ("mypy", 3), ("lint-imports", 4), ("bandit", 5)):
        code, _, _, log = machine.run("scripts/check", FAILS=failing)
        assert code == 1
        ran = [
            line
            for line in log
            if line.startswith(("ruff", "mypy", "lint", "bandit", "python -m pyt"))
        ]
        assert len(ran) == stays
