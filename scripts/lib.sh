# Shared by the scripts: the virtual environment, the project in it, the system packages.
# What was done is remembered by stamps, so that a second run is quick and needs no network.
set -euo pipefail
unset CDPATH
ROOT="$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)"
VENV="${HANDSFREE_VENV:-$ROOT/.venv}"
case "$VENV" in /*) ;; *) VENV="$ROOT/$VENV" ;; esac
cd "$ROOT"

fail() {
  echo "$*" >&2
  exit 4
}

# with_rights COMMAND …: runs it as root, or fails where that is not allowed without a password.
with_rights() {
  if [ "$(id -u)" -eq 0 ]; then
    "$@"
  elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
    sudo -n "$@"
  else
    return 1
  fi
}

# install PACKAGE …: installs system packages, or fails; a network that does not answer is not
# waited for.
install() {
  command -v apt-get >/dev/null 2>&1 || return 1
  apt() {
    with_rights env DEBIAN_FRONTEND=noninteractive timeout 100 apt-get -qq \
      -o Acquire::Retries=0 -o Acquire::http::Timeout=10 -o Acquire::https::Timeout=10 \
      "$@" >/dev/null 2>&1
  }
  apt install -y --no-install-recommends "$@" ||
    { apt update && apt install -y --no-install-recommends "$@"; }
}

# first_python MODULES: prints the first Python that is new enough and has these modules.
first_python() {
  local name
  for name in python3.13 python3.12 python3.11 python3 python; do
    if "$name" -c "import sys, $1; sys.exit(sys.version_info < (3, 11))" >/dev/null 2>&1; then
      echo "$name"
      return 0
    fi
  done
  return 1
}

find_python() {
  local bare
  first_python ensurepip,venv && return 0
  if bare="$(first_python sys)" && install "$("$bare" -c \
    'import sys; print("python%d.%d-venv" % sys.version_info[:2])')"; then
    first_python ensurepip,venv && return 0
  fi
  fail "Python 3.11 or newer with its venv module is needed: install it, then run this again."
}

# environment [GROUP]: the project, installed from its folder, with a group of further packages.
# An environment with the group serves without it; one that was moved or broken is made anew.
environment() {
  local group="${1:-}" key python
  key="$({ echo "$ROOT"; cat pyproject.toml scripts/constraints-*.txt 2>/dev/null || true; } | cksum | cut -d' ' -f1)"
  if "$VENV/bin/python" -c '' 2>/dev/null; then
    [ -e "$VENV/.set-up-$key-$group" ] && return 0
    [ -z "$group" ] && [ -e "$VENV/.set-up-$key-dev" ] && return 0
  fi
  echo "Setting up (once, a minute or two) …" >&2
  # its programs hold the path at which it was made
  if ! grep -qF -- "$VENV" "$VENV/pyvenv.cfg" 2>/dev/null ||
    ! "$VENV/bin/python" -m pip --version >/dev/null 2>&1; then
    python="$(find_python)"
    "$python" -m venv --clear "$VENV" || fail "The environment $VENV could not be made."
  fi
  # groups need pip 25.1, and older ones say much about old packages
  # shellcheck disable=SC2046 - two words on purpose
  pip --upgrade 'pip>=25.1' &&
    pip $(constraints) --editable . ${group:+--group "$group"} ||
    fail "Packages could not be installed (see above): is there a network? Then run this again."
  touch "$VENV/.set-up-$key-$group"
}

# pins: prints the file of the versions that were tried on this system with this Python.
pins() {
  "$VENV/bin/python" -c \
    'import sys; print("scripts/constraints-%s-%d.%d.txt" % (sys.platform, *sys.version_info[:2]))'
}

# constraints: prints the option that pins every package to the version that was tried; where none
# were tried, the newest are taken that the lower bounds allow.
constraints() {
  local file
  file="$(pins)"
  [ ! -e "$file" ] || echo "--constraint $file"
}

pip() {
  "$VENV/bin/python" -m pip install --quiet --disable-pip-version-check "$@"
}

# packages COMMAND_OR_LIBRARY:PACKAGE …: installs what is missing, where it may. What could not be
# installed once is only named after that.
packages() {
  local missing stamp
  [ "$(uname -s)" = Linux ] || return 0 # elsewhere the system brings its own
  missing="$("$VENV/bin/python" - "$@" <<'PYTHON'
import ctypes, shutil, sys

for have, _, package in (pair.partition(":") for pair in sys.argv[1:]):
    try:
        found = ctypes.CDLL(have) if ".so" in have else shutil.which(have)
    except OSError:
        found = None
    if not found:
        print(package, end=" ")
PYTHON
)"
  missing="${missing% }"
  [ -z "$missing" ] && return 0
  stamp="$VENV/.not-installed-$(echo "$missing" | cksum | cut -d' ' -f1)"
  if [ ! -e "$stamp" ]; then
    # shellcheck disable=SC2086 - several words on purpose
    install $missing && return 0
    touch "$stamp"
  fi
  echo "Not installed: $missing. Without them there may be no voice, or no tests in a browser;" \
    "have them installed with: apt-get install $missing" >&2
}

# barriers: fetches axe-core, which looks for what bars people from a page, for the tests of the
# board; they tell when they were left out.
barriers() {
  local folder="$VENV/axe-core" untried="$VENV/.no-axe-core"
  if [ -e "$folder/axe.min.js" ] || [ -e "$untried" ]; then
    return 0
  fi
  if command -v npm >/dev/null 2>&1 && mkdir -p "$folder" &&
    (cd "$folder" && timeout 60 npm pack --silent axe-core@4 >/dev/null 2>&1 &&
      tar -xzf axe-core-4.*.tgz --strip-components=1 package/axe.min.js && rm axe-core-4.*.tgz); then
    return 0
  fi
  touch "$untried" # it is only tried once
  echo "axe-core could not be fetched: the board is not tested for WCAG here." >&2
}
