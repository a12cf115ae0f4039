"""What is known of a horse before it has run: where and when it starts, from which yard, where it was foaled.

Each is a covariate of the horse's level, partially pooled: a yard with few debutants says little. But for the weight
that it carries against its fields (the handicapper's opinion, over all runs known), everything is taken from the first
run, as published on that day; a register's later entries (age, rating, gelded or not) are not
read, only whether the horse is a filly or mare, which no register changes.
"""

from dataclasses import dataclass
from typing import Any, Self

import numpy as np
import polars as pl
from numpy.typing import NDArray

Floats = NDArray[np.float64]

PRIOR_SD = {"weight": 1.0, "prize": 6.0, "band": 6.0, "season": 3.0, "female": 4.0, "trainer": 3.0, "foaled in": 3.0}
"""Prior standard deviation of each kind of coefficient, lb (weight: lb a lb): our own choice, narrow for people."""

USUAL: dict[str, type[pl.DataType]] = {
    "source": pl.String,
    "prize": pl.Float64,
    "prize_sd": pl.Float64,
    "band": pl.Float64,
    "band_sd": pl.Float64,
}
"""Columns of what is usual in each source."""

FEWEST, MOST = 10, 60
"""Debutants that a yard or country needs for a coefficient of its own, and how many may have one."""

_PRIZE = pl.col("prize").cast(pl.Float64).clip(1.0).log()
_BAND = (pl.col("rating_low") + pl.col("rating_high")).cast(pl.Float64) / 2


@dataclass(frozen=True, slots=True)
class Beforehand:
    """How first runs are turned into covariates.

    Attributes:
        usual: mean and standard deviation of log prize and band by source: source, prize, prize_sd, band, band_sd.
        trainers: yards with a coefficient of their own.
        countries: likewise, by country of foaling.
        names: what each column is.
        centre: (q,) mean of each column over the horses learned from.
        precision: (q,) prior precision, lb^-2.
    """

    usual: pl.DataFrame
    trainers: tuple[str, ...]
    countries: tuple[str, ...]
    names: tuple[str, ...]
    centre: Floats
    precision: Floats

    def of(self, first: pl.DataFrame) -> Floats:
        """Return the covariates of horses from their first runs, one row a horse, shape (horses, q).

        Args:
            first: source, date, sex, trainer, suffix, prize, rating_low, rating_high, and above_lb (weight against its
                fields, lb) where known; what is missing counts as usual.
        """
        columns = _columns(first, self.usual, self.trainers, self.countries)
        X = np.column_stack([columns[name] for name in self.names]) if self.names else np.zeros((first.height, 0))
        return X - self.centre


@dataclass(frozen=True, slots=True, eq=False)
class Debut:
    """What a fit says of horses that have not run: all of it that has to be kept to say it again.

    Attributes:
        before: how they are described.
        worth: (q,) what each covariate is worth, lb.
        covariance: (q, q) of the errors of that, lb^2.
        variance: of a horse's level about that, lb^2.
        base_lb: the level of the average horse on the scale of our figures.
    """

    before: Beforehand
    worth: Floats
    covariance: Floats
    variance: float
    base_lb: float

    def levels(self, first: pl.DataFrame) -> tuple[Floats, Floats]:
        """Return the levels (horses,) of horses that have not run, lb, and their standard deviations.

        Args:
            first: one row a horse, as `Beforehand.of` reads it: the race it is to start in, its yard, its country and,
                where known, `above_lb`, its weight against the race's mean.
        """
        X = self.before.of(first)
        variance = self.variance + np.einsum("ij,jk,ik->i", X, self.covariance, X)
        return self.base_lb + X @ self.worth, np.sqrt(variance)

    def kept(self) -> dict[str, Any]:
        """Return it as JSON has it."""
        before = self.before
        return {
            "usual": before.usual.to_dicts(),
            "trainers": list(before.trainers),
            "countries": list(before.countries),
            "names": list(before.names),
            "centre": before.centre.tolist(),
            "precision": before.precision.tolist(),
            "worth": self.worth.tolist(),
            "covariance": self.covariance.tolist(),
            "variance": self.variance,
            "base_lb": self.base_lb,
        }

    @classmethod
    def read(cls, kept: dict[str, Any]) -> Self:
        """Return what was kept."""
        before = Beforehand(
            pl.DataFrame(kept["usual"], schema=USUAL),
            tuple(kept["trainers"]),
            tuple(kept["countries"]),
            tuple(kept["names"]),
            np.array(kept["centre"], dtype=np.float64),
            np.array(kept["precision"], dtype=np.float64),
        )
        q = before.centre.size
        worth, covariance = np.array(kept["worth"], dtype=np.float64), np.array(kept["covariance"], dtype=np.float64)
        return cls(before, worth, covariance.reshape(q, q), kept["variance"], kept["base_lb"])


def learn(first: pl.DataFrame) -> Beforehand:
    """Return how to describe debutants, learned from the first runs of known horses (columns as in `Beforehand.of`)."""
    usual = first.group_by("source", maintain_order=True).agg(
        prize=_PRIZE.mean(), prize_sd=_PRIZE.std(), band=_BAND.mean(), band_sd=_BAND.std()
    )
    trainers, countries = _common(first["trainer"]), _common(first["suffix"])
    columns = _columns(first, usual, trainers, countries)
    names = tuple(name for name, x in columns.items() if np.ptp(x) > 0)
    centre = np.array([columns[name].mean() for name in names])
    precision = np.array([PRIOR_SD[next(kind for kind in PRIOR_SD if name.startswith(kind))] ** -2 for name in names])
    return Beforehand(usual, trainers, countries, names, centre, precision)


def _common(names: pl.Series) -> tuple[str, ...]:
    counts = names.drop_nulls().value_counts(sort=True).filter(pl.col("count") >= FEWEST).head(MOST)
    return tuple(sorted(counts[names.name]))


def _columns(
    first: pl.DataFrame, usual: pl.DataFrame, trainers: tuple[str, ...], countries: tuple[str, ...]
) -> dict[str, Floats]:
    at = (
        first.with_columns(log_prize=_PRIZE, middle=_BAND)
        .drop("prize")
        .join(usual, on="source", how="left", maintain_order="left")
    )
    turn = 2 * np.pi * at["date"].dt.ordinal_day().to_numpy() / 365.25
    columns = {
        "weight": at["above_lb"].fill_null(0.0).to_numpy() if "above_lb" in at.columns else np.zeros(at.height),
        "prize": _standard(at, "log_prize", "prize"),
        "band": _standard(at, "middle", "band"),
        "season sine": np.sin(turn),
        "season cosine": np.cos(turn),
        "female": _is(at["sex"].is_in(["filly", "mare"])),
    }
    columns |= {f"trainer {name}": _is(at["trainer"] == name) for name in trainers}
    return columns | {f"foaled in {name}": _is(at["suffix"] == name) for name in countries}


def _standard(at: pl.DataFrame, value: str, usual: str) -> Floats:
    """Return a number in standard deviations from its source's usual, 0 where either is missing."""
    scaled = (at[value] - at[usual]) / at[f"{usual}_sd"]
    return np.asarray(np.nan_to_num(scaled.fill_null(0.0).to_numpy(), posinf=0.0, neginf=0.0))


def _is(truth: pl.Series) -> Floats:
    return truth.fill_null(value=False).to_numpy().astype(np.float64)
