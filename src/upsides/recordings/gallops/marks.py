"""Clocked at the marks: when a horse passed each mark of a gallop, and what each length between them took."""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.bouts.along import LASTING_M, Along, lasting_change
from upsides.recordings.bouts.furlongs import Section
from upsides.recordings.gallops.matching import Match

Floats = NDArray[np.float64]

DRIFTS = 0.5
"""Share of the change of the receiver's lasting error that is left in a length between marks after places are evened
out; engineering choice, held by coverage on simulated mornings."""


@dataclass(frozen=True, slots=True)
class Passing:
    """A mark that was passed.

    Attributes:
        place_m: where the mark stands along the line.
        time_s: when, seconds since 1970.
        sd_s: standard deviation of that.
    """

    place_m: float
    time_s: float
    sd_s: float


def passings(match: Match, along: Along) -> tuple[Passing, ...]:
    """Return when each mark of the gallop was passed, in the order of time; marks that were not come to are left out.

    On a circuit each is given at its first passing, and a mark that stands where it closes is given once.
    """
    marks = match.gallop.marks_m
    if match.gallop.closed:
        marks = marks[~((marks > 1.0) & (marks > match.gallop.length_m - 1.0) & (marks.min() < 1.0))]
    place = np.maximum.accumulate(match.place_m if match.forward else -match.place_m)
    if match.gallop.closed:
        around = match.gallop.length_m
        signed = marks if match.forward else -marks
        places = signed + around * np.ceil((place[0] - signed) / around)
    else:
        places = marks if match.forward else -marks
    when = np.interp(places, place, match.time_s, left=np.nan, right=np.nan)
    seen = np.flatnonzero(np.isfinite(when))
    seen = seen[np.argsort(when[seen], kind="stable")]
    sd = np.hypot(np.interp(when[seen], along.time_s, along.place_sd_m), LASTING_M)
    sd = sd / np.maximum(along.speed_at(when[seen]), 0.3)
    return tuple(Passing(float(marks[k]), float(when[k]), float(error)) for k, error in zip(seen, sd, strict=True))


def sections(match: Match, along: Along) -> tuple[Section, ...]:
    """Return what each length between marks took that stand next to each other and were both passed.

    A length's error is less than those of its two marks: what is wrong with the place lasts, and is much the same at
    both. It weighs as far as the speed changed between them; the distance between them has the error of the speeds, and
    of how far the error of the place changed. A length over the closing of a circuit ends beyond the line's own length,
    or before its beginning, so that what lies between is what was gone.
    """
    passed = passings(match, along)
    ahead = 1.0 if match.forward else -1.0
    around = match.gallop.length_m if match.gallop.closed else np.inf
    out = []
    for begin, end in itertools.pairwise(passed):
        times = np.array([begin.time_s]), np.array([end.time_s])
        v0, v1 = (max(float(along.speed_at(moment)[0]), 0.3) for moment in times)
        gone = float(along.gone_sd(*times)[0]) / v1
        lasting = LASTING_M * abs(1.0 / v0 - 1.0 / v1)
        sd = float(np.sqrt(gone**2 + lasting**2 + (DRIFTS * float(lasting_change(times[1] - times[0])[0]) / v1) ** 2))
        between = ahead * (ahead * (end.place_m - begin.place_m) % around)
        out.append(Section(begin.place_m, begin.place_m + between, begin.time_s, end.time_s - begin.time_s, sd))
    return tuple(out)
