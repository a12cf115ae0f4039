"""How a heart follows the work: rise to the line, plateau, recovery in two parts, excitement."""

import numpy as np
from numpy.typing import NDArray

from upsides.demo.morning_sim.mover import Mover
from upsides.demo.morning_sim.noise import drifting

Floats = NDArray[np.float64]

RISE_COST = 10.0
"""A climb counts as so much more speed per unit of gradient: cost by heart rate rose 29 to 30 % at 3 % (Williams et al.
2009), less than the oxygen equation of Schroter and Marlin 2002 says (38 %)."""

OWED = 0.38
"""Share of the beats above 100 that recovery owes to its slow part; common practice, no source."""

BORROWED = 0.02
"""Share of what is owed that is added to the debt each second of work; common practice, no source."""

EXCITED_S = 240.0
"""How long excitement lasts, s; common practice, no source."""


def line_bpm(mover: Mover, speed_ms: Floats, gradient: Floats) -> Floats:
    """Return where the heart would settle at a speed on a gradient: the line, the plateau, and rest below the walk."""
    costing = speed_ms * (1.0 + RISE_COST * np.maximum(gradient, 0.0))
    moving = np.minimum(mover.line_bpm + mover.line_per_ms * costing, mover.most_bpm)
    # Below the trot the line does not hold: from standing at rest up to it.
    return mover.rest_bpm + (moving - mover.rest_bpm) * np.clip(0.25 + costing / 4.0, 0.0, 1.0)


def beating(rng: np.random.Generator, mover: Mover, speed_ms: Floats, gradient: Floats, rate_hz: float) -> Floats:
    """Return the true heart rate, beats a minute, at every moment.

    It rises towards the line by one time constant, and falls by two: the debt that work leaves is paid slowly.

    Args:
        rng: source of chance.
        mover: the horse.
        speed_ms: (k,) speed.
        gradient: (k,) rise over run.
        rate_hz: moments a second.
    """
    each = round(rate_hz)
    count = -(-speed_ms.size // each)
    seconds = np.arange(count) * each
    towards = line_bpm(mover, speed_ms[seconds], gradient[seconds])
    excited = mover.excitement_bpm * np.exp(-np.arange(count) / EXCITED_S)
    towards = np.minimum(towards + excited + drifting(rng, count, 3.0, 45.0), mover.most_bpm)
    rise, fast, slow = (1.0 - np.exp(-1.0 / s) for s in (mover.rise_s, mover.fast_recovery_s, mover.slow_recovery_s))
    now, debt, out = float(towards[0]), 0.0, []
    for want in towards.tolist():
        owed = OWED * max(now - 100.0, 0.0)
        debt += (slow if owed < debt else BORROWED) * (owed - debt)
        aim = min(max(want, mover.rest_bpm + 40.0 + debt), mover.most_bpm) if debt > 1.0 else want
        now += (rise if aim > now else fast) * (aim - now)
        out.append(now)
    return np.asarray(np.interp(np.arange(speed_ms.size) / rate_hz, np.arange(count), np.array(out)))
