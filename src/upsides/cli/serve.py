"""`upsides serve`: the pages at a local address."""

import json
import multiprocessing
import os
import socket
from pathlib import Path
from threading import Thread
from time import sleep

import click

from upsides.cli.options import json_option, library_option

HOST = "127.0.0.1"
WORKERS = 2
_APPLICATION = "upsides.web.wsgi:application"


def free_port(wanted: int) -> int:
    """Return `wanted` where nothing listens on it, else a free port that the system picks."""
    for port in (wanted, 0):
        with socket.socket() as trial:
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                trial.bind((HOST, port))
            except OSError:
                continue
            return int(trial.getsockname()[1])
    raise click.ClickException(f"no free port at {HOST}")


@click.command()
@library_option
@click.option("--port", type=click.IntRange(0, 65535), default=8000, show_default=True, help="Port to listen on.")
@json_option
def serve(library: Path, port: int, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Show the string's pages at a local address until Ctrl-C."""
    from upsides.books.services.opening import open_books
    from upsides.errors import UpsidesError

    try:
        open_books(library)
    except UpsidesError as error:
        raise click.ClickException(str(error)) from None
    chosen = free_port(port)
    if port not in {chosen, 0} and not as_json:
        click.echo(f"Port {port} is taken; using {chosen} instead.")
    Thread(target=_announce, args=(chosen, as_json), daemon=True).start()
    _listen(chosen)
    click.echo("Stopped.", err=as_json)


def _announce(port: int, as_json: bool) -> None:  # noqa: FBT001 -- the option itself
    """Print the address once somebody answers there."""
    while True:
        try:
            socket.create_connection((HOST, port), timeout=1).close()
        except OSError:
            sleep(0.1)
        else:
            break
    address = f"http://{HOST}:{port}/"
    click.echo(json.dumps({"address": address}) if as_json else f"Upsides is at {address} (Ctrl-C stops it)")


def _listen(port: int) -> None:
    """Serve until interrupted.

    Workers are fresh processes, not forks of this one: Polars has started threads here, which a fork would
    lose, and a fork that is told to stop while it still loads would not hear it.
    """
    from granian import Granian
    from granian.constants import Interfaces
    from granian.log import LogLevels

    os.environ.setdefault("OMP_NUM_THREADS", "1")
    multiprocessing.set_start_method("spawn", force=True)
    server = Granian(
        _APPLICATION,
        address=HOST,
        port=port,
        interface=Interfaces.WSGI,
        workers=WORKERS,
        backpressure=64,
        blocking_threads=4,
        workers_kill_timeout=5,
        log_level=LogLevels.warning,
    )
    server.serve()
