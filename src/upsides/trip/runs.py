"""The runs of horses, laid out for the model: figures, what each race asked, how each run finished, days, ages."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray
from scipy.special import ndtri

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

EPOCH = date(1970, 1, 1)
MOST_RUNS = 60
"""Runs of a horse that are read, the latest: what was longer ago says next to nothing of today."""

UNASKED = 4.0
"""Times that the error variance of a run is taken where somebody said that it was not asked: own choice."""
SURE = 0.02
"""How near to 0 or 1 a standing late in the race is read: beyond it is chance."""


@dataclass(frozen=True, slots=True)
class Runs:
    """Runs, a horse's together and in order of time.

    Attributes:
        keys: (horses,) keys.
        start: (horses + 1,) where each horse's runs begin.
        y: (runs,) figures, lb.
        variance: (runs,) their error variance, lb^2.
        x: (runs,) demand of the race, octaves.
        z: (runs,) how they finished, standard normal scores; NaN where no sections were timed.
        day: (runs,) days since 1970.
        age: (runs,) years, NaN where not known.
        female: (horses,) fillies and mares.
        foaled_in: (horses,) country of foaling, "" where not known.
    """

    keys: list[str]
    start: Ints
    y: Floats
    variance: Floats
    x: Floats
    z: Floats
    day: Floats
    age: Floats
    female: NDArray[np.bool_]
    foaled_in: NDArray[np.str_]

    @property
    def size(self) -> int:
        """Number of horses."""
        return len(self.keys)

    @property
    def counts(self) -> Ints:
        """Runs of each horse."""
        return np.diff(self.start)

    def of(self, horses: Ints) -> "Runs":
        """Return the runs of some horses, in the order asked for."""
        counts = self.counts[horses]
        rows = np.concatenate([np.arange(self.start[h], self.start[h + 1]) for h in horses] or [np.arange(0)])
        rows = rows.astype(np.int64)
        start = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
        arrays = {name: getattr(self, name)[rows] for name in ("y", "variance", "x", "z", "day", "age")}
        keys = [self.keys[int(h)] for h in horses]
        return replace(self, keys=keys, start=start, female=self.female[horses], foaled_in=self.foaled_in[horses],
                       **arrays)  # fmt: skip

    def unasked(self, on: Sequence[float]) -> "Runs":
        """Return the runs with those of some days, since 1970, saying less: the horse was not asked for all it had."""
        there = np.isin(self.day, np.asarray(on, dtype=np.float64))
        if not there.any():
            return self
        variance = np.where(there, UNASKED * self.variance, self.variance)
        return replace(self, variance=variance, z=np.where(there, np.nan, self.z))

    def without_sections(self) -> "Runs":
        """Return the runs as if nothing had been timed within the race."""
        return replace(self, z=np.full(self.z.size, np.nan))


def runs_of(figures: pl.DataFrame, demand: pl.DataFrame, horses: pl.DataFrame) -> Runs:
    """Lay out runs.

    Args:
        figures: of a fit: race_key, horse_key, date, figure_lb, figure_sd_lb, late_standing.
        demand: race_key and `demand`, octaves.
        horses: horse_key, sex, suffix and foaled of the horses wanted; one without figures gets no runs.
    """
    told = horses.select("horse_key", "sex", "suffix", "foaled").unique("horse_key", keep="last", maintain_order=True)
    rows = (
        figures.join(told.select("horse_key", "foaled"), on="horse_key")
        .join(demand, on="race_key")
        .filter(pl.col("demand").is_finite(), pl.col("figure_lb").is_finite())
        .sort("horse_key", "date", "race_key")
        .filter(pl.int_range(pl.len()).reverse().over("horse_key") < MOST_RUNS)
    )
    told = told.sort("horse_key")
    count = told.join(rows.group_by("horse_key").len(), on="horse_key", how="left", maintain_order="left")["len"]
    age = rows["date"].dt.year().cast(pl.Float64) + rows["date"].dt.ordinal_day() / 365.25 - rows["foaled"]
    return Runs(
        keys=told["horse_key"].to_list(),
        start=np.concatenate([[0], np.cumsum(count.fill_null(0).to_numpy())]).astype(np.int64),
        y=rows["figure_lb"].to_numpy().copy(),
        variance=rows["figure_sd_lb"].to_numpy() ** 2,
        x=rows["demand"].to_numpy().copy(),
        z=_scores(rows["late_standing"]),
        day=rows["date"].cast(pl.Int32).cast(pl.Float64).to_numpy().copy(),
        age=age.cast(pl.Float64).fill_null(np.nan).to_numpy().copy(),
        female=told["sex"].is_in(["filly", "mare"]).fill_null(value=False).to_numpy(),
        foaled_in=told["suffix"].fill_null("").to_numpy().astype(np.str_),
    )


def _scores(standing: pl.Series) -> Floats:
    share = standing.cast(pl.Float64).fill_null(np.nan).to_numpy()
    return np.asarray(ndtri(np.clip(share, SURE, 1.0 - SURE)))


def days(day: date) -> float:
    """Return days since 1970."""
    return float((day - EPOCH).days)
