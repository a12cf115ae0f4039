"""`upsides gallop`: the yard's gallops, drawn on the ground from what was ridden or measured there."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import answer, json_option, library_option

if TYPE_CHECKING:
    from upsides.books.models import Gallop

SURFACES = ("turf", "synthetic", "woodchip", "sand", "other")


@click.group()
def gallop() -> None:
    """Draw the yard's gallops."""


@gallop.command()
@click.argument("name")
@click.option(
    "--from", "file", required=True, type=click.Path(path_type=Path),
    help="Recording of a canter or walk along it, GPX route, CSV of latitude and longitude, or TOML of points.",
)  # fmt: skip
@click.option("--marks", default="", help="furlongs, a step like 200m, or metres from the start: 0,201.2,402.3.")
@click.option("--surface", type=click.Choice(SURFACES), help="What it is made of; 'other' where nothing is said.")
@library_option
@json_option
def add(name: str, file: Path, marks: str, surface: str | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Draw the gallop NAME, new or known; the worker then looks which of the works known were on it."""
    from upsides.books.services.opening import open_books
    from upsides.recordings.gallops.points import line_from, marks_from

    points = line_from(_content(file), file.name)
    open_books(library)
    from upsides.books.queries.gallops import line_of
    from upsides.books.services.gallops import draw_gallop, named_gallop

    placed = marks_from(marks, line_of(name, points, ()).length_m)
    row, fresh = named_gallop(name, surface)
    drawn = draw_gallop(row, points, placed)
    answer(as_json, _as_value(drawn, fresh=fresh), _as_lines(drawn, fresh=fresh))


def _content(file: Path) -> bytes:
    """Return what is in a file.

    Raises:
        GallopPointsError: it is no file.
    """
    from upsides.errors import GallopPointsError

    if not file.is_file():
        raise GallopPointsError(file, "there is no such file" if not file.exists() else "it is no file")
    return file.read_bytes()


def _as_value(row: "Gallop", *, fresh: bool) -> dict[str, Any]:
    return {
        "gallop": row.name,
        "new": fresh,
        "surface": row.surface,
        "length_m": row.length_m,
        "rise_m": row.rise_m,
        "points": len(row.line),
        "marks_m": row.marks,
    }


def _as_lines(row: "Gallop", *, fresh: bool) -> list[str]:
    marks = f"marks at {', '.join(f'{one:g}' for one in row.marks)} m" if row.marks else "a mark every furlong"
    rise = f", rising {row.rise_m} m" if row.rise_m is not None else ""
    done = "drawn" if fresh else "drawn anew"
    return [f"{row.name}: {done}, {row.length_m:,} m{rise}, {marks}."]
