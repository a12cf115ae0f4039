"""The level that was held of each horse before it ran: by the last fit that knew neither that run nor any later one."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Final

import polars as pl

from upsides.books.queries import levels
from upsides.errors import UpsidesError
from upsides.ratings.kept_fits import fit_days

APART: Final = timedelta(days=7)
"""Of fits made oftener one a week is read."""
SCHEMA: Final = {
    "horse_key": pl.String, "date": pl.Date, "figure_lb": pl.Float64, "level_lb": pl.Float64, "sd_lb": pl.Float64,
}  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class LevelsHeld:
    """What fits held of horses.

    Attributes:
        runs: horse_key, date, our figure of the run as last fitted, and the level held before it with its doubt.
        by_fit: day of each fit that was read, earliest first, and the levels it held of some horses, lb.
    """

    runs: pl.DataFrame
    by_fit: tuple[tuple[date, Mapping[str, float]], ...]

    def at(self, horse_key: str, day: date) -> float | None:
        """Return the level held of a horse on the morning of a day; None where none was."""
        before = [told for fit, told in self.by_fit if fit <= day]
        return before[-1].get(horse_key) if before else None


def levels_held(library: Path, day: date, since: date, horses: Collection[str]) -> LevelsHeld:
    """Return the levels held before runs from `since` on, before a day.

    Args:
        library: folder of the library.
        day: on whose morning it is asked; its results are not known.
        since: first day of runs.
        horses: keys of horses whose levels are wanted by every fit, whether they ran or not.
    """
    days = _weekly([one for one in fit_days(library) if one <= day])
    found, by_fit = [pl.DataFrame(schema=SCHEMA)], []
    figures = _figures(library, day, since) if days else found[0]
    for begin, end in pairwise([*days, day]):
        if end <= since and end != day:
            continue
        ran = figures.filter(pl.col("date").is_between(begin, end, closed="left"))
        held = _held(library, begin, {*horses, *ran["horse_key"]})
        found.append(ran.join(held, on="horse_key", maintain_order="left").select(list(SCHEMA)))
        by_fit.append(
            (begin, dict(held.filter(pl.col("horse_key").is_in(list(horses)))["horse_key", "level_lb"].rows()))
        )
    return LevelsHeld(pl.concat(found), tuple(by_fit))


def _weekly(days: list[date]) -> list[date]:
    """Return days of which no two are less than a week apart, from the earliest on."""
    found: list[date] = []
    for one in days:
        if not found or one >= found[-1] + APART:
            found.append(one)
    return found


def _figures(library: Path, day: date, since: date) -> pl.DataFrame:
    """Return horse_key, date and figure_lb of runs, as last fitted; none where no fit says so."""
    try:
        found = levels.read_levels(library, day).figures.lazy()
    except UpsidesError:
        return pl.DataFrame(schema={name: SCHEMA[name] for name in ("horse_key", "date", "figure_lb")})
    ran = found.filter(pl.col("date").is_between(since, day, closed="left"))
    return ran.select("horse_key", "date", "figure_lb").drop_nulls().collect()


def _held(library: Path, fit: date, horses: Collection[str]) -> pl.DataFrame:
    told = levels.read_levels(library, fit).horses.lazy().filter(pl.col("horse_key").is_in(list(horses)))
    return told.select("horse_key", "level_lb", "sd_lb").drop_nulls().collect()
