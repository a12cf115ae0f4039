"""Limits from the yard's own budget: so many horses a day may be pointed at with nothing behind it.

The budget is shared out by readings, so that every reading has the same chance of pointing falsely: with R readings a
day and B false pointings a day one comes once in R / B readings. Half of it goes to single readings far off, half to
mean and sum. The yard's own past then says how far its readings are from normal ones: the limit of a single reading is
laid where the past had them as often as it may, then all limits are moved together until past days would have pointed
that often; both drawn to the limits of normal readings as far as the past is short.
"""

from typing import Final

import numpy as np
from numba import njit
from scipy.special import ndtri

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.budget import Limits
from upsides.condition.monitoring.readings import Floats, Ints
from upsides.condition.monitoring.run_lengths import cusum_limit, ewma_width
from upsides.condition.monitoring.steps import chart_step

WORTH: Final = 4.0
"""The past counts against normal readings as the number of pointings that it should hold against this one."""
SHARE: Final = 1.6
"""Mean and sum mostly speak together: each alone once in this many times the readings that both may take. Past the
budget this is only where the search begins."""
SPAN: Final = (0.75, 1.8)
"""All limits together are moved by a factor between these until the past has pointed as often as it may."""
ROUNDS: Final = 9


def normal_limits(run_length: float, *, both: bool) -> Limits:
    """Return the limits that readings which are normal need, to point falsely once in so many of them."""
    half = max(2.0 * run_length, 4.0)
    single = -float(ndtri(1.0 / (half * (2.0 if both else 1.0))))
    asked = float(f"{SHARE * half:.3g}")
    return Limits(
        single, ewma_width(of.EWMA_WEIGHT, asked, both=both), cusum_limit(of.ALLOWANCE, asked, both=both), run_length
    )


@njit("i8(i8[::1], i8[::1], f8[::1], i8, f8, f8, f8, f8)", cache=True, nogil=True)
def pointings(
    owner: Ints, day: Ints, z: Floats, owners: int, side: float, single: float, width: float, limit: float
) -> int:
    """Return how often charts would have begun to stand out.

    Args:
        owner: (n,) whose, in order of days.
        day: (n,) when.
        z: (n,) how far off.
        owners: how many there are.
        side: which way it must go.
        single: limit of one reading.
        width: of the weighted mean.
        limit: of the sum.
    """
    charts, count = np.zeros((owners, of.CHART)), 0
    for i in range(day.size):
        chart = charts[owner[i]]
        was = chart[of.ON]
        chart_step(chart, z[i], float(day[i]), side, single, width, limit)
        count += chart[of.ON] != 0.0 and chart[of.ON] != was and chart[of.ON_DAY] == day[i]
    return count


def own_limits(owner: Ints, day: Ints, z: Floats, side: int, run_length: float) -> Limits:
    """Return limits by which a past would have pointed once in so many readings, as far as it is long enough to say.

    Args:
        owner: (n,) whose, in order of days.
        day: (n,) when.
        z: (n,) how far off.
        side: 1 up, -1 down, 0 both.
        run_length: readings to a false pointing.
    """
    normal = normal_limits(run_length, both=side == 0)
    wanted = z.size / run_length
    if z.size < 50 or wanted < 0.5:
        return normal
    heard = wanted / (wanted + WORTH)
    far = np.abs(z) if side == 0 else side * z
    single = max(float(np.quantile(far, 1.0 - 1.0 / (2.0 * run_length))), 2.0)
    single = normal.single * (single / normal.single) ** heard
    owners, low, high = int(owner.max()) + 1, *np.log(SPAN)
    for _ in range(ROUNDS):
        middle = (low + high) / 2.0
        times = float(np.exp(middle))
        count = pointings(owner, day, z, owners, side, times * single, times * normal.width, times * normal.total)
        low, high = (middle, high) if count > wanted else (low, middle)
    times = float(np.exp(heard * (low + high) / 2.0))
    return Limits(times * float(single), times * normal.width, times * normal.total, run_length)
