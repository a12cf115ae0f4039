"""What a library can teach about trips, said before any piece is claimed to help."""

from typing import Any

import numpy as np
import polars as pl

from upsides.ratings.kept_fits import Fit
from upsides.results.library import Library
from upsides.trip.model import TripModel

MANY = 10


def power(library: Library, fit: Fit, model: TripModel) -> dict[str, Any]:
    """Return what there is to learn from.

    Returns:
        runs, horses; low_furlongs and high_furlongs (between which 97 % of the runs asked); several (horses whose races
        asked a quarter of an octave apart or more); beyond_13f (runs that asked more than 13.5 furlongs); sires (with a
        runner) and sires_of_ten (with ten or more); trip_sd_octaves and the standard error of its logarithm; family_se
        (standard error of a heritability of the trip from these families, were it none).
    """
    runs = fit.figures.join(model.demand, on="race_key").filter(pl.col("demand").is_finite())
    span = runs.group_by("horse_key").agg(span=pl.col("demand").max() - pl.col("demand").min())
    low, high = np.exp2(np.quantile(runs["demand"].to_numpy(), [0.015, 0.985]))
    known = library.horses().select("horse_key", "sire").unique("horse_key").collect().drop_nulls("sire")
    ran = known.join(span.select("horse_key"), on="horse_key")
    sires = ran.group_by("sire").len()["len"]
    return {
        "runs": runs.height,
        "horses": span.height,
        "low_furlongs": float(low),
        "high_furlongs": float(high),
        "several": int((span["span"] >= 0.25).sum()),
        "beyond_13f": int((runs["demand"] > np.log2(13.5)).sum()),
        "sires": sires.len(),
        "sires_of_ten": int((sires >= MANY).sum()),
        "trip_sd_octaves": model.population.trip_sd,
        "trip_sd_log_se": model.learned.se.get("trip_sd"),
        "family_se": _family_se(sires.to_numpy()) if sires.len() > 1 else None,
    }


def _family_se(runners: "np.ndarray[Any, np.dtype[np.integer[Any]]]") -> float:
    """Return the standard error of a heritability near none, from paternal half-sib families of these sizes.

    se(h2) = 4 sqrt(2 / (sum n_i (n_i - 1))): the intraclass correlation of pairs of half-sibs, one in four of the
    heritability, over that many pairs (Robertson 1959, Biometrics 15:469, at t = 0), were every trip known exactly.
    """
    n = runners.astype(np.float64)
    pairs = float((n * (n - 1.0)).sum())
    return float(4.0 * np.sqrt(2.0 / pairs)) if pairs > 0 else float("inf")
