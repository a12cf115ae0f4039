"""A distance at a mean speed, laid over the steps of speed: nobody goes a furlong at one speed."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.recordings.bouts.bins import COUNT, STEP_MS

Floats = NDArray[np.float64]

WITHIN_MS: Final = 0.4
"""Standard deviation of a horse's speed within a furlong of which only the time is known, m/s; our own choice."""
LEAST: Final = 1e-4
"""Steps with a smaller share of the distance are left out."""
EDGES: Final[Floats] = np.arange(1, COUNT, dtype=np.float64) * STEP_MS


def spread(metres: ArrayLike, speed_ms: ArrayLike, sd_ms: ArrayLike = WITHIN_MS) -> Floats:
    """Return (m, COUNT) metres by step of speed, of m distances whose speed is normal about a mean.

    So metres above a border are the expected ones: of a furlong at just that speed, half.

    Args:
        metres: (m,) or one.
        speed_ms: mean speed, m/s.
        sd_ms: its standard deviation, of what was not measured and of what varied together.
    """
    from scipy.special import ndtr  # pages that say what plans change load this module, and work nothing out

    far, speed, sd = np.broadcast_arrays(*(np.atleast_1d(np.asarray(one, dtype=np.float64))
                                           for one in (metres, speed_ms, sd_ms)))  # fmt: skip
    below = ndtr((EDGES - speed[:, None]) / sd[:, None])
    ends = np.zeros((far.size, 1)), np.ones((far.size, 1))
    share = np.diff(np.hstack([ends[0], below, ends[1]]), axis=1)
    share = np.where(share >= LEAST, share, 0.0)
    return np.asarray((far / share.sum(axis=1))[:, None] * share)
