"""`upsides serve`: the pages, at a local address or for a whole yard, with the worker that does the long jobs."""

import json
import multiprocessing
import os
import socket
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path
from threading import Thread
from time import sleep
from typing import Any

import click

from upsides.cli.addresses import ANYWHERE, HERE, HostName, free_port, is_public, let_in, reached, shown_at
from upsides.cli.certificates import papers
from upsides.cli.children import Kept, end_with_parent
from upsides.cli.jobs import work_under_parent
from upsides.cli.options import json_option, library_option

WORKERS = 2
HTTPS_ONLY_S = 30 * 24 * 3600
"""How long browsers remember that a public name is reached by https alone."""

HALF_SENT_MS = 5_000
"""How long the head of a request may take to arrive: one that never does keeps no web process from ending."""

_APPLICATION = "upsides.web.wsgi:application"
_FILE = click.Path(path_type=Path, dir_okay=False)


@click.command()
@library_option
@click.option(
    "--host", default=HERE[1], show_default=True, help="Address to listen at; 0.0.0.0 for all of this machine."
)
@click.option("--port", type=click.IntRange(0, 65535), default=8000, show_default=True, help="Port to listen on.")
@click.option("--name", "names", type=HostName(), multiple=True, help="A name people use for it; may be given again.")
@click.option("--cert", type=_FILE, help="Certificate (PEM), for https; docs/serving.md says where to get one.")
@click.option("--key", type=_FILE, help="The certificate's private key (PEM).")
@click.option("--no-worker", is_flag=True, help="Do no jobs here; another `upsides jobs` does them.")
@json_option
def serve(
    library: Path,
    host: str,
    port: int,
    names: tuple[str, ...],
    cert: Path | None,
    key: Path | None,
    no_worker: bool,  # noqa: FBT001 -- an option
    as_json: bool,  # noqa: FBT001 -- an option
) -> None:
    """Show the pages until Ctrl-C, and work off the jobs that they ask for."""
    from upsides.books.services.opening import gather_static, open_books

    _secure(cert, key, names)
    chosen = free_port(port, host)
    let_in(host, names)
    open_books(library)
    gather_static()
    if port not in {chosen, 0} and not as_json:
        click.echo(f"Port {port} is taken; using {chosen} instead.")
    if host in ANYWHERE and not names:
        click.echo("Other machines are let in only under names given by --name.", err=True)
    server = _server(host, chosen, cert, key)
    workers = [] if no_worker else [
        Kept(work_under_parent, (library, False), "The worker for jobs"),
        Kept(work_under_parent, (library, True), "The worker for quick jobs"),
    ]  # fmt: skip
    address = shown_at(host, chosen, names, secure=cert is not None)
    Thread(target=_once_there, args=((reached(host), chosen), server, workers, address, as_json), daemon=True).start()
    try:
        server.serve(target_loader=load_pages)
    finally:
        for worker in workers:
            worker.end()
        for worker in workers:
            worker.stop()
    click.echo("Stopped.", err=as_json)


def _secure(cert: Path | None, key: Path | None, names: tuple[str, ...]) -> None:
    """Look at the certificate, and tell the settings that people come by https."""
    if cert is None and key is None:
        return
    if cert is None or key is None:
        raise click.UsageError("--cert and --key belong together: give both, or neither for http")
    now = datetime.now(UTC)
    shown = papers(cert, key, now)
    for remark in shown.remarks(names, now):
        click.echo(remark, err=True)
    os.environ["UPSIDES_TLS"] = "1"
    if not shown.own and any(is_public(name) and shown.covers(name) for name in names):
        os.environ.setdefault("UPSIDES_HSTS", str(HTTPS_ONLY_S))


def _once_there(place: tuple[str, int], server: Any, workers: list[Kept], address: str, as_json: bool) -> None:  # noqa: FBT001 -- the option itself
    """Wait until somebody answers; print the address, start the workers, and from now on replace what dies."""
    while True:
        try:
            socket.create_connection(place, timeout=1).close()
        except OSError:
            sleep(0.1)
        else:
            break
    server.respawn_failed_workers = True
    click.echo(json.dumps({"address": address}) if as_json else f"Upsides is at {address} (Ctrl-C stops it)")
    for worker in workers:
        worker.start()


def load_pages(target: str) -> Any:
    """Return the application, in a web process that ends when its parent is gone."""
    end_with_parent()
    module, name = target.split(":")
    return getattr(import_module(module), name)


def _server(host: str, port: int, cert: Path | None, key: Path | None) -> Any:
    """Return the server of the pages. It serves until interrupted, or until the terminal is closed.

    Web processes are fresh ones, not forks of this one: Polars has started threads here, which a fork would
    lose, and a fork that is told to stop while it still loads would not hear it.
    """
    from granian import Granian
    from granian.constants import Interfaces, SSLProtocols
    from granian.http import HTTP1Settings
    from granian.log import LogLevels

    os.environ.setdefault("OMP_NUM_THREADS", "1")
    multiprocessing.set_start_method("spawn", force=True)
    server = Granian(
        _APPLICATION,
        address=host,
        port=port,
        interface=Interfaces.WSGI,
        workers=WORKERS,
        backpressure=64,
        blocking_threads=4,
        workers_kill_timeout=10,
        http1_settings=HTTP1Settings(header_read_timeout=HALF_SENT_MS),
        ssl_cert=cert,
        ssl_key=key,
        ssl_protocol_min=SSLProtocols.tls12,
        log_level=LogLevels.warning,
    )
    setattr(server, "signal_handler_reload", server.signal_handler_interrupt)  # noqa: B010 (a method to mypy)
    return server
