#!/usr/bin/env bash
# Run the browser tests given as arguments. Installs Debian's Chromium where it can; says plainly what was skipped where not.
# Without arguments it only installs, so that this can be done while other things are looked at.
set -euo pipefail
as_root() {
    if [ "$(id -u)" = 0 ]; then "$@"; elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then sudo -n "$@"; else return 1; fi
}
if ! command -v chromium >/dev/null; then
    echo "browser: no chromium here; trying to install Debian's"
    { as_root apt-get update -q && as_root apt-get install -yq --no-install-recommends chromium fonts-dejavu-core; } >/dev/null 2>&1 || true
fi
if ! command -v chromium >/dev/null; then
    echo "browser: SKIPPED. Chromium is not installed and could not be: it needs Debian's package 'chromium' (as root: apt-get install chromium)."
    exit 0
fi
[ $# = 0 ] || exec "$@"
