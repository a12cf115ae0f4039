"""A horse's latest against its own past: a mass, a temperature, a resting heart, a recovery.

What the horse showed before is summed up by its median and by its spread, which is robust (1.4826 times the median
absolute deviation) and drawn to the yard's while the horse has few values of its own. The latest is expected within

    median +- t s sqrt(1 + pi / (2 n))

since a median of n values varies as pi / (2 n) times the variance, with t of 0.37 (n - 1) degrees of freedom: of 6 to
60 values, nine in ten to 95 in 100 lie within. Nothing here is a diagnosis.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Where = Literal["below", "within", "above", "cannot be told"]
Lack = Literal["not measured", "nothing before", "not worked out"]
Name = Literal["mass", "temperature", "resting heart", "recovery", "evenness at trot"]

POOLED: Final = 5.0
"""The yard's spread counts for as much as so many values; our own choice."""
HORSES: Final = 5
LEAST: Final = 6
"""With fewer values than this nothing is called unusual: six results make a horse's own range of blood values, too."""
EFFICIENCY: Final = 0.37
"""A median absolute deviation is worth so much of a standard deviation of as many values at the normal
(textbook value, from memory; held by simulation)."""
_SMALL: Final = {1: 1.0, 2: 1.196, 3: 1.495, 4: 1.363, 5: 1.206, 6: 1.2, 7: 1.14, 8: 1.129, 9: 1.107}
"""What makes it right in the mean for few values, n / (n - 0.8) from ten on (Croux and Rousseeuw
1992, from memory; held by simulation)."""
SHARE: Final = 0.9
"""So many of the latest lie within, if nothing changed."""


@dataclass(frozen=True, slots=True)
class Sign:
    """What is asked of a sign; all of it common practice, no source.

    Attributes:
        name: of it.
        within: days after which a value says nothing of today.
        past: days of its own past that it is held against.
        floor: the least standard deviation that is believed, since the instrument itself has one.
        tired: on which side a tired horse shows it.
        unit: of the values.
    """

    name: Name
    within: int
    past: int
    floor: float
    tired: Literal["below", "above"]
    unit: str


SIGNS: Final = (
    Sign("mass", 7, 60, 2.0, "below", "kg"),
    Sign("temperature", 1, 60, 0.15, "above", "°C"),
    Sign("resting heart", 7, 90, 2.0, "above", "a minute"),
    Sign("recovery", 14, 90, 4.0, "above", "a minute"),
)
EVENNESS: Final = Sign("evenness at trot", 14, 90, 0.01, "below", "")
"""No sign of freshness, but one for the vet: half a stride at trot against a whole one
(`upsides.recordings.bouts.evenness`)."""


@dataclass(frozen=True, slots=True)
class Missing:
    """Something that was not measured, which is a finding of its own; or that was, and says nothing yet.

    Attributes:
        what: what is missing.
        days: since it was there last; None for never.
        why: not measured lately; measured, with too little before to hold it against; measured, and what it says was
            not worked out for the day.
    """

    what: str
    days: int | None
    why: Lack = "not measured"


@dataclass(frozen=True, slots=True)
class Latest:
    """A latest value against the horse's own past.

    Attributes:
        what: of which sign.
        value: the latest.
        days_ago: when.
        usual: its own median before; None without a past.
        low, high: between which nine in ten of its values lie while nothing changes; None without a past.
        count: values before.
        where: the latest against these.
    """

    what: str
    value: float
    days_ago: int
    usual: float | None
    low: float | None
    high: float | None
    count: int
    where: Where

    @property
    def off(self) -> float | None:
        """By how much it lies above its usual; None without a past."""
        return None if self.usual is None else self.value - self.usual


def latest(
    sign: Sign, values: Sequence[tuple[date, float]], on: date, yard_sd: float | None = None
) -> Latest | Missing:
    """Hold the latest value against what came before it.

    Args:
        sign: which.
        values: day and value, in any order; those after `on` are not looked at, and of a day the last stands.
        on: the day.
        yard_sd: spread within horses over the yard, where it is known.
    """
    seen = sorted({day: value for day, value in values if day <= on and np.isfinite(value)}.items())
    if not seen:
        return Missing(sign.name, None)
    day, value = seen[-1]
    ago = (on - day).days
    if ago > sign.within:
        return Missing(sign.name, ago)
    past = np.array([one for when, one in seen[:-1] if when >= day - timedelta(days=sign.past)])
    if past.size == 0:
        return Latest(sign.name, value, ago, None, None, None, 0, "cannot be told")
    usual, wide = float(np.median(past)), _wide(past, sign.floor, yard_sd)
    where: Where = "below" if value < usual - wide else "above" if value > usual + wide else "within"
    told = where if past.size >= LEAST else "cannot be told"
    return Latest(sign.name, value, ago, usual, usual - wide, usual + wide, int(past.size), told)


def yard_spread(series: Sequence[Sequence[float]]) -> float | None:
    """Return the spread within horses over the yard: the median of theirs, of those with enough values.

    None where fewer than five horses have enough.
    """
    spreads = [_spread(np.asarray(one, dtype=np.float64)) for one in series if len(one) >= LEAST]
    return float(np.median(spreads)) if len(spreads) >= HORSES else None


def _spread(past: Floats) -> float:
    small = _SMALL.get(past.size, past.size / (past.size - 0.8))
    return 1.4826 * small * float(np.median(np.abs(past - np.median(past))))


def _wide(past: Floats, floor: float, yard_sd: float | None) -> float:
    from scipy.stats import norm  # what is only told, as pages do, needs none of it
    from scipy.stats import t as student

    n = past.size
    freedom = EFFICIENCY * (n - 1)
    squares = freedom * _spread(past) ** 2
    if yard_sd is not None:
        freedom, squares = freedom + POOLED, squares + POOLED * yard_sd**2
    s = float(np.sqrt(squares / freedom)) if freedom > 0 else 0.0
    wide = max(student.isf((1 - SHARE) / 2, max(freedom, 0.5)) * s, norm.isf((1 - SHARE) / 2) * floor)
    return float(wide * np.sqrt(1 + np.pi / (2 * n)))
