"""From joint draws of what runners would show to chances of every place.

A performance is what the runner shows on the day and luck, normal with one spread. For each draw of levels luck is
drawn for all; then each runner's own is summed exactly: it is among the first k if it performs better than the k-th
best of its rivals. So a chance is a smooth function of what the runner shows, and being better never makes a place less
likely.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

Floats = NDArray[np.float64]

LUCKS = 24
"""Times that luck is drawn for each joint draw."""


def chances_among(
    shown: Floats, there: NDArray[np.bool_], run_sd: float, places: int, rng: np.random.Generator, lucks: int = LUCKS
) -> Floats:
    """Return each runner's chance to be among the first 1, 2, ... for each joint draw, (draws, runners, places).

    Args:
        shown: (draws, runners) what each would show, lb, weight and all counted.
        there: (draws, runners) which of them run; a chance is that of the runner if it runs.
        run_sd: standard deviation of luck, lb.
        places: how many places.
        rng: draws the luck.
        lucks: times that luck is drawn for each joint draw.
    """
    draws, runners = shown.shape
    rows = np.repeat(np.where(there, shown, -np.inf), lucks, axis=0)
    performed = rows + run_sd * rng.standard_normal(rows.shape)
    order = np.argsort(-performed, axis=1, kind="stable")
    rank = np.empty_like(order)
    np.put_along_axis(rank, order, np.arange(runners)[None, :], axis=1)
    best_first = np.column_stack([np.take_along_axis(performed, order, axis=1), np.full(rows.shape[0], -np.inf)])
    own = np.repeat(shown, lucks, axis=0)
    out = np.ones((draws, runners, places))
    for place in range(1, min(places, runners - 1) + 1):
        rival = np.where(rank >= place, best_first[:, place - 1, None], best_first[:, place, None])
        ahead = ndtr((own - rival) / run_sd)
        out[:, :, place - 1] = ahead.reshape(draws, lucks, runners).mean(axis=1)
    return out


def best_performances(
    shown: Floats, run_sd: float, places: int, rng: np.random.Generator, lucks: int = LUCKS
) -> Floats:
    """Return the best performances of a field once luck is drawn, best first, (draws times lucks, places), lb.

    Args:
        shown: (draws, rivals) what each would show, lb; -inf for one that does not run.
        run_sd: standard deviation of luck, lb.
        places: how many performances; -inf where fewer run.
        rng: draws the luck.
        lucks: times that luck is drawn for each joint draw.
    """
    rows = np.repeat(shown, lucks, axis=0)
    performed = np.sort(-(rows + run_sd * rng.standard_normal(rows.shape)), axis=1)[:, :places]
    out = np.full((rows.shape[0], places), -np.inf)
    out[:, : performed.shape[1]] = -performed
    return out


def chances_past(own: Floats, best: Floats, run_sd: float) -> Floats:
    """Return a runner's chance to be among the first 1, 2, ... for each joint draw, (draws, places).

    Args:
        own: (draws,) what it would show, lb.
        best: as `best_performances` gives them for its rivals.
        run_sd: standard deviation of luck, lb.
    """
    lucks = best.shape[0] // own.size
    ahead = ndtr((np.repeat(own, lucks)[:, None] - best) / run_sd)
    return np.asarray(ahead.reshape(own.size, lucks, best.shape[1]).mean(axis=1))
