"""A horse's own course over the weeks: what a mean of V200, a recovery or a speed is, freed of where, who and how hot.

    log y = intercept + rise + temperature + horse + walk(horse, week) + gallop + rider + going + error

The horse, gallop, rider and going are partially pooled levels, the walk is a random walk from the horse's first record
on, and each record brings its own known error. What is compared is one horse with itself; nothing ranks horses.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.stats import norm

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.components import Components, Part, coded, fit_components, levels, walks

Floats = NDArray[np.float64]
NOISE: Final = 0.02
"""Differences of 2 % or less are what the same horse shows on consecutive fast days (Vermeulen and Evans 2006)."""
DAYS: Final = 21
"""A horse is held against itself so many days ago."""
LEAST: Final = 12
"""Fewer records than this in the whole yard say nothing of gallops and riders. Our own choice."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value of one horse.

    Attributes:
        horse: its number.
        day: when.
        value: above nought: a speed in m/s, or a heart rate in beats a minute.
        sd: its standard error, in the same unit; 0 where it is not known.
        gallop, rider, going: where, who rode, how it rode; None where it is not known.
        rise: rise over run.
        temperature_c: of the air; None where it is not known, which is taken as the mean of all.
    """

    horse: int
    day: date
    value: float
    sd: float = 0.0
    gallop: int | None = None
    rider: int | None = None
    going: str | None = None
    rise: float = 0.0
    temperature_c: float | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """How a horse stands against itself some weeks ago.

    Attributes:
        horse: its number.
        since: the day of the record that it is held against.
        last: the day of its last record.
        share: the change as a share of the value: 0.03 is 3 % more.
        low, high: ends of its 90 % interval.
        more, less: how probable it is that it changed by more than the noise floor, up and down.
    """

    horse: int
    since: date
    last: date
    share: float
    low: float
    high: float
    more: float
    less: float


@dataclass(frozen=True, slots=True, eq=False)
class Trends:
    """What was learnt of a yard's readings.

    Attributes:
        sds: standard deviations, as shares of the value, by part: horse, week, gallop, rider, going, and error.
        adjusted: (n,) each reading with the effects of gallop, rider, going, rise and temperature taken out.
        gallops: the effect of each gallop as a share, by its number.
        changes: of the horses that were read both lately and some weeks before.
    """

    sds: dict[str, float]
    adjusted: Floats
    gallops: dict[int, float]
    changes: tuple[Change, ...]


def trends_of(readings: Sequence[Reading], on: date, days: int = DAYS) -> Trends:
    """Return what a yard's readings say of each horse's course.

    Args:
        readings: in any order, of one kind of value; none after `on`.
        on: the day from which one looks.
        days: how long ago a horse is held against.

    Raises:
        CannotFitError: too few readings.
    """
    if len(readings) < LEAST:
        raise CannotFitError(
            _("trends"),
            _("{count} readings, and {least} are asked for", count=len(readings), least=LEAST),
            _("wait for more"),
        )
    value = np.array([one.value for one in readings])
    y, known = np.log(value), (np.array([one.sd for one in readings]) / value) ** 2
    horse, _horses = coded([one.horse for one in readings])
    week = np.array([(one.day - on).days / 7 for one in readings])
    gallop, gallops = coded([one.gallop for one in readings])
    rider, riders = coded([one.rider for one in readings])
    going, goings = coded([one.going for one in readings])
    parts = [
        levels("horse", horse, int(horse.max()) + 1),
        walks("week", horse, week),
        levels("gallop", gallop, len(gallops)),
        levels("rider", rider, len(riders)),
        levels("going", going, len(goings)),
    ]
    X = _fixed(readings)
    fit = fit_components(y, X, parts, known, lifted=("week",))
    taken = X[:, 1:] @ fit.fixed[1:] + sum(parts[k].incidence @ fit.random[k] for k in (2, 3, 4))
    sds = np.sqrt([*fit.variances, fit.residual])
    names = [*(part.name for part in parts), "error"]
    return Trends(
        dict(zip(names, sds.tolist(), strict=True)),
        np.exp(y - taken),
        {number: float(np.expm1(fit.random[2][place])) for place, number in enumerate(gallops)},
        _changes(readings, horse, parts[1], fit, on, days),
    )


def _fixed(readings: Sequence[Reading]) -> Floats:
    """Return (n, p): one, and the rise and the temperature about their means where they differ at all."""
    heat = np.array([np.nan if one.temperature_c is None else one.temperature_c for one in readings])
    mean = float(np.nanmean(heat)) if np.isfinite(heat).any() else 0.0
    columns = [np.array([one.rise for one in readings]), np.nan_to_num(heat - mean)]
    told = [column - column.mean() for column in columns if np.ptp(column) > 1e-9]
    return np.column_stack([np.ones(len(readings)), *told])


def _changes(
    readings: Sequence[Reading], horse: NDArray[np.int64], walk: Part, fit: Components, on: date, days: int
) -> tuple[Change, ...]:
    pairs = []
    for number in range(int(horse.max()) + 1):
        rows = sorted(np.flatnonzero(horse == number).tolist(), key=lambda row: readings[row].day)
        before = [row for row in rows if readings[row].day <= on - timedelta(days=days)]
        if before and readings[rows[-1]].day > readings[before[-1]].day:
            pairs.append((before[-1], rows[-1]))
    if not pairs:
        return ()
    old, new = (np.array(side) for side in zip(*pairs, strict=True))
    step = walk.incidence[new] - walk.incidence[old]
    mean = np.asarray(step @ fit.random[1])
    ahead = sparse.csr_array((len(pairs), fit.starts[1]))
    behind = sparse.csr_array((len(pairs), sum(one.size for one in fit.random[2:])))
    sd = np.sqrt(np.maximum(fit.variance_of(sparse.hstack([ahead, step, behind], format="csr")), 0.0))
    return tuple(
        _change(readings[a], readings[b], float(m), float(s)) for a, b, m, s in zip(old, new, mean, sd, strict=True)
    )


def _change(before: Reading, last: Reading, mean: float, sd: float) -> Change:
    wide = 1.6448536269514722 * sd
    more, less = (norm.sf((np.log1p(NOISE) - side * mean) / max(sd, 1e-9)) for side in (1.0, -1.0))
    return Change(
        last.horse, before.day, last.day, float(np.expm1(mean)), float(np.expm1(mean - wide)),
        float(np.expm1(mean + wide)), float(more), float(less),
    )  # fmt: skip
