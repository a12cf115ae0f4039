"""A horse's own number for what a published figure counts."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.condition.done.days import NEVER
from upsides.condition.done.fast import LAYUP_DAYS
from upsides.condition.done.summary import IDLE_DAYS, Yard
from upsides.condition.exposure.figures import GIVEN, Part
from upsides.errors import ConditionRefusedError
from upsides.errors.wording import gettext as _

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

GIVEN_NONE: Final[Mapping[str, Floats]] = {}
SUMMED: Final = frozenset({"metres", "metres a day"})
"""Quantities that are sums over days."""


@dataclass(frozen=True, slots=True, eq=False)
class Own:
    """Numbers of m horse-days.

    Attributes:
        value: (m,) in the unit of `Part.value`; NaN where not known.
        measured: (m,) share of the metres in the window that were measured; NaN for what is not in metres.
        whole: (m,) whether the yard knew the horse over the whole window; else a sum is the least that it did.
        resting: (m,) whether a lay-up was on, so that days since one do not run.
        idle: (m,) whether no work was known in a fortnight either, so that its end is not near.
    """

    value: Floats
    measured: Floats
    whole: Bools
    resting: Bools
    idle: Bools


def own(part: Part, yard: Yard, horse: Ints, day: Ints, given: Mapping[str, Floats] = GIVEN_NONE) -> Own:
    """Return the numbers.

    Args:
        part: what is counted.
        yard: what was done.
        horse: (m,) places of horses.
        day: (m,) the day, as `date.toordinal` counts.
        given: (m,) numbers by quantity, of what does not follow from what was done; NaN where not known.

    Raises:
        ConditionRefusedError: there is no such quantity.
    """
    match part.quantity:
        case "metres" | "metres a day":
            return _metres(part, yard, horse, day)
        case "days since lay-up":
            away = yard.fast.since(horse, day) >= LAYUP_DAYS
            idle = ~(yard.since_work(horse, day) <= IDLE_DAYS)
            return _plain(np.where(away, np.nan, yard.lay_ups.last(horse, day)[0]), away, away & idle)
        case "days since run":
            return _plain(yard.runs.since(horse, day))
        case "days since first run":
            return _plain(yard.runs.until(horse, day))
        case quantity if quantity in GIVEN:
            return _plain(np.asarray(given.get(quantity, np.full(horse.shape, np.nan)), dtype=np.float64))
        case quantity:
            raise ConditionRefusedError(
                "quantity", quantity, _("nothing here counts it"), _("name one that is counted")
            )


def _plain(value: Floats, resting: Bools | None = None, idle: Bools | None = None) -> Own:
    none = np.zeros(value.shape, dtype=np.bool_)
    unmeasured = np.full(value.shape, np.nan)
    return Own(value, unmeasured, ~none, none if resting is None else resting, none if idle is None else idle)


def _metres(part: Part, yard: Yard, horse: Ints, day: Ints) -> Own:
    entered = yard.entered[horse]
    if part.days is None:
        after, length = np.where(entered > 0, entered - 1, NEVER), np.maximum(day - entered + 1, 1)
    else:
        after, length = day - part.days, np.full(day.shape, part.days)
    sums = yard.days.sums(horse, after, day, part.from_ms, part.to_ms)
    value = sums.metres / (length if part.quantity == "metres a day" else 1)
    known = yard.known_from[horse]
    whole = (known > 0) & (known <= after + 1)
    none = np.zeros(day.shape, dtype=np.bool_)
    return Own(np.where(after == NEVER, np.nan, value), sums.measured, whole, none, none)
