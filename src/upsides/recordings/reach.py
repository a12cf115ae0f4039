"""What no horse does, and other sports: said of a recording, for nothing is wrong with its positions."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.positions import REACH_MS
from upsides.recordings.recording import Message

Floats = NDArray[np.float64]

ODD: Final = frozenset({"not_a_horse", "beyond_records"})
"""Codes of messages that say that a recording goes as no horse does."""

FAST_S, MOVING_MS = 5.0, 1.0
"""A speed beyond a horse's reach is said when it is held for so long; its share is of the time spent faster than the
second. Our own limits."""

RECORDS: Final = (
    (402.336, 20.57),
    (1005.84, 53.69),
    (1609.344, 91.23),
    (2011.68, 117.8),
    (2414.016, 142.8),
    (3218.688, 199.2),
)
"""Metres, and the seconds in which the fastest horse went them: public record times of racecourses (Penn National 2008,
Epsom 2012, Monmouth Park 2010, Santa Anita 1980 and 1989, Aqueduct 1964; secondary reprints, later records may
exist)."""

MARGIN = 1.03
"""Times are held against records that are faster by this, for what receivers err. Our own limit."""

RIDING: Final = frozenset({"horse", "horses", "horseback", "equestrian", "equine", "reiten", "equitation", "riding"})
UNSAID: Final = frozenset({"generic", "other", "training", "transition", "workout", "unknown", "sport"})
"""Words of a sport that is riding, and of none in particular."""


def beyond_reach(time: Floats, speed: Floats, along: Floats) -> tuple[Message, ...]:
    """Say that a horse does not go so: faster than any, or so fast for longer than any.

    Args:
        time: (m,) seconds, rising.
        speed: (m,) m/s, NaN where not known.
        along: (m,) metres gone, NaN where nothing is known.
    """
    step = np.r_[np.diff(time), 0.0]
    fast = np.nan_to_num(speed) > REACH_MS
    starts = np.flatnonzero(np.r_[fast[:1], fast[1:] & ~fast[:-1]])
    ends = np.flatnonzero(np.r_[fast[:-1] & ~fast[1:], fast[-1:]])
    lasted = time[ends] - time[starts]
    held = float(lasted[lasted >= FAST_S].sum())
    if held > 0:
        moving = float(step[(np.nan_to_num(speed) > MOVING_MS) & (step < 60)].sum())
        told = {"count": round(held), "speed": round(REACH_MS), "share": round(100 * held / moving)}
        return (Message("not_a_horse", told),)
    return _beyond_records(time, speed, along)


def _beyond_records(time: Floats, speed: Floats, along: Floats) -> tuple[Message, ...]:
    slowest = min(metres / seconds for metres, seconds in RECORDS)
    if not (np.nan_to_num(speed) > slowest).any():
        return ()
    beaten = []
    for metres, record in RECORDS:
        took = _least(time, along, metres)
        if took * MARGIN < record:
            beaten.append((record / took, {"metres": round(metres), "seconds": round(took), "record": round(record)}))
    if not beaten:
        return ()
    return (Message("beyond_records", max(beaten, key=lambda one: one[0])[1]),)


def _least(time: Floats, along: Floats, metres: float) -> float:
    """Return the least seconds in which so many metres were gone, infinite where they were not."""
    known = np.isfinite(along)
    time, along = time[known], along[known]
    begins = along + metres <= along[-1] if along.size else known[:0]
    if not begins.any():
        return np.inf
    return float((np.interp(along[begins] + metres, along, time) - time[begins]).min())


def another_sport(sport: str) -> tuple[Message, ...]:
    """Say which sport a file says that it is, where that is not riding.

    Args:
        sport: as the file calls it, several with commas between; a bare number says nothing.
    """
    others = [one.strip() for one in sport.split(",") if (words := _words(one)) and not words & (RIDING | UNSAID)]
    return (Message("another_sport", {"sport": ", ".join(others)[:60]}),) if others else ()


def _words(sport: str) -> set[str]:
    return set("".join(letter if letter.isalpha() else " " for letter in sport.casefold()).split())
