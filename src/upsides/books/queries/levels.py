"""The one door to what a fit says about levels and figures."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path

import polars as pl

from upsides.ratings.kept_fits import KeptFit, kept_fit, scan_fit

Frame = pl.DataFrame | pl.LazyFrame


@dataclass(frozen=True, slots=True, eq=False)
class Levels:
    """What a fit says. Its tables hold every horse of the library, so they are read no further than is asked.

    Args:
        as_of: day up to which results were known.
        levels: horse_key, date, level_lb, sd_lb: curves on run dates, a grid between, and `as_of`.
        figures: race_key, horse_key, date, figure_lb, figure_sd_lb, and where the fit has them late_speed,
            late_standing: one row a run.
        horses: horse_key, as_of, level_lb, sd_lb, runs, component: one row a horse.
    """

    as_of: date
    levels: Frame
    figures: Frame
    horses: Frame


def read_levels(library: Path, until: date) -> Levels:
    """Return what was known on the morning of a day: the fit with most results, none of that day or later.

    The same object as long as that fit stands.

    Raises:
        UpsidesError: the library holds no such fit, or one that cannot be read.
    """
    return _opened(kept_fit(library, until))


@lru_cache(maxsize=4)
def _opened(kept: KeptFit) -> Levels:
    tables = scan_fit(kept)
    return Levels(kept.as_of, tables["levels"], tables["figures"], tables["horses"])
