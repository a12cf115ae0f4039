"""One horse's rating from a fit: its level, its error and the runs behind it."""

from typing import Any

import polars as pl

from upsides.errors import NotRatedError
from upsides.ratings.fits import Fit
from upsides.results.library import Library


def rating(library: Library, fit: Fit, horse_key: str) -> dict[str, Any]:
    """Return what a horse is worth as of the fit's day.

    Keys: horse, name, as_of, level_lb, sd_lb, runs (how many were used), component, and figures (one a run): race_key,
    date, course, distance_m, surface, going, position, figure_lb, book_lb, figure_sd_lb, expected_lb, eased,
    late_speed, late_standing.

    Raises:
        NotRatedError: the horse had no run with a margin before that day.
    """
    row = fit.horses.filter(pl.col("horse_key") == horse_key)
    if row.is_empty():
        raise NotRatedError(horse_key, fit.as_of)
    level = row.row(0, named=True)
    name = library.horses().filter(pl.col("horse_key") == horse_key).select(pl.col("name").drop_nulls().first())
    return {
        "horse": horse_key,
        "name": name.collect().item(),
        "as_of": str(fit.as_of),
        "level_lb": round(level["level_lb"], 2),
        "sd_lb": round(level["sd_lb"], 2),
        "runs": level["runs"],
        "component": level["component"],
        "figures": _figures(library, fit, horse_key).to_dicts(),
    }


def _figures(library: Library, fit: Fit, horse_key: str) -> pl.DataFrame:
    mine = fit.figures.filter(pl.col("horse_key") == horse_key).sort("date")
    keys = mine["race_key"].implode()
    about = library.races().filter(pl.col("race_key").is_in(keys)).collect()
    placed = library.runs().filter(pl.col("horse_key") == horse_key, pl.col("race_key").is_in(keys)).collect()
    rows = mine.join(about.drop("date"), on="race_key", how="left", maintain_order="left")
    rows = rows.join(placed.select("race_key", "position"), on="race_key", how="left", maintain_order="left")
    numbers = pl.col("figure_lb", "book_lb", "figure_sd_lb", "expected_lb").round(2)
    return rows.select(
        "race_key",
        pl.col("date").cast(pl.String),
        "course",
        "distance_m",
        "surface",
        "going",
        "position",
        numbers,
        pl.col("eased", "late_speed", "late_standing").round(3),
    )
