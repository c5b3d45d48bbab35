# Shared by the scripts: the virtual environment, the system packages, the project itself.
# Everything is done once and remembered by a stamp, so that a second run needs no network.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
VENV="${HANDSFREE_VENV:-.venv}"

find_python() {
  local name
  for name in python3.13 python3.12 python3.11 python3 python; do
    if command -v "$name" >/dev/null 2>&1 &&
      "$name" -c 'import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
      echo "$name"
      return
    fi
  done
  echo "Python 3.11 or newer with its venv module is needed: install it, then run this again." >&2
  exit 4
}

# packages COMMAND_OR_LIBRARY:PACKAGE …: installs what is missing, where it may.
packages() {
  local missing=() pair have
  for pair in "$@"; do
    have="${pair%%:*}"
    if ! command -v "$have" >/dev/null 2>&1 && ! ldconfig -p 2>/dev/null | grep -q "$have"; then
      missing+=("${pair##*:}")
    fi
  done
  [ "${#missing[@]}" -eq 0 ] && return 0
  local install=()
  if command -v apt-get >/dev/null 2>&1; then
    if [ "$(id -u)" -eq 0 ]; then
      install=(env DEBIAN_FRONTEND=noninteractive apt-get)
    elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
      install=(sudo -n env DEBIAN_FRONTEND=noninteractive apt-get)
    fi
  fi
  if [ "${#install[@]}" -eq 0 ]; then
    echo "Not installed: ${missing[*]}. Ask whoever runs this machine; typing works without." >&2
    return 0
  fi
  if ! { "${install[@]}" update -qq && "${install[@]}" install -y -qq "${missing[@]}"; } >/dev/null 2>&1; then
    echo "Could not install: ${missing[*]}. Typing works without." >&2
  fi
}

# environment [GROUP]: the project, installed from its folder, with a group of further packages.
environment() {
  local group="${1:-}" stamp
  stamp="$VENV/.handsfree-$(cat pyproject.toml scripts/lib.sh | cksum | cut -d' ' -f1)${group:+-$group}"
  [ -e "$stamp" ] && return 0
  [ -x "$VENV/bin/python" ] || "$(find_python)" -m venv "$VENV"
  echo "Setting up (once, about a minute) …" >&2
  "$VENV/bin/python" -m pip install --quiet --disable-pip-version-check --upgrade 'pip>=25.1'
  "$VENV/bin/python" -m pip install --quiet --disable-pip-version-check --editable . ${group:+--group "$group"}
  touch "$stamp"
}
