"""A piece of work of two horses as it is told: who led where, who finished in front, and by how much."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from upsides.recordings.company.gaps import Gaps
from upsides.recordings.company.outcome import Outcome
from upsides.recordings.gallops.marks import Passing
from upsides.trade.units import FURLONG_M

EASED = 0.92
"""A work ends where the horses last go at so much of their usual best speed: then they are pulled up; own choice."""

BEST = 0.9
"""The usual best speed of a work is the one that is not reached for so much of its time."""


@dataclass(frozen=True, slots=True)
class Stood:
    """How the first horse stood to the second at a mark.

    Attributes:
        place_m: where: along the gallop where its marks are known, else metres from the beginning.
        time_s: when, by the first's clock, seconds since 1970.
        outcome: how it stood.
    """

    place_m: float
    time_s: float
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Told:
    """A piece of work of two horses.

    Attributes:
        marks: how they stood at each mark, in the order of time.
        finish: how they finished: at the last mark that was passed at work, else where they were last going on.
    """

    marks: tuple[Stood, ...]
    finish: Stood


def told(gaps: Gaps, passings: Sequence[Passing] = ()) -> Told:
    """Tell a piece of work.

    Args:
        gaps: the gap.
        passings: when the first horse passed the marks of the gallop (`gallops.passings`); none where the gallop is not
            known, and then every furlong from the beginning is told.
    """
    gone = np.concatenate([[0.0], np.cumsum(0.5 * np.diff(gaps.time_s) * (gaps.speed_ms[1:] + gaps.speed_ms[:-1]))])
    best = float(np.quantile(gaps.speed_ms, BEST))
    last = float(gaps.time_s[np.flatnonzero(gaps.speed_ms >= EASED * best)[-1]])
    begun = float(gaps.time_s[0])
    if passings:
        places = [(passed.place_m, passed.time_s) for passed in passings if begun <= passed.time_s <= last + 1.0]
    else:
        places = [
            (place, float(np.interp(place, gone, gaps.time_s)))
            for place in np.arange(FURLONG_M, np.interp(last, gaps.time_s, gone), FURLONG_M).tolist()
        ]
    marks = tuple(Stood(place, when, gaps.at(when)) for place, when in places)
    if passings and marks:
        return Told(marks, marks[-1])
    return Told(marks, Stood(float(np.interp(last, gaps.time_s, gone)), last, gaps.at(last)))
