"""How the next run hangs on the days since the last one, by the trip of that last one, as far as results can tell.

That a sprint takes less out than a mile and a half is common practice without a source; this looks whether results say
so. Runs are sorted into cells by trip and by days, and of a cell with n runs

    mean deviation = band + walk(days) + walk of the band(days) + error,    var(error) = v + s^2 / n

both walks random over the logarithm of the days, so that neighbouring gaps borrow from each other and the bands from
all together. What is told is the difference from a usual gap, with its interval.

It is an association. Who runs back quickly was well, and who stayed away was often hurt: it does not say what another
gap would have done to the same horse.
"""

from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse

from upsides.errors import CannotFitError
from upsides.ratings.components import Components, fit_components, walks

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BOUNDS: Final = (6.5, 9.5)
"""Furlongs up to which a trip is of a band: sprints, seven furlongs to a mile, farther; the trip classes of studies."""
STEPS: Final = (7, 14, 21, 28, 42, 60, 120)
"""Days up to which a gap is of a step; the last step has no end. Our own choice."""
LEAST_RUNS: Final = 200
WIDE: Final = 1.6448536269514722
"""Of a normal interval that holds nine in ten."""

Says = Literal["told", "nothing stands out", "too few runs"]


@dataclass(frozen=True, slots=True)
class UsualGap:
    """Days between runs after a trip of a band.

    Attributes:
        low, middle, high: quartiles; NaN without any.
        runs: how many.
    """

    low: float
    middle: float
    high: float
    runs: int


@dataclass(frozen=True, slots=True)
class GapEffect:
    """What runs after a gap came to, against the usual gap of their band.

    Attributes:
        mean: of our figure against the horse's own level, lb; None where it cannot be told.
        low, high: ends of its 90 % interval.
        runs: in this cell.
        says: "told" where the interval leaves out nought.
    """

    mean: float | None
    low: float | None
    high: float | None
    runs: int
    says: Says


@dataclass(frozen=True, slots=True, eq=False)
class Gaps:
    """What results say of gaps; B bands of trip, S steps of days.

    Attributes:
        bounds, steps: where bands and steps end.
        runs: (B, S) how many there are.
        usual: (B,) the step that every other is held against: the commonest of the band.
        effects: (B, S, 3) mean and ends of the 90 % interval, lb against the usual step; NaN where there are no runs,
            or too few in all.
        apart: (S, 3) mean and interval of how much more a gap shorter or longer than usual counts in the last band
            than in the first; NaN where it cannot be told.
        sds: standard deviations of the walks for each doubling of the days, lb: of all bands together, of each its own.
        gaps: (B,) usual days between runs.
    """

    bounds: tuple[float, ...]
    steps: tuple[int, ...]
    runs: Ints
    usual: Ints
    effects: Floats
    apart: Floats
    sds: tuple[float, float]
    gaps: tuple[UsualGap, ...]

    def effect(self, furlongs: float, days: float) -> GapEffect:
        """Return what runs so many days after a trip came to."""
        cell = (int(np.searchsorted(self.bounds, furlongs)), int(np.searchsorted(self.steps, days)))
        mean, low, high = (float(one) for one in self.effects[cell])
        if not np.isfinite(mean):
            return GapEffect(None, None, None, int(self.runs[cell]), "too few runs")
        return GapEffect(mean, low, high, int(self.runs[cell]), "told" if low * high > 0 else "nothing stands out")

    def usual_after(self, furlongs: float) -> UsualGap:
        """Return the usual days between runs after a trip."""
        return self.gaps[int(np.searchsorted(self.bounds, furlongs))]

    @property
    def trips_differ(self) -> Says:
        """Whether gaps count differently after the longest trips than after the shortest: told for any step."""
        known = self.apart[np.isfinite(self.apart[:, 0])]
        if known.size == 0:
            return "too few runs"
        sides = known[:, 1] * known[:, 2] > 0
        return "told" if sides.any() else "nothing stands out"


def between_runs(horse: ArrayLike, day: ArrayLike) -> tuple[Ints, Floats]:
    """Return (n,) the row of each run's run before, -1 for none, and the days between; NaN for none.

    Args:
        horse: (n,) any codes.
        day: (n,) whole days.
    """
    whose, when = np.asarray(horse), np.asarray(day, dtype=np.int64)
    order = np.lexsort((when, whose))
    same = np.r_[False, whose[order][1:] == whose[order][:-1]]
    before, gap = np.full(whose.size, -1), np.full(whose.size, np.nan)
    later = np.flatnonzero(same)
    before[order[later]] = order[later - 1]
    gap[order[later]] = when[order[later]] - when[order[later - 1]]
    return before, gap


