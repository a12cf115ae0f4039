"""`upsides jobs`: do the jobs that pages and schedules ask for."""

import json
from pathlib import Path

import click

from upsides.cli.children import end_with_parent
from upsides.cli.options import json_option, library_option
from upsides.cli.progress import Shown


@click.command()
@click.option("--quick", is_flag=True, help="Do only jobs that somebody waits for: lots, a morning's recordings.")
@library_option
@json_option
def jobs(quick: bool, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- options
    """Do jobs one after the other until Ctrl-C; `upsides serve` does the same beside the pages.

    A second machine can help where the books are on PostgreSQL and the library's folder is shared.
    """
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.jobs.worker import new_seat
    from upsides.books.jobs.worker import work as work_off

    told = Foreground()
    seat = new_seat(told)
    where = f"Waiting for jobs as {seat.worker} (Ctrl-C stops it)"
    click.echo(json.dumps({"worker": seat.worker}) if as_json else where)
    work_off(seat, quick=quick)
    told.line.end()
    click.echo("Stopped.", err=as_json)


class Foreground:
    """Shows how far each job is, with its own time left, to somebody who sits at the worker."""

    def __init__(self) -> None:
        self.line = Shown()

    def __call__(self, name: str) -> Shown:
        """Begin with the next job."""
        self.line.end()
        click.echo(name, err=True)
        self.line = Shown()
        return self.line


def work_under_parent(library: Path, quick: bool) -> None:  # noqa: FBT001 -- passed to another process
    """Do the same as a child of `upsides serve`, saying nothing, and end when it does."""
    end_with_parent()
    from upsides.books.services.opening import connect_books

    connect_books(library)
    from upsides.books.jobs.worker import new_seat
    from upsides.books.jobs.worker import work as work_off

    work_off(new_seat(), quick=quick)
