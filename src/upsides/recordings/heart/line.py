"""The line of heart on speed, and what is read off it: V140, V180, V200, and the speed at the horse's own maximum.

Between trot and plateau the heart rises in a straight line with speed, HR = a + b v. The field's method takes means of
5 s of both at trot and gallop and an ordinary regression, without a standard test (Vermeulen and Evans 2006, Equine Vet
J Suppl 36:113). We add what such data need: nothing above the plateau, nothing while the pace is changing, and errors
that know that neighbouring means err together (first-order autoregression within each effort, Prais-Winsten).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.errors.wording import gettext as _
from upsides.recordings.track import Track

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
MEAN_S: Final = 5.0
"""Means are of so many seconds (Vermeulen and Evans 2006)."""
STEADY_S: Final = 15.0
STEADY_MS: Final = 1.5
"""A mean counts where speed kept within the second for the first before it, because the heart lags. Our own choice."""
EFFORTS: Final = 3
SPREAD_MS: Final = 5.0
"""Least number of efforts and spread of speed between them. Our own choice (nobody has published one)."""
KEPT: Final = 0.8
"""Least share of the heart rates that must have been kept. Our own choice."""
READ_OFF: Final = (140.0, 180.0, 200.0)
"""Heart rates at which speeds are read off."""
CORRELATIONS: Final = np.linspace(0.0, 0.95, 39)
"""Of neighbouring errors, among which the likeliest is looked for."""
BEYOND_MS: Final = 2.0
"""How far beyond the fastest mean a speed may be read off the line. Our own choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Means:
    """Means of 5 s.

    Attributes:
        speed_ms, heart_bpm: (n,).
        effort: (n,) number of the effort that each is of.
    """

    speed_ms: Floats
    heart_bpm: Floats
    effort: Ints


@dataclass(frozen=True, slots=True)
class ReadOff:
    """A speed read off the line.

    Attributes:
        bpm: at which heart rate.
        speed_ms, low_ms, high_ms: the speed, and the ends of its 90 % interval (Fieller); NaN where it cannot be said.
        beyond: whether it lies beyond the fastest mean, so that the line was drawn out.
        why_not: why it cannot be said; "" where it can.
    """

    bpm: float
    speed_ms: float
    low_ms: float
    high_ms: float
    beyond: bool = False
    why_not: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class HeartLine:
    """HR = a + b v below the plateau.

    Attributes:
        a: beats a minute.
        b: beats a minute for each m/s.
        covariance: (2, 2) of a and b.
        freedom: degrees of freedom of the errors.
        used: how many means it was drawn through.
        slowest_ms, fastest_ms: of them.
        plateau_ms: from which speed the heart rises no more; NaN where that was not seen.
        together: correlation of neighbouring errors.
    """

    a: float
    b: float
    covariance: Floats
    freedom: float
    used: int
    slowest_ms: float
    fastest_ms: float
    plateau_ms: float
    together: float

    def at(self, bpm: float, share: float = 0.9) -> ReadOff:
        """Return the speed at a heart rate, with Fieller's interval."""
        if not np.isfinite(bpm):
            return ReadOff(bpm, np.nan, np.nan, np.nan, why_not=_("the horse's own maximum is not known"))
        v = (bpm - self.a) / self.b
        beyond = v > self.fastest_ms
        if v > self.fastest_ms + BEYOND_MS or v < self.slowest_ms - BEYOND_MS:
            why_not = _("no effort came near {beats:.0f} beats", beats=float(bpm))
            return ReadOff(bpm, np.nan, np.nan, np.nan, beyond, why_not)
        from scipy.special import stdtrit  # Student's quantile; here, because whoever reads no line loads no library

        t = float(stdtrit(self.freedom, (1 + share) / 2))
        low, high = _fieller(bpm - self.a, self.b, self.covariance, t)
        if not low > 0:
            return ReadOff(bpm, np.nan, np.nan, np.nan, beyond, _("the line is too uncertain"))
        return ReadOff(bpm, v, low, high, beyond)


@dataclass(frozen=True, slots=True)
class NoLine:
    """Why there is no line."""

    why_not: str


def means_of(track: Track, efforts: Sequence[tuple[float, float]]) -> Means:
    """Return the means of 5 s of some efforts, given by begin and end in seconds since 1970-01-01 UTC."""
    found = [(number, *one) for number, (a, b) in enumerate(efforts) for one in _means(track, a, b)]
    table = np.array(found, dtype=np.float64).reshape(-1, 3)
    return Means(table[:, 1], table[:, 2], table[:, 0].astype(np.int64))


def _means(track: Track, begin: float, end: float) -> list[tuple[float, float]]:
    found = []
    for start in np.arange(begin + STEADY_S, end - MEAN_S + 1e-9, MEAN_S):
        inside = (track.time_s >= start) & (track.time_s < start + MEAN_S)
        before = (track.time_s >= start - STEADY_S) & (track.time_s < start + MEAN_S)
        speed, heart = track.speed_ms[inside], track.heart_bpm[inside]
        if not (np.isfinite(speed).any() and np.isfinite(heart).any() and np.isfinite(track.speed_ms[before]).any()):
            continue
        if np.nanmax(track.speed_ms[before]) - np.nanmin(track.speed_ms[before]) <= STEADY_MS:
            found.append((float(np.nanmean(speed)), float(np.nanmean(heart))))
    return found


