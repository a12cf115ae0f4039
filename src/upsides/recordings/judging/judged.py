"""What works say of a horse's level: their likelihood.

In a work each horse shows less than it is worth,

    shown = level - reserve - weight above the usual + day,    reserve gamma of shape 2, day normal,

and the gap is the difference of what two horses showed, with the error of its measurement. Riders finish upsides by
order, so a gap bounds what lies between two horses, softly: the one with more left is better than the gap says, by a
reserve that nobody knows. With k half the mean reserve, m and s the mean and standard deviation of the rest,
z = -(x - m) / s - s / k, and phi and Phi the normal density and distribution, a horse shows x with density

    p(x) = s / k^2 (z + phi(z) / Phi(z)) Phi(z) exp((x - m) / k + s^2 / 2 k^2)

(of an exponential reserve without the first three factors, and 1 / k instead: the exponentially modified Gaussian; a
reserve given x is then normal about s z, cut off at nought, and its mean is what the shape of 2 adds). A work says of a
level what is left when all that the horse may have shown is summed over, each beside what each of its company may have
shown. What a horse showed is one number beside all its company, a partner that comes back another day has one level,
and a yard's words have one meaning: these are shared, so that the same thing is not counted twice.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.company.outcome import Outcome
from upsides.recordings.judging.reserves import USUAL, Reading, Ridden
from upsides.rules import NONE, Overrides, pounds_per_length

Floats = NDArray[np.float64]

FACTORS = np.array([-np.sqrt(3.0), 0.0, np.sqrt(3.0)])
SHARES = np.array([1.0, 4.0, 1.0]) / 6.0
"""Three points and their weights that stand for a standard normal (Gauss and Hermite)."""

NODES = 64
"""Levels of partners that come back that are summed over."""

STEP_LB, GROWTH = 2.0, 1.1
"""What was shown is summed over in steps of the first, which grow below all levels by the second."""


@dataclass(frozen=True, slots=True)
class Beside:
    """A horse that worked beside the one that is judged.

    Attributes:
        horse: who, so that it is known again.
        level_lb: what it is worth, lb, on the scale of our figures; and the standard deviation of that.
        level_sd_lb: see there.
        ridden: how it was ridden.
        ahead_lb: by how much the judged horse finished in front of it, lb (`margin_lb`); below nought it was behind.
        ahead_sd_lb: standard deviation of that.
    """

    horse: Hashable
    level_lb: float
    level_sd_lb: float
    ridden: Ridden
    ahead_lb: float
    ahead_sd_lb: float


@dataclass(frozen=True, slots=True)
class JudgedWork:
    """One piece of work of the horse that is judged.

    Attributes:
        ridden: how it was ridden.
        beside: those that it worked with; a work alone says nothing here.
    """

    ridden: Ridden
    beside: tuple[Beside, ...]


def margin_lb(
    outcome: Outcome, metres: float, on: date, *, reading: Reading = USUAL, overrides: Overrides = NONE
) -> tuple[float, float]:
    """Return a gap in pounds and its standard deviation, by what a length is worth over the distance of the work.

    Args:
        outcome: how the horse stood to the other at the finish.
        metres: how far they worked.
        on: the day.
        reading: how works are read.
        overrides: the yard's own rules.
    """
    worth = pounds_per_length(metres, on, overrides=overrides).value
    lengths = outcome.lengths
    return worth * lengths, worth * float(np.hypot(outcome.sd_lengths, reading.worth_share * lengths))


def log_likelihood(works: Sequence[JudgedWork], levels_lb: Floats, reading: Reading = USUAL) -> Floats:
    """Return the log-likelihood (n, factors) of levels (n,), lb, rising, of a horse that did these works.

    One column for each of the factors by which all reserves may be wrong, whose weights are `SHARES`. The columns stand
    apart because their heights may not be compared: horses that finish level by order would teach that reserves are
    small, which they do not.
    """
    partners: dict[Hashable, list[Beside]] = {}
    for work in works:
        for one in work.beside:
            partners.setdefault(one.horse, []).append(one)
    back = _levels([mine[0] for mine in partners.values() if len(mine) > 1])
    said = np.zeros((levels_lb.size, FACTORS.size))
    for column, factor in enumerate(np.exp(reading.words_log_sd * FACTORS)):
        each = [_of_work(work, levels_lb, back, float(factor), reading) for work in works if work.beside]
        if each:
            said[:, column] = _log_mean(np.sum(np.broadcast_arrays(*each), axis=0))
    return said


def _levels(back: Sequence[Beside]) -> dict[Hashable, Floats]:
    """Return levels (nodes,) of partners that come back, together a sample of what they may be."""
    if not back:
        return {}
    from scipy.special import ndtri
    from scipy.stats.qmc import Sobol

    z = ndtri(Sobol(len(back), seed=0).random(NODES))
    return {one.horse: one.level_lb + one.level_sd_lb * z[:, k] for k, one in enumerate(back)}


def _of_work(
    work: JudgedWork, levels_lb: Floats, back: dict[Hashable, Floats], factor: float, reading: Reading
) -> Floats:
    """Return the log-likelihood (n, nodes) of one work; one node where no partner comes back."""
    above, variance = work.ridden.above_lb(reading)
    means, sds, reserves = [], [], []
    for one in work.beside:
        other_above, other_variance = one.ridden.above_lb(reading)
        level = back.get(one.horse, np.array([one.level_lb]))
        means.append(level - other_above + one.ahead_lb)
        unknown = 0.0 if one.horse in back else one.level_sd_lb
        sds.append(float(np.linalg.norm([reading.day_lb, other_variance**0.5, one.ahead_sd_lb, unknown])))
        reserves.append(factor * one.ridden.reserve_lb(reading))
    sd, reserve = float(np.sqrt(reading.day_lb**2 + variance)), factor * work.ridden.reserve_lb(reading)
    shown = _shown([levels_lb - above, *means], max(sd, *sds), max(reserve, *reserves))
    mine = less_reserve(shown[None, :], (levels_lb - above)[:, None], sd, reserve)
    theirs = np.log(np.gradient(shown))[:, None]
    for mean, error, left in zip(means, sds, reserves, strict=True):
        theirs = theirs + less_reserve(shown[:, None], mean[None, :], error, left)
    top, side = mine.max(axis=1, keepdims=True), theirs.max(axis=0, keepdims=True)
    return np.asarray(np.log(np.exp(mine - top) @ np.exp(theirs - side) + 1e-300) + top + side)


def _shown(means: Sequence[Floats], sd: float, reserve: float) -> Floats:
    """Return what may have been shown, rising: evenly where levels are, in growing steps down to twelve reserves."""
    low = min(float(each.min()) for each in means) - 6.0 * sd
    high = max(float(each.max()) for each in means) + 6.0 * sd
    even = np.arange(low, high + STEP_LB, STEP_LB)
    count = int(np.ceil(np.log1p(12.0 * reserve * (GROWTH - 1.0) / STEP_LB) / np.log(GROWTH))) + 1
    down = np.cumsum(STEP_LB * GROWTH ** np.arange(count))
    return np.concatenate([low - down[::-1], even])


def less_reserve(x: Floats, mean: Floats, sd: float, reserve: float) -> Floats:
    """Return the log-density at x of a normal less a gamma variable of shape 2 and mean `reserve`."""
    from scipy.special import log_ndtr

    k = 0.5 * reserve
    off = (x - mean) / sd
    z = -off - sd / k
    below = log_ndtr(z)
    rest = z + np.exp(-0.5 * z * z - 0.5 * np.log(2.0 * np.pi) - below)
    height = np.log(np.maximum(rest, 1e-12) * sd) - 2.0 * np.log(k)
    return np.asarray(off * sd / k + 0.5 * (sd / k) ** 2 + below + height)


def _log_mean(logs: Floats) -> Floats:
    """Return the logarithm of the mean over columns (n, k)."""
    top = logs.max(axis=1)
    return np.asarray(top + np.log(np.exp(logs - top[:, None]).mean(axis=1)))
