"""Blood results of a horse that stand out: outside the laboratory's printed interval, or changed against its own.

Nothing here says what a result means: that is the vet's to say.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import nan
from typing import Final

import numpy as np

from upsides.books.diary.blood import Analyte, unit_key
from upsides.books.diary.vet import Bloods
from upsides.books.queries.bloods import Sample, samples_of
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.condition.monitoring.own_change import ENOUGH, OwnChange, own_change, variation_within

YEARS: Final = timedelta(days=3 * 365)
"""From so long a past it is known how far results of one horse differ."""


@dataclass(frozen=True, slots=True)
class BloodSign:
    """A result that stands out.

    Args:
        analyte: the result, with the interval that was printed beside it.
        laboratory: who measured it.
        day: when the sample was taken.
        change: against the result before, per cent; None where it is not beyond what such results differ by.
        allowed: what they differ by, per cent; None where that is not known.
    """

    analyte: Analyte
    laboratory: str
    day: date
    change: float | None
    allowed: float | None


def bloods_of(moment: Moment, horse: int, reader: Visitor, days: int) -> tuple[BloodSign, ...]:
    """Return what stands out in a horse's last sample, if it is of the last days; in the order of the report."""
    samples = samples_of(horse, moment, reader)
    if not samples or (moment.day - samples[0].day).days >= days:
        return ()
    last = samples[0]
    return tuple(_signs(moment, samples, last))


def _signs(moment: Moment, samples: Sequence[Sample], last: Sample) -> Iterator[BloodSign]:
    for one in last.results:
        own = _own(moment, samples, one, last)
        changed = own is not None and own.changed
        if one.outside or changed:
            yield BloodSign(
                one, last.laboratory, last.day, own.change if own is not None and changed else None,
                own.allowed if own is not None and changed else None,
            )  # fmt: skip


def _own(moment: Moment, samples: Sequence[Sample], one: Analyte, last: Sample) -> OwnChange | None:
    """Return how a result stands to the horse's own before; None where too little is known of either."""
    mine = [
        (sample.day.toordinal(), each.value)
        for sample in reversed(samples)
        if sample.laboratory == last.laboratory
        for each in sample.results
        if _same(each, one) and not each.bound and each.value > 0
    ]
    if one.bound or not mine or mine[-1][1] != one.value:
        return None
    within = _variation(moment, one, last) if len(mine) > ENOUGH else None
    if within is None:
        return None
    day, value = (np.array(column) for column in zip(*mine, strict=True))
    ends = (nan if one.low is None else one.low, nan if one.high is None else one.high)
    return own_change(day.astype(np.int64), value.astype(np.float64), ends, 0.0, within)


def _variation(moment: Moment, one: Analyte, last: Sample) -> float | None:
    """Return how far results of one horse differ, over all horses, by a sample's laboratory before that sample."""
    rows = entries_of(moment, [Bloods.name], last.day - YEARS, last.day - timedelta(days=1))
    found = [
        (horse, each.value)
        for horse, values in rows.values_list("horse_id", "values")
        if values["laboratory"] == last.laboratory
        for each in Bloods.kept_as(values).analytes
        if _same(each, one) and not each.bound and each.value > 0
    ]
    if not found:
        return None
    horse, value = (np.array(column) for column in zip(*found, strict=True))
    return variation_within(horse.astype(np.int64), value.astype(np.float64))


def _same(one: Analyte, other: Analyte) -> bool:
    return one.name.casefold() == other.name.casefold() and unit_key(one.unit) == unit_key(other.unit)
