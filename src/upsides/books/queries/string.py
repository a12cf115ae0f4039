"""Reads of the string: the list, and one horse."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import polars as pl

from upsides.books.models import Horse
from upsides.books.queries.levels import Levels
from upsides.books.queries.results import runs_of
from upsides.charts.ranges import WIDE

SPARK_DAYS = 365
"""How far back the small curve of a list looks."""


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


@dataclass(frozen=True, slots=True)
class Listed:
    """One horse as a list shows it.

    Args:
        horse: its row of the books.
        age: official age on the day of the fit, northern hemisphere.
        level: None when the fit does not know it.
        curve: date, level_lb, sd_lb over the last year.
        last_run: its last start with its race's columns, None before the first.
    """

    horse: Horse
    age: int
    level: Level | None
    curve: pl.DataFrame
    last_run: dict[str, Any] | None

    @property
    def gained(self) -> float | None:
        """Return lb gained over the days of the curve, None for less than two points."""
        if self.curve.height < 2:
            return None
        return float(self.curve["level_lb"][-1] - self.curve["level_lb"][0])


@dataclass(frozen=True, slots=True)
class Shown:
    """One horse as its own page shows it.

    Args:
        horse: its row of the books.
        age: official age on the day of the fit.
        level: None when the fit does not know it.
        curve: date, level_lb, sd_lb over its whole career.
        runs: its starts, latest first, with race columns, figure_lb and figure_sd_lb.
    """

    horse: Horse
    age: int
    level: Level | None
    curve: pl.DataFrame
    runs: pl.DataFrame


def string(library: Path, levels: Levels) -> list[Listed]:
    """Return the string, best level first, horses without one last.

    Args:
        library: folder of the library.
        levels: what the fit says.
    """
    horses = list(Horse.objects.all())
    keys = [horse.horse_key for horse in horses]
    runs = runs_of(library, keys).unique("horse_key", keep="first", maintain_order=True)
    last = {row["horse_key"]: row for row in runs.to_dicts()}
    since = levels.levels.filter(
        pl.col("horse_key").is_in(keys),
        pl.col("date") >= pl.lit(levels.as_of) - pl.duration(days=SPARK_DAYS),
    )
    curves = since.sort("date").partition_by("horse_key", as_dict=True)
    listed = [
        Listed(
            horse,
            levels.as_of.year - horse.foaled,
            _level(levels, horse.horse_key),
            curves.get((horse.horse_key,), since.clear()),
            last.get(horse.horse_key),
        )
        for horse in horses
    ]
    return sorted(listed, key=lambda one: (one.level is None, -(one.level.lb if one.level else 0), one.horse.name))


def horse(library: Path, levels: Levels, number: int) -> Shown | None:
    """Return one horse of the string by its number in the books, None when there is none.

    Args:
        library: folder of the library.
        levels: what the fit says.
        number: primary key of the horse.
    """
    found = Horse.objects.filter(pk=number).first()
    if found is None:
        return None
    key = found.horse_key
    figures = levels.figures.filter(pl.col("horse_key") == key).select("race_key", "figure_lb", "figure_sd_lb")
    runs = runs_of(library, [key]).join(figures, on="race_key", how="left", maintain_order="left")
    curve = levels.levels.filter(pl.col("horse_key") == key).sort("date")
    return Shown(found, levels.as_of.year - found.foaled, _level(levels, key), curve, runs)


def _level(levels: Levels, key: str) -> Level | None:
    row = levels.horses.filter(pl.col("horse_key") == key)
    if row.is_empty():
        return None
    return Level(row["level_lb"][0], row["sd_lb"][0], row["runs"][0])
