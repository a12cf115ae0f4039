"""Is it fitter than some weeks ago? Each piece of evidence by itself, and whether the pieces agree.

Every piece is a change of the horse against itself with its interval (`upsides.recordings.heart.trends`, or its figures
before and since). They share the horse, the rider and the weather of the same mornings, and none was ever held against
a measured fitness in the field, so they are not folded into one number: the sentence says which of them point up, which
down, and between which chances they lie.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import log1p
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from upsides.condition.fresh.latest import Missing
from upsides.recordings.heart.trends import NOISE, Change

Floats = NDArray[np.float64]
Kind = Literal["speed at 200 beats", "speed at highest heart", "recovery", "speed on known gallops", "figures in races"]
KINDS: Final[tuple[Kind, ...]] = (
    "speed at 200 beats", "speed at highest heart", "recovery", "speed on known gallops", "figures in races",
)  # fmt: skip
FALLS: Final[frozenset[Kind]] = frozenset({"recovery"})
"""A fitter horse shows less of these: the heart is lower a minute after work."""
STALE: Final = 21
"""Days after which a piece says nothing of today; our own choice."""
LIKELY: Final = 0.8
"""From this chance on a piece points somewhere; our own choice."""
WIDE: Final = 1.6448536269514722
EARLIER_DAYS: Final = 365
LEAST: Final = 1e-9

Points = Literal["fitter", "less fit", "cannot tell"]
Together = Literal["agree", "disagree", "one alone", "none tells"]


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of evidence.

    Attributes:
        kind: what was measured.
        since: the day that it is held against.
        last: the day of the last that was measured.
        change, low, high: the change and the ends of its 90 % interval: a share of the value, of figures lb.
        fitter: how probable it is that the horse is fitter than then, by this piece alone.
        points: where that points.
    """

    kind: Kind
    since: date
    last: date
    change: float
    low: float
    high: float
    fitter: float
    points: Points


@dataclass(frozen=True, slots=True)
class Fit:
    """All pieces of a horse.

    Attributes:
        pieces: one a kind, of those that are not stale.
        together: whether those that point anywhere agree.
        lowest, highest: the chances that it is fitter, of the pieces that point anywhere; None where none does.
        missing: kinds without a piece, or with a stale one, and the days since.
    """

    pieces: tuple[Piece, ...]
    together: Together
    lowest: float | None
    highest: float | None
    missing: tuple[Missing, ...]

    def pointing(self, where: Points) -> tuple[Kind, ...]:
        """Return the kinds that point somewhere."""
        return tuple(one.kind for one in self.pieces if one.points == where)


@dataclass(frozen=True, slots=True)
class Odds:
    """A chance as people say it: so many in so many, never rounded to certainty."""

    of: int
    out_of: int


def odds(chance: float) -> Odds:
    """Return a chance as so many in so many: in ten, near the ends in twenty and in a hundred."""
    certain = max(chance, 1 - chance)
    out_of = 10 if certain <= 0.925 else 20 if certain <= 0.97 else 100
    return Odds(min(max(round(chance * out_of), 1), out_of - 1), out_of)


def piece_of(kind: Kind, change: Change) -> Piece:
    """Return what the trend of a kind says.

    The interval of `Change` is normal on the logarithm, which gives the chance that it changed the right way. A change
    below the noise floor, which the same horse shows from day to day, points nowhere however sure it is.
    """
    mean, sd = log1p(change.share), (log1p(change.high) - log1p(change.low)) / (2 * WIDE)
    told = _piece(kind, change.since, change.last, change.share, change.low, change.high, mean / max(sd, LEAST))
    return replace(told, points="cannot tell") if abs(change.share) < NOISE else told


def figures_piece(days: Sequence[date], figures: Sequence[float], sds: Sequence[float], since: date) -> Piece | None:
    """Return what figures in races say: those since a day against those of the year before it.

    With w_i the inverse of s_i^2 + v, v the variance of the horse from run to run by the method of moments
    (DerSimonian and Laird 1986, within the two spans), the change is the difference of the weighted means.

    Args:
        days: of the runs.
        figures: ours, lb.
        sds: their errors, lb.
        since: runs after this day are the later ones.

    Returns:
        The piece, in lb; None without a run on either side.
    """
    day = np.array([one.toordinal() for one in days])
    value, error = np.asarray(figures, dtype=np.float64), np.asarray(sds, dtype=np.float64)
    later = day > since.toordinal()
    earlier = ~later & (day > (since - timedelta(days=EARLIER_DAYS)).toordinal())
    if not later.any() or not earlier.any():
        return None
    v = _between(value, error, (later, earlier))
    (new, new_var), (old, old_var) = (_mean(value[side], error[side] ** 2 + v) for side in (later, earlier))
    change, sd = new - old, float(np.sqrt(new_var + old_var))
    held = date.fromordinal(int(day[earlier].max()))
    last = date.fromordinal(int(day[later].max()))
    return _piece(
        "figures in races", held, last, change, change - WIDE * sd, change + WIDE * sd, change / max(sd, LEAST)
    )


def _mean(value: Floats, variance: Floats) -> tuple[float, float]:
    weight = 1.0 / variance
    return float((weight * value).sum() / weight.sum()), float(1.0 / weight.sum())


def _between(value: Floats, error: Floats, sides: Sequence[NDArray[np.bool_]]) -> float:
    """Return the variance from run to run beyond the runs' own errors, nought where they explain all."""
    q = c = freedom = 0.0
    for side in sides:
        w = 1.0 / error[side] ** 2
        mean = float((w * value[side]).sum() / w.sum())
        q += float((w * (value[side] - mean) ** 2).sum())
        c += float(w.sum() - (w**2).sum() / w.sum())
        freedom += side.sum() - 1
    return max((q - freedom) / c, 0.0) if c > LEAST else 0.0


def _piece(kind: Kind, since: date, last: date, change: float, low: float, high: float, z: float) -> Piece:
    fitter = float(norm.cdf(-z if kind in FALLS else z))
    points: Points = "fitter" if fitter >= LIKELY else "less fit" if fitter <= 1 - LIKELY else "cannot tell"
    return Piece(kind, since, last, change, low, high, fitter, points)


def fit_of(pieces: Sequence[Piece], on: date, stale: int = STALE) -> Fit:
    """Return all pieces of a horse beside each other.

    Args:
        pieces: at most one a kind.
        on: the day.
        stale: a piece whose last measurement is older than so many days is missing.
    """
    by_kind = {one.kind: one for one in pieces}
    new = tuple(by_kind[kind] for kind in KINDS if kind in by_kind and (on - by_kind[kind].last).days <= stale)
    there = {one.kind for one in new}
    missing = tuple(
        Missing(kind, (on - by_kind[kind].last).days if kind in by_kind else None)
        for kind in KINDS
        if kind not in there
    )
    told = [one for one in new if one.points != "cannot tell"]
    ways = {one.points for one in told}
    together: Together = "none tells" if not told else "disagree" if len(ways) > 1 else "agree"
    chances = [one.fitter for one in told]
    return Fit(
        new,
        "one alone" if len(told) == 1 else together,
        min(chances, default=None),
        max(chances, default=None),
        missing,
    )
