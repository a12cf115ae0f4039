"""Horses that change trip after a bad run, against equally beaten ones that do not.

Who is beaten badly runs better next time whatever is done: a bad day is partly chance. What a change of trip brings is
only what changers improve beyond controls that were beaten as far and stayed.
"""

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import polars as pl

from upsides.ratings.kept_fits import Fit
from upsides.trip.model import TripModel

CHANGED = 0.05
"""Octaves by which the next race must be longer or shorter to count as another trip (3 %)."""

BANDS = 10
BAD = 0.1
"""Share of all runs, the furthest below what was expected, that count as bad; the best as many count as good."""


@dataclass(frozen=True, slots=True)
class Controls:
    """How changers fared.

    Attributes:
        after_bad, after_good: share of runs after which the trip was changed.
        changers, stayers: how many changed or stayed after a bad run.
        changed_lb: mean improvement of those that changed.
        stayed_lb: that of those that stayed, weighted so that they had been beaten as far as the changers.
        difference_lb, se_lb: of the two, and its standard error.
    """

    after_bad: float
    after_good: float
    changers: int
    stayers: int
    changed_lb: float
    stayed_lb: float
    difference_lb: float
    se_lb: float


def controls(fit: Fit, model: TripModel) -> dict[str, Any]:
    """Return how horses fared that changed trip after a bad run; see `Controls`; empty without such."""
    runs = fit.figures.join(model.demand, on="race_key").sort("horse_key", "date", "race_key")
    then = pl.col("distance", "figure_lb").shift(-1).over("horse_key").name.prefix("next_")
    pairs = runs.with_columns(then).drop_nulls("next_distance").filter(pl.col("expected_lb").is_finite())
    pairs = pairs.with_columns(
        missed=pl.col("figure_lb") - pl.col("expected_lb"),
        changed=(pl.col("next_distance") - pl.col("distance")).abs() > CHANGED,
        gained=pl.col("next_figure_lb") - pl.col("figure_lb"),
    )
    low, high = pairs["missed"].quantile(BAD), pairs["missed"].quantile(1.0 - BAD)
    if low is None or high is None:
        return {}
    bad, good = pairs.filter(pl.col("missed") <= low), pairs.filter(pl.col("missed") >= high)
    if bad["changed"].sum() < BANDS or (~bad["changed"]).sum() < BANDS:
        return {}
    return asdict(_matched(bad, float(good["changed"].to_numpy().mean())))


def _matched(bad: pl.DataFrame, after_good: float) -> Controls:
    band = (bad["missed"].rank("ordinal").cast(pl.Int64) - 1) * BANDS // bad.height
    cells = (
        bad.with_columns(band=band)
        .group_by("band", "changed")
        .agg(n=pl.len(), mean=pl.col("gained").mean(), var=pl.col("gained").var())
    )
    both = cells.filter("changed").join(cells.filter(~pl.col("changed")), on="band", suffix="_stayed")
    share = both["n"].to_numpy() / both["n"].sum()
    changed, stayed = float(share @ both["mean"].to_numpy()), float(share @ both["mean_stayed"].to_numpy())
    variance = (
        both["var"].to_numpy() / both["n"].to_numpy() + both["var_stayed"].to_numpy() / both["n_stayed"].to_numpy()
    )
    count = int(bad["changed"].sum())
    return Controls(
        count / bad.height, after_good, count, bad.height - count, changed, stayed, changed - stayed,
        float(np.sqrt(share**2 @ variance)),
    )  # fmt: skip
