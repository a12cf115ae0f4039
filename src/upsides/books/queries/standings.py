"""What a fit says of the yard's own horses, kept in the process as long as the fit stands."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

import polars as pl

from upsides.books.queries.levels import Levels
from upsides.charts.ranges import WIDE

SPARK_DAYS = 365
"""How far back the small curve of a list looks."""
FIGURES = ("race_key", "figure_lb", "figure_sd_lb", "late_speed", "late_standing")
"""What is kept of a run; a fit that has not got one of these leaves it empty."""


@dataclass(frozen=True, slots=True)
class Level:
    """A level and its doubt, lb.

    Args:
        lb: the middle.
        sd_lb: its standard deviation.
        runs: how many runs it rests on.
    """

    lb: float
    sd_lb: float
    runs: int

    @property
    def low(self) -> float:
        """Return the lower end of the range that holds four times in five."""
        return self.lb - WIDE * self.sd_lb

    @property
    def high(self) -> float:
        """Return the upper end of that range."""
        return self.lb + WIDE * self.sd_lb


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A level over the last year; one object as long as the fit stands.

    Args:
        days: rising, at least one.
        level_lb: level on each, lb.
        sd_lb: standard deviation on each, lb.
    """

    days: tuple[date, ...]
    level_lb: tuple[float, ...]
    sd_lb: tuple[float, ...]

    @property
    def gained(self) -> float | None:
        """Return lb gained over these days, None for a single one."""
        return self.level_lb[-1] - self.level_lb[0] if len(self.days) > 1 else None


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """What a fit says of one horse.

    Args:
        level: on the fit's day.
        curve: the last year.
        career: date, level_lb, sd_lb over all of its runs.
        figures: by race, the columns of `FIGURES`.
    """

    level: Level
    curve: Curve
    career: pl.DataFrame
    figures: Mapping[str, Mapping[str, Any]]


@lru_cache(maxsize=4)
def standings(levels: Levels, keys: frozenset[str]) -> Mapping[str, Standing]:
    """Return what a fit says of some horses by their keys; horses that it does not know are not in it."""
    ours = pl.col("horse_key").is_in(list(keys))
    horses = levels.horses.lazy().filter(ours).collect()
    careers = _by_horse(levels.levels.lazy().filter(ours).select("horse_key", "date", "level_lb", "sd_lb").collect())
    runs = _by_horse(figures_where(levels, ours))
    return {
        row["horse_key"]: Standing(
            Level(row["level_lb"], row["sd_lb"], row["runs"]),
            _curve(careers[row["horse_key"]], levels.as_of),
            careers[row["horse_key"]],
            {run["race_key"]: run for run in runs[row["horse_key"]].to_dicts()} if row["horse_key"] in runs else {},
        )
        for row in horses.to_dicts()
        if row["horse_key"] in careers
    }


def figures_where(levels: Levels, wanted: pl.Expr) -> pl.DataFrame:
    """Return horse_key and `FIGURES` of the runs that meet a condition on the fit's figures."""
    found = levels.figures.lazy().filter(wanted)
    known = set(found.collect_schema().names())
    empty = [pl.lit(None, pl.Float64).alias(name) for name in FIGURES if name not in known]
    return found.with_columns(empty).select("horse_key", *FIGURES).collect()


def _by_horse(frame: pl.DataFrame) -> dict[str, pl.DataFrame]:
    parts = frame.partition_by("horse_key", as_dict=True, include_key=False)
    return {str(key): part.sort("date") if "date" in part.columns else part for (key,), part in parts.items()}


def _curve(career: pl.DataFrame, as_of: date) -> Curve:
    year = career.filter(pl.col("date") >= as_of - timedelta(days=SPARK_DAYS))
    return Curve(*(tuple(year[name].to_list()) for name in ("date", "level_lb", "sd_lb")))
