"""`upsides rate`: what one horse is worth, with its error and the runs that say so."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.progress import shown

if TYPE_CHECKING:
    from upsides.ratings.fits import Fit
    from upsides.results.identity import Horse
    from upsides.results.library import Library

SHOWN = 12
"""Runs printed; --json gives all."""


@click.command()
@click.argument("horse")
@click.option("--as-of", type=Day(), help="As known that morning: results before that day.")
@library_option
@json_option
def rate(horse: str, as_of: date | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Say what HORSE is worth: a name, a name with its suffix, or a source and its number (hk1997:3917)."""
    from upsides.ratings.rating import rating
    from upsides.results.identity import find
    from upsides.results.library import Library

    opened = Library.open(library)
    found = find(opened, horse)
    if as_of is not None:
        _check_ran(opened, found, as_of)
    rated = rating(opened, fitted(opened, as_of), found.key)
    answer(as_json, rated, _as_lines(rated))


def _check_ran(library: "Library", horse: "Horse", as_of: date) -> None:
    """Refuse a day before the horse's first run, rather than fit everything first."""
    import polars as pl

    from upsides.errors import NotRatedError

    if library.runs(as_of).filter(pl.col("horse_key") == horse.key).head(1).collect().is_empty():
        raise NotRatedError(horse.name or horse.key, as_of)


def fitted(library: "Library", as_of: date | None) -> "Fit":
    """Return the fit that answers, the latest or one as of a day; made on the spot where missing or stale."""
    from upsides.errors import FitMissingError
    from upsides.ratings.fits import is_current, make_fit, read_fit

    try:
        fit = read_fit(library.folder, as_of)
        if is_current(library, fit, latest=as_of is None):
            return fit
        click.echo("The results have changed since the fit was made; fitting again.", err=True)
    except FitMissingError:
        click.echo("There is no such fit yet; making it.", err=True)
    with shown() as line:
        return make_fit(library, as_of, progress=line)


def _as_lines(rated: dict[str, Any]) -> list[str]:
    low, high = (rated["level_lb"] + z * rated["sd_lb"] for z in (-1.2816, 1.2816))
    runs = f"{rated['runs']} runs" if rated["runs"] != 1 else "one run"
    latest = rated["figures"][::-1]
    lines = [
        f"{rated['name'] or rated['horse']}, as of {rated['as_of']}: worth {rated['level_lb']:.0f} lb on our figures, "
        f"four times in five between {low:.0f} and {high:.0f}, from {runs}.",
        "What each run was worth, in lb with its error, the latest first:",
        *(_run_line(run) for run in latest[:SHOWN]),
    ]
    more = len(latest) - SHOWN
    return [*lines, f"  and {more} earlier; --json gives them all"] if more > 0 else lines


def _run_line(run: dict[str, Any]) -> str:
    trip = f"{run['distance_m']:.0f} m" if run["distance_m"] is not None else ""
    place = str(run["position"]) if run["position"] is not None else "-"
    late = f"   late speed above {run['late_standing']:.0%} of runs here" if run["late_standing"] is not None else ""
    eased = f"   probably eased ({run['eased']:.0%})" if run["eased"] > 0.5 else ""
    return (
        f"  {run['date']}  {run['course'] or '':<16} {trip:>6}  {run['going'] or '':<16}  {place:>2}  "
        f"{run['figure_lb']:>4.0f} ± {run['figure_sd_lb']:.0f}{late}{eased}"
    )
