"""A crossed table of runs, laid out so that one factor (outer) is absorbed and the other (inner) remains."""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.crossed import kernels

Floats = NDArray[np.float64]
Races = Literal["random", "fixed"]
LEVELS = _("levels of races and horses")


@dataclass(frozen=True, slots=True)
class CrossedTable:
    """Runs sorted by the outer factor, and the sums of the data that any pair of variances needs.

    The inner factor is the one with fewer levels; its equations are what remains after the outer one is
    absorbed.

    Attributes:
        start: (outer + 1,) where each outer level's runs begin.
        inner: (n,) inner level of each run.
        weight: (n,) weight of each run.
        data: (n, p + 1) columns X, then y.
        outer_weight: (outer,) sum of weights of each outer level; `inner_weight` likewise.
        outer_data: (outer, p + 1) weighted sums of `data` in each outer level; `inner_data` likewise.
        products: (p + 1, p + 1) weighted cross products of `data`.
        races_outer: whether the outer factor is the races (else the horses).
        races_fixed: whether races are fixed effects.
        races, horses: the labels, sorted; `race_order`, `horse_order` give each label's level.
    """

    start: NDArray[np.int64]
    inner: NDArray[np.int32]
    weight: Floats
    data: Floats
    outer_weight: Floats
    inner_weight: Floats
    outer_data: Floats
    inner_data: Floats
    products: Floats
    races_outer: bool
    races_fixed: bool
    races: NDArray[Any]
    horses: NDArray[Any]
    race_order: NDArray[np.int64]
    horse_order: NDArray[np.int64]

    @property
    def runs(self) -> int:
        """Return the number of runs."""
        return self.inner.size

    @property
    def covariates(self) -> int:
        """Return p, the number of columns of X (an intercept counts as one)."""
        return int(self.data.shape[1]) - 1

    def to_outer(self, values: Floats) -> Floats:
        """Return `B values`: (inner, c) to (outer, c)."""
        out = np.empty((self.outer_weight.size, values.shape[1]))
        kernels.to_outer(self.start, self.inner, self.weight, np.ascontiguousarray(values), out)
        return out

    def to_inner(self, values: Floats) -> Floats:
        """Return `B' values`: (outer, c) to (inner, c)."""
        out = np.empty((self.inner_weight.size, values.shape[1]))
        kernels.to_inner(self.start, self.inner, self.weight, np.ascontiguousarray(values), out)
        return out

    def by_label(self, outer: Floats, inner: Floats) -> tuple[Floats, Floats]:
        """Return values of the levels as (races, horses), in the order of their sorted labels."""
        races, horses = (outer, inner) if self.races_outer else (inner, outer)
        return races[self.race_order], horses[self.horse_order]


def crossed_table(
    y: Floats, race: NDArray[Any], horse: NDArray[Any], X: Floats | None, weights: Floats | None, races: Races
) -> CrossedTable:
    """Check and lay out a table of runs.

    Args:
        y: (n,) figures.
        race: (n,) labels of any sortable type.
        horse: (n,) labels of any sortable type.
        X: (n, p) covariates or None; an intercept is put in front when races are random.
        weights: (n,) positive weights or None.
        races: whether races are random or fixed effects.

    Raises:
        CannotFitError: an input that cannot be fitted, with what to do about it.
    """
    y, weight = _checked(y, race, horse, weights)
    race_labels, race_code, race_order = _levels(race)
    horse_labels, horse_code, horse_order = _levels(horse)
    _check_repeats(y.size, race_labels.size, horse_labels.size)
    data = _columns(y, X, intercept=races == "random")
    races_outer = race_labels.size >= horse_labels.size
    outer, inner = (race_code, horse_code) if races_outer else (horse_code, race_code)
    order = np.lexsort((inner, outer))
    outer, nearer, weight = outer[order], inner[order].astype(np.int32), weight[order]
    data = np.ascontiguousarray(data[order])
    weighted = data * weight[:, None]
    sums = [_sums(outer, weight, weighted), _sums(nearer, weight, weighted)]
    start = np.concatenate([[0], np.cumsum(np.bincount(outer))]).astype(np.int64)
    return CrossedTable(
        start, nearer, weight, data, sums[0][0], sums[1][0], sums[0][1], sums[1][1], data.T @ weighted,
        races_outer, races == "fixed", race_labels, horse_labels, race_order, horse_order,
    )  # fmt: skip


def _checked(y: Floats, race: NDArray[Any], horse: NDArray[Any], weights: Floats | None) -> tuple[Floats, Floats]:
    y = np.asarray(y, dtype=np.float64)
    weight = np.ones_like(y) if weights is None else np.asarray(weights, dtype=np.float64)
    if y.ndim != 1 or not y.shape == np.shape(race) == np.shape(horse) == weight.shape:
        raise CannotFitError(
            LEVELS, _("y, race, horse and weights differ in length"), _("give one value of each per run")
        )
    for name, values in (("y", y), ("weights", weight)):
        bad = np.flatnonzero(~np.isfinite(values))
        if bad.size:
            raise CannotFitError(
                LEVELS,
                _("{name} is not a finite number in row {bad}", name=name, bad=bad[0]),
                _("drop or mend that run"),
            )
    if (weight <= 0).any():
        raise CannotFitError(
            LEVELS,
            _("row {row} has no weight", row=np.flatnonzero(weight <= 0)[0]),
            _("drop runs of weight 0"),
        )
    return y, weight


def _levels(labels: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.int64], NDArray[np.int64]]:
    """Return sorted labels, each run's level, and each label's level; levels are numbered as first met."""
    unique, first, code = np.unique(labels, return_index=True, return_inverse=True)
    order = np.empty(unique.size, dtype=np.int64)
    order[np.argsort(first, kind="stable")] = np.arange(unique.size)
    return unique, order[code], order


def _check_repeats(runs: int, races: int, horses: int) -> None:
    if horses == runs:
        raise CannotFitError(LEVELS, _("no horse ran twice"), _("its level cannot be told from luck; add more results"))
    if races == runs:
        raise CannotFitError(LEVELS, _("no race has two runners"), _("nothing links the horses; add more results"))
    if horses < 2 or races < 2:
        raise CannotFitError(
            LEVELS,
            _("{races} races of {horses} horses", races=races, horses=horses),
            _("at least two of each are needed"),
        )


def _columns(y: Floats, X: Floats | None, *, intercept: bool) -> Floats:
    """Return [1, X, y] as an (n, p + 1) array."""
    given = np.empty((y.size, 0)) if X is None else np.asarray(X, dtype=np.float64).reshape(y.size, -1)
    if not np.isfinite(given).all():
        raise CannotFitError(LEVELS, _("X holds values that are not finite"), _("drop or mend those runs"))
    ones = np.ones((y.size, 1 if intercept else 0))
    return np.hstack([ones, given, y[:, None]])


def _sums(code: NDArray[Any], weight: Floats, weighted: Floats) -> tuple[Floats, Floats]:
    levels = int(code.max()) + 1
    columns = [np.bincount(code, column, levels) for column in weighted.T]
    return np.bincount(code, weight, levels).astype(np.float64), np.ascontiguousarray(np.stack(columns, axis=1))
