"""How restless each start is: how far its races stand from their mean beyond luck, against the library's usual start.

On a straight course the better ground lies now on one side and now on the other; round a bend the inside stays the
inside. What a start's races say of that (the method of moments) is drawn towards all starts by how far starts differ
(DerSimonian & Laird 1986, Controlled Clinical Trials 7:177).
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Key = tuple[str, ...]

FEWEST = 3
LEAST, MOST = 0.2, 5.0
"""Between which restlessness stays."""
ROUNDS = 5
LEAST_VARIANCE = 0.25


def restlessness(slope: Floats, by_luck: Floats, starts: list[Key]) -> dict[Key, float]:
    """Return how restless each start is, 1 the usual one.

    Args:
        slope: (races,) slopes of races, lb.
        by_luck: (races,) their variances by luck, lb^2.
        starts: (races,) where each started.
    """
    names = sorted(set(starts))
    number = {name: i for i, name in enumerate(names)}
    start = np.array([number[name] for name in starts], dtype=np.int64)
    usual, each = LEAST_VARIANCE, np.ones(len(names))
    for _ in range(ROUNDS):
        total = by_luck + each[start] * usual
        found, error = _variances(slope, by_luck, start, total, len(names))
        usual, drawn = _drawn_together(found, error)
        each = np.clip(drawn / usual, LEAST**2, MOST**2)
    return dict(zip(names, np.sqrt(each).tolist(), strict=True))


def _variances(
    slope: Floats, by_luck: Floats, start: NDArray[np.int64], total: Floats, count: int
) -> tuple[Floats, Floats]:
    """Return each start's variance beyond luck and the variance of that; too few races say nothing."""
    races = np.bincount(start, minlength=count)
    w = 1.0 / total
    mean = np.bincount(start, w * slope, count) / np.bincount(start, w, count)
    whole = np.bincount(start, w**2, count)
    spare = races / np.maximum(races - 1, 1)
    found = np.bincount(start, w**2 * ((slope - mean[start]) ** 2 * spare[start] - by_luck), count) / whole
    return found, np.where(races >= FEWEST, 2.0 / whole, np.inf)


def _drawn_together(found: Floats, error: Floats) -> tuple[float, Floats]:
    """Return the usual variance and each start's, drawn towards it."""
    weight = 1.0 / error
    if weight.sum() == 0.0:
        return LEAST_VARIANCE, np.full(found.size, LEAST_VARIANCE)
    mean = float((weight * found).sum() / weight.sum())
    apart = float((weight * (found - mean) ** 2).sum()) - (np.count_nonzero(weight) - 1)
    room = float(weight.sum() - (weight**2).sum() / weight.sum())
    between = max(apart / room, 0.0) if room > 0.0 else 0.0
    weight = 1.0 / (error + between)
    usual = max(float((weight * found).sum() / weight.sum()), LEAST_VARIANCE)
    if between == 0.0:
        return usual, np.full(found.size, usual)
    share = between / (between + error)
    return usual, np.maximum(share * found + (1.0 - share) * usual, 0.0)
