"""Is it fitter than some weeks ago? Each piece of evidence by itself, and whether the pieces agree.

Every piece is a change of the horse against itself with its interval (`upsides.recordings.heart.trends`, or its figures
before and since). They share the horse, the rider and the weather of the same mornings, and none was ever held against
a measured fitness in the field, so they are not folded into one number: the sentence says which of them point up, which
down, and between which chances they lie.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import log1p
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from upsides.condition.fresh.latest import HORSES, POOLED, Missing
from upsides.recordings.heart.trends import NOISE, Change

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
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
NEVER: Final[Mapping[Kind, date]] = {}
Ran = tuple[date, float, float]
"""Day of a run, our figure of it and its error, lb."""

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
        missing: kinds without a piece, or with a stale one, the days since they were measured, and why.
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


@dataclass(frozen=True, slots=True)
class Spread:
    """How far figures of a horse, or of many, vary from run to run beyond the runs' own errors, as moments.

    With w_i the inverse of s_i^2, s_i a run's error, and m the mean of a span so weighted, over the spans

        q = sum w_i (y_i - m)^2,   c = sum w_i - sum w_i^2 / sum w_i,   E q = f + c v

    with f the runs less one a span and v the variance sought (DerSimonian and Laird 1986). Moments of several horses
    add up.

    Attributes:
        q, c, freedom: as above.
        horses: of how many horses.
    """

    q: float = 0.0
    c: float = 0.0
    freedom: int = 0
    horses: int = 1

    def __add__(self, other: "Spread") -> "Spread":
        """Return the moments of both together."""
        return Spread(self.q + other.q, self.c + other.c, self.freedom + other.freedom, self.horses + other.horses)

    @property
    def variance(self) -> float:
        """What solves the equation, lb^2; of few runs it may lie below nought."""
        return (self.q - self.freedom) / self.c if self.c > LEAST else 0.0


def figures_spread(runs: Sequence[Ran], since: date) -> Spread:
    """Return how far a horse's figures vary within the two spans that `figures_piece` compares."""
    _days, value, error, spans = _laid(runs, since)
    found = Spread()
    for span in (one for one in spans if one.sum() > 1):
        w = 1.0 / error[span] ** 2
        mean = float((w * value[span]).sum() / w.sum())
        q, c = float((w * (value[span] - mean) ** 2).sum()), float(w.sum() - (w**2).sum() / w.sum())
        found = Spread(found.q + q, found.c + c, found.freedom + int(span.sum()) - 1)
    return found


def yards_spread(spreads: Sequence[Spread]) -> float | None:
    """Return the variance of figures from run to run over a yard, lb^2; None of fewer than five horses that tell."""
    told = [one for one in spreads if one.freedom]
    return max(sum(told, Spread(horses=0)).variance, 0.0) if len(told) >= HORSES else None


def figures_piece(runs: Sequence[Ran], since: date, yard: float | None = None) -> Piece | None:
    """Return what figures in races say: those since a day against those of the year before it.

    The change is the difference of the means weighted by the inverse of s_i^2 + v. The variance v from run to run is
    the horse's own drawn to the yard's, which counts for `POOLED` runs (variances moderated towards a common one: Smyth
    2004, Statistical Applications in Genetics and Molecular Biology 3:3):

        v = max((f v_horse + POOLED v_yard) / (f + POOLED), 0)

    Args:
        runs: in any order.
        since: runs after this day are the later ones.
        yard: variance from run to run over the yard, lb^2; None where it is not known: the horse's own stands alone.

    Returns:
        The piece, in lb; None without a run on either side.
    """
    day, value, error, (earlier, later) = _laid(runs, since)
    if not later.any() or not earlier.any():
        return None
    v = _drawn(figures_spread(runs, since), yard)
    (new, new_var), (old, old_var) = (_mean(value[side], error[side] ** 2 + v) for side in (later, earlier))
    change, sd = new - old, float(np.sqrt(new_var + old_var))
    held = date.fromordinal(int(day[earlier].max()))
    last = date.fromordinal(int(day[later].max()))
    return _piece(
        "figures in races", held, last, change, change - WIDE * sd, change + WIDE * sd, change / max(sd, LEAST)
    )


def _laid(runs: Sequence[Ran], since: date) -> tuple[Ints, Floats, Floats, tuple[Bools, Bools]]:
    """Return days, figures and errors, and which runs are of the year before a day and which later."""
    day = np.array([one[0].toordinal() for one in runs], dtype=np.int64)
    value, error = (np.array([one[k] for one in runs], dtype=np.float64) for k in (1, 2))
    later = day > since.toordinal()
    earlier = ~later & (day > (since - timedelta(days=EARLIER_DAYS)).toordinal())
    return day, value, error, (earlier, later)


def _drawn(own: Spread, yard: float | None) -> float:
    """Return a horse's variance from run to run, drawn to the yard's."""
    if yard is None:
        return max(own.variance, 0.0)
    return max((own.freedom * own.variance + POOLED * yard) / (own.freedom + POOLED), 0.0)


def _mean(value: Floats, variance: Floats) -> tuple[float, float]:
    weight = 1.0 / variance
    return float((weight * value).sum() / weight.sum()), float(1.0 / weight.sum())


def _piece(kind: Kind, since: date, last: date, change: float, low: float, high: float, z: float) -> Piece:
    fitter = float(norm.cdf(-z if kind in FALLS else z))
    points: Points = "fitter" if fitter >= LIKELY else "less fit" if fitter <= 1 - LIKELY else "cannot tell"
    return Piece(kind, since, last, change, low, high, fitter, points)


def fit_of(
    pieces: Sequence[Piece],
    on: date,
    stale: int = STALE,
    *,
    measured: Mapping[Kind, date] = NEVER,
    untold: Collection[Kind] = (),
) -> Fit:
    """Return all pieces of a horse beside each other.

    Args:
        pieces: at most one a kind.
        on: the day.
        stale: a piece whose last measurement is older than so many days is missing.
        measured: the last day on which each kind was measured, with a piece or without; no later than `on`.
        untold: kinds that could be held against what came before, which was not worked out for the day.
    """
    by_kind = {one.kind: one for one in pieces}
    new = tuple(by_kind[kind] for kind in KINDS if kind in by_kind and (on - by_kind[kind].last).days <= stale)
    there = {one.kind for one in new}
    last = {kind: one.last for kind, one in by_kind.items()}
    last |= {kind: max(day, last.get(kind, day)) for kind, day in measured.items()}
    missing = tuple(
        _missing(kind, (on - last[kind]).days if kind in last else None, stale, worked_out=kind not in untold)
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


def _missing(kind: Kind, ago: int | None, stale: int, *, worked_out: bool) -> Missing:
    """Return a kind without a piece: not measured so lately that it would count, or with nothing to hold it against."""
    if ago is None or ago > stale:
        return Missing(kind, ago)
    return Missing(kind, ago, "nothing before" if worked_out else "not worked out")