def learn_gaps(
    furlongs: ArrayLike,
    days: ArrayLike,
    deviation: ArrayLike,
    bounds: tuple[float, ...] = BOUNDS,
    steps: tuple[int, ...] = STEPS,
) -> Gaps:
    """Return what results say.

    Args:
        furlongs: (n,) trip of the run before.
        days: (n,) since then.
        deviation: (n,) what the run was off what had been expected of it before, lb; NaN where nothing was, and the run
            then tells of usual gaps alone. Rows without a trip or a gap are left out.
        bounds: where bands of trip end, furlongs.
        steps: where steps of days end.
    """
    trip, gap, y = (np.asarray(one, dtype=np.float64) for one in (furlongs, days, deviation))
    there = np.isfinite(trip) & np.isfinite(gap)
    bands = np.searchsorted(bounds, trip[there])
    gaps = tuple(_usual(gap[there][bands == one]) for one in range(len(bounds) + 1))
    known = there & np.isfinite(y)
    trip, gap, y = trip[known], gap[known], y[known]
    band, step = np.searchsorted(bounds, trip), np.searchsorted(steps, gap)
    shape = (len(bounds) + 1, len(steps) + 1)
    runs = np.bincount(band * shape[1] + step, minlength=shape[0] * shape[1]).reshape(shape)
    usual = runs.argmax(axis=1)
    effects, apart, sds = np.full((*shape, 3), np.nan), np.full((shape[1], 3), np.nan), (np.nan, np.nan)
    if y.size >= LEAST_RUNS:
        fitted = _fitted(band, step, y, _middles(step, gap, shape[1]), runs)
        sds = _fill(effects, apart, fitted, usual, int(runs.sum(axis=0).argmax()))
    return Gaps(bounds, steps, runs, usual, effects, apart, sds, gaps)


def _usual(gap: Floats) -> UsualGap:
    if gap.size == 0:
        return UsualGap(np.nan, np.nan, np.nan, 0)
    low, middle, high = (float(one) for one in np.quantile(gap, (0.25, 0.5, 0.75)))
    return UsualGap(low, middle, high, int(gap.size))


def _middles(step: Ints, gap: Floats, count: int) -> Floats:
    """Return (S,) the logarithm to base 2 of the mean gap of each step."""
    total = np.bincount(step, np.log2(np.maximum(gap, 1.0)), count)
    return np.asarray(total / np.maximum(np.bincount(step, minlength=count), 1))


@dataclass(frozen=True, slots=True)
class _Fitted:
    """The model, with the row of effects of each cell that has runs, by band and step."""

    fit: Components
    rows: dict[tuple[int, int], Any]


def _fitted(band: Ints, step: Ints, y: Floats, time: Floats, runs: Ints) -> _Fitted | None:
    """Return the model; None where the runs cannot carry it."""
    steps, count = runs.shape[1], runs.ravel()
    cell = band * steps + step
    mean = np.bincount(cell, y, count.size) / np.maximum(count, 1)
    within = float(((y - mean[cell]) ** 2).sum() / max(y.size - np.count_nonzero(count), 1))
    there = np.flatnonzero(count)
    whose, when = there // steps, time[there % steps]
    X = (whose[:, None] == np.unique(whose)).astype(np.float64)
    parts = [walks("all", np.zeros(there.size, dtype=np.int64), when), walks("band", whose, when)]
    try:
        fit = fit_components(mean[there], X, parts, within / count[there], lifted=("all", "band"))
    except CannotFitError:
        return None
    fixed = sparse.csr_array((there.size, X.shape[1]))
    rows = sparse.csr_array(sparse.hstack([fixed, *(part.incidence for part in parts)]))
    return _Fitted(fit, {divmod(int(one), steps): rows[[row]] for row, one in enumerate(there)})


def _fill(effects: Floats, apart: Floats, fitted: _Fitted | None, usual: Ints, commonest: int) -> tuple[float, float]:
    """Fill in each cell against its band's usual step, and the last band against the first from the commonest step."""
    if fitted is None:
        return np.nan, np.nan
    fit, rows = fitted.fit, fitted.rows
    for b, s in rows:
        effects[b, s] = _told(fit, rows[b, s] - rows[b, int(usual[b])])
    last = effects.shape[0] - 1
    for s in range(effects.shape[1]):
        if s != commonest and all(cell in rows for b in (0, last) for cell in ((b, s), (b, commonest))):
            change = [rows[b, s] - rows[b, commonest] for b in (0, last)]
            apart[s] = _told(fit, change[1] - change[0])
    sds = np.sqrt(fit.variances)
    return float(sds[0]), float(sds[1])


def _told(fit: Components, contrast: Any) -> tuple[float, float, float]:
    """Return the mean and the ends of the interval of a contrast of effects, its fixed part left at nought."""
    effects = np.concatenate([fit.fixed, *fit.random])
    mean = float((contrast @ effects)[0])
    wide = WIDE * float(np.sqrt(max(fit.variance_of(contrast)[0], 0.0)))
    return mean, mean - wide, mean + wide
