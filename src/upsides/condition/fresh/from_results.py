"""Days between runs and what they came to, from a library's figures."""

import polars as pl

from upsides.condition.fresh.gaps import Gaps, between_runs, learn_gaps
from upsides.trade.units import FURLONG_M


def gaps_of(figures: pl.DataFrame, races: pl.DataFrame) -> Gaps:
    """Return what the figures of a fit say of gaps.

    A run's deviation is its figure less what all other runs of all horses expect of it, so that it is not held against
    itself; runs without a figure are still runs between.

    Args:
        figures: race_key, horse_key, date, figure_lb, expected_lb, one row a run (`upsides.ratings.kept_fits.Fit`).
        races: race_key, distance_m.
    """
    runs = figures.join(races.select("race_key", "distance_m"), on="race_key", how="left")
    before, gap = between_runs(runs["horse_key"].rank("dense").to_numpy(), runs["date"].to_physical().to_numpy())
    trip = runs["distance_m"].cast(pl.Float64).fill_null(float("nan")).to_numpy() / FURLONG_M
    deviation = (runs["figure_lb"] - runs["expected_lb"]).cast(pl.Float64).fill_null(float("nan")).to_numpy()
    return learn_gaps(trip[before], gap, deviation)
