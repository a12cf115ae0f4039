"""Stalls as places among the actual runners, and what winners and placings by stall say by themselves.

A runner's place across the stalls is d = (k - 1) / (N - 1) - 1/2, k counted among the actual runners from the lowest
stall, so that a withdrawn neighbour closes the gap.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import chi2

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.choice import checked_offsets, fit_choice

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def stall_place(stall: ArrayLike, offsets: ArrayLike) -> tuple[Ints, Ints]:
    """Return each starter's place by stall among its race's starters, 1 lowest, and their number.

    Args:
        stall: (rows,) stall drawn, starters only; two runners in one stall are refused.
        offsets: (races + 1,) where each race begins.
    """
    drawn = np.asarray(stall, dtype=np.float64)
    cut = checked_offsets(offsets, len(drawn))
    race = np.repeat(np.arange(len(cut) - 1), np.diff(cut))
    order = np.lexsort((drawn, race))
    same = (np.diff(drawn[order]) == 0) & (np.diff(race[order]) == 0)
    if not np.all(np.isfinite(drawn)) or same.any():
        raise CannotFitError(
            "draw", _("a stall is missing or given twice in a race"), _("leave out races without a full draw")
        )
    place = np.empty(len(drawn), dtype=np.int64)
    place[order] = np.arange(len(drawn)) - cut[race[order]] + 1
    return place, np.diff(cut)[race]


def across(place: ArrayLike, runners: ArrayLike) -> Floats:
    """Return d, from -1/2 for the lowest stall to 1/2 for the highest; 0 for a runner on its own."""
    k, n = np.asarray(place, dtype=np.float64), np.asarray(runners, dtype=np.float64)
    return np.asarray(np.where(n > 1, (k - 1) / np.maximum(n - 1, 1) - 0.5, 0.0))


def share_beaten(position: ArrayLike, runners: ArrayLike) -> Floats:
    """Return the share of its rivals that a runner beat, (N - position) / (N - 1).

    Dead-heaters take the mean of the positions they cover, e.g. 2.5 for two sharing second.
    """
    n = np.asarray(runners, dtype=np.float64)
    return np.asarray((n - np.asarray(position, dtype=np.float64)) / (n - 1))


def share_beaten_variance(runners: ArrayLike) -> Floats:
    """Return the variance of `share_beaten` when all orders are alike, (N + 1) / (12 (N - 1)); mean 1/2."""
    n = np.asarray(runners, dtype=np.float64)
    return np.asarray((n + 1) / (12 * (n - 1)))


@dataclass(frozen=True, slots=True)
class Stall:
    """What horses did from one stall.

    Attributes:
        stall: counted among the actual runners, 1 lowest.
        runs: how many started from it.
        wins: how many won; a dead heat of two counts a half each.
        expected: wins if the stall did nothing and all horses were alike.
        beaten: mean share of rivals beaten; a half where the stall does nothing.
        beaten_se: its standard error if all orders are alike.
    """

    stall: int
    runs: int
    wins: float
    expected: float
    beaten: float
    beaten_se: float


@dataclass(frozen=True, slots=True)
class Seen:
    """Races as they came out, horses taken as alike.

    Attributes:
        races: how many.
        stalls: what horses did from each stall.
        chi_square: of the wins against those expected (Pearson), with `degrees` of freedom and chance `p` of as much by
            luck.
        slope: of a winner's logit over d, from the lowest stall to the highest; below nought where low stalls win more.
        slope_se: its standard error.
    """

    races: int
    stalls: tuple[Stall, ...]
    chi_square: float
    degrees: int
    p: float
    slope: float
    slope_se: float


def seen_by_stall(stall: ArrayLike, offsets: ArrayLike, position: ArrayLike) -> Seen:
    """Return what winners and placings say of the stalls by themselves.

    Args:
        stall: (rows,) stall of every starter.
        offsets: (races + 1,) where each race begins.
        position: (rows,) finishing position; NaN for one that did not finish, who counts as last.

    Raises:
        CannotFitError: no race was won by a known runner, or stalls are missing or given twice.
    """
    place, runners = stall_place(stall, offsets)
    cut = np.asarray(offsets, dtype=np.int64)
    finished = np.asarray(position, dtype=np.float64)
    won = finished == 1
    winners = np.add.reduceat(won.astype(np.float64), cut[:-1])
    usable = np.repeat(winners > 0, np.diff(cut))
    wins = np.where(won, 1.0 / np.repeat(np.maximum(winners, 1), np.diff(cut)), 0.0)
    beaten = share_beaten(_shared(finished, cut), np.maximum(runners, 2))
    stalls = tuple(_stall(k, (place == k) & usable, runners, wins, beaten) for k in np.unique(place[usable]).tolist())
    off = np.array([one.wins - one.expected for one in stalls])
    chi = float((off**2 / np.array([one.expected for one in stalls])).sum())
    line = fit_choice(across(place, runners)[:, None], cut, finished, place_weights=(1.0,))
    return Seen(
        int((winners > 0).sum()), stalls, chi, len(stalls) - 1, float(chi2.sf(chi, max(len(stalls) - 1, 1))),
        float(line.coefficients[0]), float(line.standard_errors[0]),
    )  # fmt: skip


def _stall(k: int, here: NDArray[np.bool_], runners: Ints, wins: Floats, beaten: Floats) -> Stall:
    n = int(here.sum())
    error = float(np.sqrt(share_beaten_variance(runners[here]).sum()) / n)
    expected = float((1.0 / runners[here]).sum())
    return Stall(k, n, float(wins[here].sum()), expected, float(beaten[here].mean()), error)


def _shared(position: Floats, cut: Ints) -> Floats:
    """Return positions with dead-heaters at the mean of the places they cover, and those that did not finish last."""
    out = np.empty(position.size)
    for a, b in pairwise(cut.tolist()):
        here = np.nan_to_num(position[a:b], nan=np.inf)
        out[a:b] = (here[None, :] < here[:, None]).sum(axis=1) + ((here[None, :] == here[:, None]).sum(axis=1) + 1) / 2
    return out
