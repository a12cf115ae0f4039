#!/usr/bin/env bash
# Run the command given as arguments with UPSIDES_DATABASE naming a PostgreSQL of its own, which is gone afterwards.
# Installs Debian's PostgreSQL where it can; says plainly what was skipped where not.
set -euo pipefail
as_root() {
    if [ "$(id -u)" = 0 ]; then "$@"; elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then sudo -n "$@"; else return 1; fi
}
programs() {
    local place
    place=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1)
    if [ -x "$place/initdb" ]; then echo "$place"; elif command -v initdb >/dev/null; then dirname "$(command -v initdb)"; fi
}
bin=$(programs)
if [ -z "$bin" ]; then
    echo "postgres: no PostgreSQL here; trying to install Debian's"
    { as_root apt-get update -q && as_root apt-get install -yq --no-install-recommends postgresql; } >/dev/null 2>&1 || true
    bin=$(programs)
fi
if [ -z "$bin" ]; then
    echo "postgres: SKIPPED: $*. PostgreSQL is not installed and could not be: it needs Debian's package 'postgresql' (as root: apt-get install postgresql)."
    exit 0
fi
# The server refuses to run as root; Debian's package made an account for it.
if [ "$(id -u)" != 0 ]; then as=(); elif id postgres >/dev/null 2>&1; then as=(setpriv --reuid postgres --regid postgres --clear-groups); else as=(setpriv --reuid nobody --regid nogroup --clear-groups); fi

folder=$(mktemp -d /tmp/upsides-postgres-XXXXXX)
stop() {
    (cd /; "${as[@]}" "$bin/pg_ctl" --pgdata "$folder/data" --mode immediate --wait stop) >/dev/null 2>&1 || true
    rm -rf "$folder"
}
trap stop EXIT
trap 'exit 130' INT
trap 'exit 143' TERM HUP  # heard when the command has ended
[ "${#as[@]}" = 0 ] || chown "${as[2]}" "$folder"
chmod 755 "$folder"
(
    cd /
    "${as[@]}" "$bin/initdb" --pgdata "$folder/data" --username upsides --auth trust --encoding UTF8 --locale C.UTF-8 --no-sync
    # A database for tests need not outlive a loss of power. It listens on a socket in its own folder, and nowhere else.
    "${as[@]}" "$bin/pg_ctl" --pgdata "$folder/data" --log "$folder/log" --wait start \
        --options "-c listen_addresses='' -c unix_socket_directories=$folder -c fsync=off -c synchronous_commit=off -c full_page_writes=off -c max_connections=200"
) >"$folder.said" 2>&1 || { cat "$folder.said" >&2; rm -f "$folder.said"; echo "postgres: could not be started" >&2; exit 1; }
rm -f "$folder.said"
"$bin/createdb" --host "$folder" --username upsides upsides
# The address of a socket's folder is written with %2F for its slashes.
export UPSIDES_DATABASE="postgresql://upsides@${folder//\//%2F}/upsides"
"$@"
