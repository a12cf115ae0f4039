"""What the tool says to what people call: a chance where the past gives one, nothing where it does not.

fit         the share of all runs of a year that came within a pound of the level that was held before each, or beat it,
            their deviations with the doubt of that level taken out and that of this horse's own put in. Signs of
            condition go into none of it: tried on later days they foretold no better (docs/condition.md).
fresh       how often horses of this yard were well for a fortnight, those with something for the vet in the fortnight
            before apart from those without. No other sign goes into it, for the same reason.
first four  over the field that ran, known only afterwards: each runner's performance is normal about the level that
            the fit of the call's day held, less what it carried and its weight for age.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.condition.called import AT_LEVEL_LB, BAND_F, PLACES
from upsides.ratings.finishing_times import normal_places

Floats = NDArray[np.float64]
LEAST: Final = 50
"""With fewer runs, or fortnights, nothing is said. Our own choice."""
LEAST_SHARE: Final = 0.1
"""So much of the mean square at least is the runs' own, however doubtful levels are. Our own choice."""
DRAWN: Final = 20.0
"""A share of few is drawn to the whole yard's as if so many of those stood beside it. Our own choice."""
NEWCOMER_SD_LB: Final = 12.0
"""A runner that the fit does not know is level with the others' mean, give or take so much. Our own choice."""


def without_doubt(off_lb: Floats, sd_lb: Floats) -> Floats:
    """Return how far runs lay off the levels held before them, without what the doubt of these levels adds.

    With v the mean square of the deviations less that of the doubts, each is pressed by sqrt(v / (v + sd^2)).

    Args:
        off_lb: (n,) our figures less the level held before each run, lb.
        sd_lb: (n,) the doubt of that level, lb.
    """
    if not off_lb.size:
        return off_lb
    whole = float(np.mean(off_lb**2))
    v = max(whole - float(np.mean(sd_lb**2)), LEAST_SHARE * whole)
    return np.asarray(off_lb * np.sqrt(v / (v + sd_lb**2))) if v else off_lb


def runs_to_level(off_lb: Floats, sd_lb: float) -> float | None:
    """Return the chance that a run comes to its horse's level less a pound.

    With v the mean square of the deviations, each is stretched by sqrt(1 + sd^2 / v).

    Args:
        off_lb: (n,) our figures less the level held before each run, its doubt taken out (`without_doubt`), lb.
        sd_lb: the doubt of the horse's own level, lb.

    Returns:
        The chance; None of too few runs.
    """
    if off_lb.size < LEAST:
        return None
    stretched = off_lb * np.sqrt(1.0 + sd_lb**2 / np.mean(off_lb**2))
    return float((np.sum(stretched >= -AT_LEVEL_LB) + 1.0) / (off_lb.size + 2.0))


def fortnights(before: Sequence[bool], well: Sequence[bool]) -> dict[bool, float] | None:
    """Return how often horses were well for a fortnight, by whether there was something for the vet just before.

    Args:
        before: (n,) of each fortnight that was shown, whether there was.
        well: (n,) whether the horse was well.

    Returns:
        A chance for each; None of too few.
    """
    was, came = np.array(before, dtype=np.bool_), np.array(well, dtype=np.float64)
    if came.size < LEAST:
        return None
    whole = (came.sum() + 1.0) / (came.size + 2.0)
    return {
        state: float((came[was == state].sum() + DRAWN * whole) / ((was == state).sum() + DRAWN))
        for state in (False, True)
    }


def around(furlongs: Floats, share: Floats, said_f: float) -> float:
    """Return the chance that a best trip lies within half a furlong of one that is said.

    Args:
        furlongs: (k,) rising.
        share: (k,) chances of them, together 1.
        said_f: the trip that is said.
    """
    return float(share[np.abs(furlongs - said_f) <= BAND_F].sum())


def first_four(level_lb: Floats, sd_lb: Floats, burden_lb: Floats, run_sd_lb: float) -> Floats:
    """Return the chance of each runner of a field to be among its first four.

    Args:
        level_lb: (runners,) levels; NaN for one that the fit does not know.
        sd_lb: (runners,) their doubt; NaN likewise.
        burden_lb: (runners,) what each carried with its rider's claim and its weight for age.
        run_sd_lb: how far a run lies from its level.
    """
    known = np.isfinite(level_lb)
    middle = float(level_lb[known].mean()) if known.any() else 0.0
    mean = np.where(known, level_lb, middle) - burden_lb
    sd = np.hypot(np.where(known, sd_lb, NEWCOMER_SD_LB), run_sd_lb)
    return np.asarray(normal_places(mean, sd, min(PLACES, mean.size)).sum(axis=-1))
