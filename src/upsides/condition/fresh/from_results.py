"""Days between runs and what they came to, from a library's results."""

import polars as pl

from upsides.condition.fresh.gaps import Gaps, between_runs, learn_gaps
from upsides.trade.units import FURLONG_M


def gaps_of(missed: pl.DataFrame, races: pl.DataFrame) -> Gaps:
    """Return what runs against what was expected of them say of gaps.

    A run is held against what was known before it; one of which nothing was expected is still a run between.

    Args:
        missed: race_key, horse_key, date, off_lb, one row a run (`upsides.condition.expected.missed_in`).
        races: race_key, distance_m.
    """
    runs = missed.join(races.select("race_key", "distance_m"), on="race_key", how="left")
    before, gap = between_runs(runs["horse_key"].rank("dense").to_numpy(), runs["date"].to_physical().to_numpy())
    trip = runs["distance_m"].cast(pl.Float64).fill_null(float("nan")).to_numpy() / FURLONG_M
    deviation = runs["off_lb"].cast(pl.Float64).fill_null(float("nan")).to_numpy()
    return learn_gaps(trip[before], gap, deviation)
