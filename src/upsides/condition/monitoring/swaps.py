"""Whether two horses' trackers were exchanged: would each one's readings suit the other better?

For every pair of horses read on a day the readings of all tracked kinds are held against the other's expectations. What
an exchange gains in log-likelihood (Student's t with five degrees of freedom, so that one wild reading settles nothing)
goes against how rarely it happens.
"""

from typing import TYPE_CHECKING, Final

import numpy as np

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.found import Swapped
from upsides.condition.monitoring.readings import Floats

if TYPE_CHECKING:
    from upsides.condition.monitoring.watching import Watched

DAILY: Final = 0.01
"""How probable it is beforehand that on a day any two were exchanged. Our own choice."""
SURE: Final = 0.9
"""How probable it must be to be told."""
FREEDOM: Final = 5.0


def swapped_on(watched: "Watched", day: int) -> tuple[Swapped, ...]:
    """Return the pairs that look exchanged on a day, each horse in at most one."""
    readings = watched.readings
    n = readings.foaled.size
    gain, kinds, read = np.zeros((n, n)), [], np.zeros(n, dtype=np.bool_)
    for number, kind in enumerate(readings.kinds):
        part = readings.of(number)
        a, b = np.searchsorted(readings.day[part], [day, day + 1]) + part.start
        if kind.tracked and b - a > 1:
            horse, told = readings.horse[a:b], watched.told[a:b]
            gain[np.ix_(horse, horse)] += _gained(readings.value[a:b] - told[:, of.SHARED], told)
            kinds.append(number)
            read[horse] = True
    there = int(read.sum())
    if there < 2:
        return ()
    beforehand = DAILY / (there * (there - 1) / 2.0)
    chance = 1.0 / (1.0 + np.exp(np.minimum(-gain, 700.0)) / beforehand)
    pairs = np.argwhere(np.triu(chance, 1) > SURE)
    taken: set[int] = set()
    found = []
    for one, other in sorted(pairs.tolist(), key=lambda pair: -gain[pair[0], pair[1]]):
        if not {one, other} & taken:
            taken |= {one, other}
            found.append(Swapped(one, other, float(chance[one, other]), tuple(kinds)))
    return tuple(found)


def _gained(value: Floats, told: Floats) -> Floats:
    """Return (n, n) what an exchange of each two would gain."""
    own = told[:, of.EXPECTED] - told[:, of.SHARED]
    far = ((value[:, None] - own[None, :]) / told[None, :, of.SD]) ** 2
    likely = -(FREEDOM + 1.0) / 2.0 * np.log1p(far / FREEDOM) - np.log(told[None, :, of.SD])
    mine = np.diag(likely)
    return np.asarray(likely + likely.T - mine[:, None] - mine[None, :])
