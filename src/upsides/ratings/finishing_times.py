"""Chances of places when every runner's performance is its own draw: normal and gamma models.

A runner finishes r-th when exactly r - 1 of the others are ahead of where it finishes. The chance of that,
given where it finishes, is a Poisson-binomial probability, built up runner by runner; it is then integrated
over where it finishes by the trapezoid rule, which converges geometrically for these densities. Sources:
Henery 1981 (normal, after Thurstone) and Stern 1990 (gamma; with shape 1 the times are exponential and the
model is Harville's).
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammainc, gammaincc, gammainccinv, gammaincinv, gammaln, ndtr

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _

_SD_REACH = 8.5
_TAIL = 1e-16
_NUMBERS_AT_ONCE = 2_000_000


def normal_places(mean: ArrayLike, sd: ArrayLike, places: int = 3) -> NDArray[np.float64]:
    """Return the chances of each place when performances are independent normals and the highest wins.

    Args:
        mean: (..., runners) mean performance, in any unit.
        sd: (..., runners) or one number, its standard deviation in the same unit, above 0.
        places: how many places.

    Returns:
        (..., runners, places) the chance that a runner finishes exactly first, second, ...

    Raises:
        CannotFitError: an sd is not above 0.
    """
    m = np.asarray(mean, dtype=np.float64)
    s = np.broadcast_to(np.asarray(sd, dtype=np.float64), m.shape)
    if not (np.all(s > 0) and np.all(np.isfinite(m))):
        raise CannotFitError("chances", _("a mean is missing or an sd is not above 0"), _("give every runner both"))
    flat_m, flat_s = m.reshape(-1, m.shape[-1]), s.reshape(-1, m.shape[-1])
    low = (flat_m - _SD_REACH * flat_s).min(axis=1)
    high = (flat_m + _SD_REACH * flat_s).max(axis=1)
    points = int(np.ceil(((high - low) / (0.25 * flat_s.min(axis=1))).max())) + 1

    def at(rows: slice) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        grid = np.linspace(low[rows], high[rows], points, axis=-1)
        step = (high[rows] - low[rows]) / (points - 1)
        z = (grid[:, None, :] - flat_m[rows][:, :, None]) / flat_s[rows][:, :, None]
        density = np.exp(-0.5 * z * z) * (step[:, None] / (flat_s[rows] * np.sqrt(2 * np.pi)))[:, :, None]
        return density, ndtr(-z), ndtr(z)

    return _in_blocks(at, flat_m.shape, points, places).reshape(*m.shape, places)


def gamma_places(rate: ArrayLike, shape: float, places: int = 3) -> NDArray[np.float64]:
    """Return the chances of each place when times are independent gammas of one shape and the lowest wins.

    Args:
        rate: (..., runners) rate of each runner's gamma, above 0; mean time is shape / rate.
        shape: shape of all of them; 1 makes it Harville's model with `rate` as worth.
        places: how many places.

    Returns:
        (..., runners, places) the chance that a runner finishes exactly first, second, ...
    """
    b = np.asarray(rate, dtype=np.float64)
    if not (np.all(b > 0) and np.all(np.isfinite(b)) and shape > 0):
        raise CannotFitError("chances", _("a rate or the shape is not above 0"), _("give every runner a rate above 0"))
    flat = np.log(b.reshape(-1, b.shape[-1]))
    low = np.log(gammaincinv(shape, _TAIL)) - flat.max(axis=1)
    high = np.log(gammainccinv(shape, _TAIL)) - flat.min(axis=1)
    points = int(np.ceil((high - low).max() * np.sqrt(max(shape, 1.0)) / 0.2)) + 1

    def at(rows: slice) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        grid = np.linspace(low[rows], high[rows], points, axis=-1)
        step = (high[rows] - low[rows]) / (points - 1)
        log_t = grid[:, None, :] + flat[rows][:, :, None]
        t = np.exp(log_t)
        density = np.exp(shape * log_t - t - gammaln(shape)) * step[:, None, None]
        return density, gammainc(shape, t), gammaincc(shape, t)

    return _in_blocks(at, flat.shape, points, places).reshape(*b.shape, places)


def _in_blocks(
    at: Callable[[slice], tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]],
    shape: tuple[int, int],
    points: int,
    places: int,
) -> NDArray[np.float64]:
    """Integrate field by field in blocks that fit in the cache; `at` gives density, ahead and behind."""
    fields, runners = shape
    block = max(1, _NUMBERS_AT_ONCE // (runners * points * places))
    chances = np.empty((fields, runners, places))
    for first in range(0, fields, block):
        rows = slice(first, first + block)
        density, ahead, behind = at(rows)
        for place, exactly in enumerate(_ahead_of_each(ahead, behind, places)):
            chances[rows, :, place] = np.einsum("fng,fng->fn", density, exactly)
    return chances


def _ahead_of_each(ahead: NDArray[np.float64], behind: NDArray[np.float64], places: int) -> list[NDArray[np.float64]]:
    """Return, for r = 0 .. places - 1, the chance (fields, runners, points) that exactly r others are ahead.

    Poisson-binomial counts of the runners before and after each one are built up and joined, so that nothing
    is divided out again.
    """
    before = _counts(ahead, behind, places)
    after = _counts(ahead[:, ::-1], behind[:, ::-1], places)[:, :, ::-1]
    return [np.asarray(sum(before[a] * after[r - a] for a in range(r + 1))) for r in range(places)]


def _counts(ahead: NDArray[np.float64], behind: NDArray[np.float64], places: int) -> NDArray[np.float64]:
    """Return (places, fields, runners, points): the chance that r of the runners listed earlier are ahead."""
    fields, runners, points = ahead.shape
    count = np.zeros((places, fields, runners, points))
    count[0, :, 0] = 1.0
    for i in range(1, runners):
        count[:, :, i] = count[:, :, i - 1] * behind[:, i - 1]
        count[1:, :, i] += count[:-1, :, i - 1] * ahead[:, i - 1]
    return count
