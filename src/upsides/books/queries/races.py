"""Reads of one race."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import polars as pl

from upsides.books.models import Horse
from upsides.books.queries.levels import Levels
from upsides.books.queries.results import race


@dataclass(frozen=True, slots=True)
class Race:
    """One race as its page shows it.

    Args:
        race: its row of the schema.
        runs: rows of the schema in order of finish, with horse_key, figure_lb and figure_sd_lb, and
            `number`: the horse's number in the books where it is one of ours.
    """

    race: dict[str, Any]
    runs: list[dict[str, Any]]


def race_with_figures(library: Path, levels: Levels, race_key: str) -> Race | None:
    """Return one race with our figure for every run, None when the library does not hold it."""
    found = race(library, race_key)
    if found is None:
        return None
    row, runs = found
    figures = levels.figures.filter(pl.col("race_key") == race_key).select("horse_key", "figure_lb", "figure_sd_lb")
    rated = runs.join(figures, on="horse_key", how="left", maintain_order="left").to_dicts()
    keys = [run["horse_key"] for run in rated]
    own = dict(Horse.objects.filter(horse_key__in=keys).values_list("horse_key", "pk"))
    return Race(row, [run | {"number": own.get(run["horse_key"])} for run in rated])