def heart_line(means: Means, heart_kept: float = 1.0) -> HeartLine | NoLine:
    """Draw the line through means, below the plateau alone.

    Args:
        means: of 5 s, at trot and faster.
        heart_kept: share of the heart rates that were kept.

    Returns:
        The line, or why there is none.
    """
    if not heart_kept >= KEPT:
        words = _("{kept:.0%} of the heart rates could be kept, of {asked:.0%} asked for", kept=heart_kept, asked=KEPT)
        return NoLine(words)
    plateau = _plateau(means)
    below = means.speed_ms < plateau if np.isfinite(plateau) else np.ones(means.speed_ms.size, dtype=np.bool_)
    v, y, effort = means.speed_ms[below], means.heart_bpm[below], means.effort[below]
    if np.unique(effort).size < EFFORTS:
        found = int(np.unique(effort).size)
        words = _("of {asked} steady efforts below the plateau there are {found}", found=found, asked=EFFORTS)
        return NoLine(words)
    by_effort = [float(v[effort == one].mean()) for one in np.unique(effort)]
    spread = max(by_effort) - min(by_effort)
    if spread < SPREAD_MS:
        words = _("its efforts differ by {spread:.1f} m/s, of {asked:.0f} asked for", spread=spread, asked=SPREAD_MS)
        return NoLine(words)
    beta, C, rho, freedom = _prais_winsten(v, y, effort)
    if beta[1] <= 0:
        return NoLine(_("the heart did not rise with speed"))
    return HeartLine(
        float(beta[0]), float(beta[1]), C, freedom, v.size, float(v.min()), float(v.max()), plateau, rho
    )  # fmt: skip


def _prais_winsten(v: Floats, y: Floats, effort: Ints) -> tuple[Floats, Floats, float, float]:
    """Return a and b, their covariance, the correlation of neighbours, and the degrees of freedom.

    The correlation is that of the highest restricted likelihood, since the line takes up some of what lasts.
    """
    same = np.r_[False, effort[1:] == effort[:-1]]
    X, best = np.c_[np.ones(v.size), v], (-np.inf, 0.0)
    for rho in CORRELATIONS:
        best = max(best, (_restricted(X, y, same, float(rho)), float(rho)))
    rho = best[1]
    A, z = _transformed(X, same, rho), _transformed(y[:, None], same, rho)[:, 0]
    beta = np.asarray(np.linalg.lstsq(A, z, rcond=None)[0], dtype=np.float64)
    r = z - A @ beta
    freedom = max(1.0, v.size * (1 - rho) / (1 + rho) - 2)
    C = np.asarray(np.linalg.inv(A.T @ A), dtype=np.float64) * (float(r @ r) / (v.size - 2))
    return beta, C, rho, freedom


def _restricted(X: Floats, y: Floats, same: NDArray[np.bool_], rho: float) -> float:
    """Return the restricted log-likelihood of a correlation, but for a constant."""
    A, z = _transformed(X, same, rho), _transformed(y[:, None], same, rho)[:, 0]
    squares = max(_squares(A, z), 1e-12)
    first = np.count_nonzero(~same) * np.log(1 - rho**2)
    return float(first - np.linalg.slogdet(A.T @ A)[1] - (y.size - 2) * np.log(squares)) / 2


def _transformed(X: Floats, same: NDArray[np.bool_], rho: float) -> Floats:
    """Return rows freed of what they share with the row before; the first row of an effort keeps its whole weight."""
    lagged = np.r_[np.zeros((1, X.shape[1])), X[:-1]]
    return np.asarray(np.where(same[:, None], X - rho * lagged, np.sqrt(1 - rho**2) * X), dtype=np.float64)


def _plateau(means: Means) -> float:
    """Return the speed at which the heart stops rising: the best bend, where it beats none by BIC; else NaN."""
    v, y = means.speed_ms, means.heart_bpm
    if v.size < 6:
        return float("nan")
    straight = _squares(np.c_[np.ones(v.size), v], y)
    bends = np.unique(v)[2:-1]
    squares = np.array([_squares(np.c_[np.ones(v.size), np.minimum(v, bend)], y) for bend in bends])
    if squares.size == 0:
        return float("nan")
    best = int(squares.argmin())
    gain = v.size * np.log(max(straight, 1e-9) / max(squares[best], 1e-9))
    return float(bends[best]) if gain > 2 * np.log(v.size) else float("nan")


def _squares(X: Floats, y: Floats) -> float:
    r = y - X @ np.linalg.lstsq(X, y, rcond=None)[0]
    return float(r @ r)


def _fieller(rise: float, b: float, C: Floats, t: float) -> tuple[float, float]:
    """Return the ends of Fieller's interval of rise / b, rise = bpm - a; NaN where it has no end."""
    saa, sbb, sab = t**2 * C[0, 0], t**2 * C[1, 1], t**2 * -C[0, 1]
    A, B, D = b**2 - sbb, rise * b - sab, rise**2 - saa
    inside = B**2 - A * D
    if A <= 0 or inside < 0:
        return float("nan"), float("nan")
    return float(B - np.sqrt(inside)) / A, float(B + np.sqrt(inside)) / A
