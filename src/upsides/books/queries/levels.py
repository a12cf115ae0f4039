"""The one door to what the last fit says about levels and figures."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl

from upsides.ratings.fits import read_fit


@dataclass(frozen=True, slots=True)
class Levels:
    """What a fit says.

    Args:
        as_of: day up to which results were known.
        levels: horse_key, date, level_lb, sd_lb: curves on run dates, a grid between, and `as_of`.
        figures: race_key, horse_key, date, figure_lb, figure_sd_lb: one row a run.
        horses: horse_key, as_of, level_lb, sd_lb, runs, component: one row a horse.
    """

    as_of: date
    levels: pl.DataFrame
    figures: pl.DataFrame
    horses: pl.DataFrame


def read_levels(library: Path) -> Levels:
    """Read the last fit of a library.

    Raises:
        UpsidesError: the library holds no fit, or one that cannot be read.
    """
    fit = read_fit(library)
    return Levels(fit.as_of, fit.levels, fit.figures, fit.horses)
