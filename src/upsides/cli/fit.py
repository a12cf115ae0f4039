"""`upsides fit`: work out what every run and every horse was worth, and keep it beside the library."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.progress import shown

if TYPE_CHECKING:
    from upsides.ratings.levels.told import Told
    from upsides.results.library import Library


@click.command()
@click.option("--as-of", type=Day(), help="Use what was known that morning: results before that day.")
@click.option("--seed", type=int, default=0, show_default=True, help="Seed of the Monte Carlo traces.")
@library_option
@json_option
def fit(as_of: date | None, seed: int, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Fit levels to the library, and to what the yard's diary says of runs. A stop leaves the fit that was there."""
    from upsides.results.library import Library
    from upsides.trip.fitting import make_fit_with_trips
    from upsides.trip.model import as_manifest

    opened = Library.open(library)
    if as_of is not None:
        _check_known(opened, as_of)
    with shown() as line:
        made, trips = make_fit_with_trips(opened, as_of, seed=seed, progress=line, told=_told(library, as_of))
    if isinstance(trips, str):
        click.echo(trips, err=True)
    learned = None if isinstance(trips, str) else as_manifest(trips) | {"notes": list(trips.notes)}
    answer(as_json, made.manifest | {"trips": learned}, _as_lines(made.manifest) + _trip_lines(learned))


def _told(library: Path, as_of: date | None) -> "Told":
    """Return what the yard's diary says of runs, gallops and trials; nothing where the library has no books."""
    from upsides.books.services.opening import connect_books, has_books
    from upsides.ratings.levels.told import NOTHING_TOLD

    if not has_books(library):
        return NOTHING_TOLD
    connect_books(library)
    from upsides.books import clock
    from upsides.books.queries.told_of_runs import told_of_morning

    return told_of_morning(as_of or clock.today())


def _trip_lines(trips: dict[str, Any] | None) -> list[str]:
    if trips is None:
        return []
    p = trips["population"]
    low, middle, high = (2 ** (p["trip"] + z * p["trip_sd"]) for z in (-1.0, 0.0, 1.0))
    return [
        f"The usual horse is best at {middle:.1f}f, two in three between {low:.1f} and {high:.1f}; three pounds "
        f"are lost {100 * (1 - 2 ** -p['short']):.0f} % too short or {100 * (2 ** p['long'] - 1):.0f} % too far.",
        *trips["notes"],
    ]


def _check_known(library: "Library", as_of: date) -> None:
    """Refuse a day before which nothing was run."""
    import polars as pl

    from upsides.errors import CannotFitError

    first = library.races().select(pl.col("date").min()).collect().item()
    if first is not None and first >= as_of:
        raise CannotFitError(
            "levels", f"no race was run before {as_of}, the first in the library on {first}", "choose a later day"
        )


def _as_lines(manifest: dict[str, Any]) -> list[str]:
    parts, eased = manifest["components"], manifest["eased"]
    how = "exact" if manifest["exact"] else f"stochastic, Monte Carlo errors {_percent(manifest)} of the components"
    lines = [
        f"As of {manifest['as_of']}: {manifest['runs']:,} runs of {manifest['horses']:,} horses in "
        f"{manifest['races']:,} races.",
        f"Horses differ by {(parts['lasting'] + parts['passing']) ** 0.5:.1f} lb (one standard deviation); of that "
        f"{parts['lasting'] ** 0.5:.1f} lasts and {parts['passing'] ** 0.5:.1f} fades over {parts['tau']:.0f} days.",
        f"A persevered run stands {parts['persevered'] ** 0.5:.1f} lb from its horse's level; {eased['share']:.0%} of "
        f"beaten horses are eased, by {eased['mean_lb']:.0f} lb on average.",
        f"A pound carried was worth {manifest['weight_worth']['value']:.2f} lb of margin (standard error "
        f"{manifest['weight_worth']['se']:.2f}); the convention takes it for 1.",
        f"{manifest['iterations']} steps, {'converged' if manifest['converged'] else 'NOT converged'}; {how}.",
    ]
    return [*lines, *manifest["notes"]]


def _percent(manifest: dict[str, Any]) -> str:
    errors = [error for error in manifest["log_monte_carlo_errors"] if error is not None]
    return ", ".join(f"{100 * error:.2g} %" for error in errors)
