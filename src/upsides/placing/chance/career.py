"""What a horse's whole career says beside its level: how its runs stood against what all other runs expected.

A level leans on the last months. A horse whose runs, all its career, were a little better than expected of them is a
little better than its level says, and the other way round: `judging` finds it on later races. The mean is drawn to
nought where runs are few.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
import polars as pl
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FEW: Final = 30.0
"""Runs that count as much as knowing nothing of a career."""
FARTHEST_LB: Final = 20.0
WORTH: Final = 5.0
"""Pounds that a pound of the drawn mean is worth (docs/chances.md says from which races)."""


def career_gained(keys: Sequence[str], figures: pl.LazyFrame) -> Floats:
    """Return what each horse's career adds to its level, (horses,), lb; nought for one without figures.

    Args:
        keys: the horses.
        figures: of a fit: horse_key, figure_lb, expected_lb, eased where it has that; a run that was told as not asked
            says nothing.
    """
    beyond = (pl.col("figure_lb") - pl.col("expected_lb")).clip(-FARTHEST_LB, FARTHEST_LB)
    mine = figures.filter(pl.col("horse_key").is_in(pl.Series(keys, dtype=pl.String).implode()), _asked(figures))
    found = mine.group_by("horse_key").agg(gained=WORTH * beyond.sum() / (pl.len() + FEW)).collect()
    gained = dict(found.select("horse_key", "gained").rows())
    return np.array([gained.get(key, 0.0) for key in keys])


def _asked(figures: pl.LazyFrame) -> pl.Expr:
    return pl.col("eased") < 1.0 if "eased" in figures.collect_schema() else pl.lit(value=True)
