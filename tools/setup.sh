#!/usr/bin/env bash
# Make the environment in $1 from uv.lock: finds a Python >= 3.11, adds Debian's venv package where that is missing.
set -euo pipefail
venv=${1:-.venv}

find_python() {
    local name
    for name in python3 python3.14 python3.13 python3.12 python3.11; do
        if command -v "$name" >/dev/null && "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            command -v "$name"
            return
        fi
    done
    echo "setup: no Python >= 3.11 on this machine. Install one (Debian: apt-get install python3) and run make again." >&2
    exit 1
}

as_root() {
    if [ "$(id -u)" = 0 ]; then "$@"; elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then sudo -n "$@"; else return 1; fi
}

python=$(find_python)
if ! "$python" -c 'import ensurepip' 2>/dev/null; then
    version=$("$python" -c 'import sys; print(f"python{sys.version_info[0]}.{sys.version_info[1]}-venv")')
    echo "setup: $python cannot make environments; installing Debian's $version"
    if ! { as_root apt-get update -q && as_root apt-get install -yq "$version"; }; then
        echo "setup: could not install $version. Install it as root, then run make again." >&2
        exit 1
    fi
fi
[ -x "$venv/bin/python" ] || "$python" -m venv "$venv"
uv=$(sed -n '/^name = "uv"$/{n;s/^version = "\(.*\)"$/\1/p;}' uv.lock)
"$venv/bin/uv" --version 2>/dev/null | grep -q "^uv $uv " || "$venv/bin/python" -m pip install --quiet "uv==$uv"
sync() { UV_PROJECT_ENVIRONMENT=$venv "$venv/bin/uv" sync --frozen --quiet --compile-bytecode "$@"; }
# uv's own certificates do where a machine has none; behind a company's own only the machine's do.
if ! sync; then
    echo "setup: trying again with the certificates of this machine"
    sync --system-certs
fi
echo "setup: $venv is ready"
