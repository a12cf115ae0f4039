"""How the yard's horses have run of late against what was expected of them, run by run."""

from datetime import date, timedelta
from pathlib import Path

import polars as pl

from upsides.books import clock
from upsides.books.diary.work import FAST
from upsides.books.models import Horse
from upsides.books.queries import levels, moments
from upsides.books.queries.condition_watch import barns_of
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment
from upsides.condition.form import DAYS, Ran
from upsides.errors import CannotFitError

WORKED_DAYS = 14
"""So long after fast work a gallop may have done something to a run."""


def runs_of_yard(library: Path, moment: Moment) -> tuple[list[Ran], dict[str, dict[int, str]]]:
    """Return the runs of a year before a moment's day with where each horse stood, worked and how it travelled.

    Returns:
        The runs, and the names of barns, gallops and lorries by their codes.

    Raises:
        UpsidesError: there is no fit, or no library.
    """
    first = moment.day - timedelta(days=DAYS)
    horses = {horse.horse_key: horse.pk for horse in moments.rows(Horse, moment)}
    fit = levels.read_levels(library, moment.day)
    ours = pl.col("horse_key").is_in(list(horses)) & pl.col("date").is_between(first, moment.day, closed="left")
    columns = ("horse_key", "date", "figure_lb", "expected_lb", "figure_sd_lb")
    if not set(columns) <= set(fit.figures.lazy().collect_schema().names()):
        raise CannotFitError("form", "the fit does not say what was expected of each run", "make the fit again")
    rows = fit.figures.lazy().filter(ours).select(columns).drop_nulls().collect().rows()
    barns, barn_of = barns_of(moment)
    lorries = _lorries(moment, first)
    names = {"barn": dict(enumerate(barns)), "lorry": dict(enumerate(sorted(set(lorries.values()))))}
    lorry_code = {name: code for code, name in names["lorry"].items()}
    worked = _worked(moment, first - timedelta(days=WORKED_DAYS))
    runs = []
    for key, day, figure, expected, sd in rows:
        horse = horses[key]
        barn, lorry = barn_of(horse, day), lorries.get((horse, day))
        gallops = [(when, one) for when, one in worked.get(horse, ()) if 0 < (day - when).days <= WORKED_DAYS]
        runs.append(
            Ran(
                horse,
                day,
                figure - expected,
                sd,
                barn if barn >= 0 else None,
                max(gallops)[1] if gallops else None,
                lorry_code[lorry] if lorry is not None else None,
            )
        )
    return runs, names


def _lorries(moment: Moment, first: date) -> dict[tuple[int, date], str]:
    """Return by which lorry each horse travelled on a day."""
    zone = clock.place().zone
    rows = entries_of(moment, ["travel"], first, moment.day).values_list("horse_id", "happened_at", "values")
    return {(horse, at.astimezone(zone).date()): values["lorry"] for horse, at, values in rows}


def _worked(moment: Moment, first: date) -> dict[int, list[tuple[date, int]]]:
    """Return day and gallop of the fast works of each horse."""
    zone = clock.place().zone
    found: dict[int, list[tuple[date, int]]] = {}
    rows = entries_of(moment, ["exercise"], first, moment.day).values_list("horse_id", "happened_at", "values")
    for horse, at, values in rows:
        if values["exercise"] in FAST and values.get("gallop") is not None:
            found.setdefault(horse, []).append((at.astimezone(zone).date(), values["gallop"]))
    return found
