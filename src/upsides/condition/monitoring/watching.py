"""The whole watch: readings of all kinds walked through in order of time, each day with what was known before it.

Every eight weeks what a kind is like is learned anew from the last year, and the limits are set anew; the first weeks,
from which it is learned first, point at nobody. A kind that is read only later has first weeks of its own. What is told
of a day does not change with readings that come later.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.budget import Budget, Limits
from upsides.condition.monitoring.days import walk
from upsides.condition.monitoring.kinds import SIDES
from upsides.condition.monitoring.learning import Nature, nature_of
from upsides.condition.monitoring.limits import normal_limits, own_limits
from upsides.condition.monitoring.readings import Floats, Ints, Readings

FIRST: Final = 60
"""Days from which a kind is learned first."""
EVERY: Final = 56
"""Days after which it is learned anew."""
WINDOW: Final = 365
"""Days of the past from which it is."""


@dataclass(frozen=True, slots=True)
class Known:
    """What was learned of all kinds, by their places: what each is like, and the limits of horses and of groups."""

    natures: tuple[Nature, ...]
    limits: tuple[Limits, ...]
    group_limits: tuple[Limits, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Watched:
    """What the watch tells.

    Attributes:
        readings: those that went in.
        told: (n, TOLD) of each reading; columns in `upsides.condition.monitoring.places`.
        groups: (m, G_TOLD) of the yard (group 0), barns (1 + code) and devices (1 + barns + code) by day.
        group_kind: (m,) of which kind.
        barns: how many barns there are.
        known: what was learned last.
        begins: (kinds,) the first day on which anybody is pointed at.
    """

    readings: Readings
    told: Floats
    groups: Floats
    group_kind: Ints
    barns: int
    known: Known
    begins: Ints

    def pointed(self) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Return (n,) at which readings a horse was pointed at anew."""
        new = (self.told[:, of.WAY] != 0.0) & (self.told[:, of.BEGAN] == self.readings.day)
        return np.asarray(new & (self.readings.day >= self.begins[self.readings.kind]))

    def groups_pointed(self) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Return (m,) at which rows a group was pointed at anew."""
        new = (self.groups[:, of.G_WAY] != 0.0) & (self.groups[:, of.G_BEGAN] == self.groups[:, of.G_DAY])
        return np.asarray(new & (self.groups[:, of.G_DAY] >= self.begins[self.group_kind]))


@dataclass(slots=True)
class _Kind:
    """One kind on its way: its readings' place, what is carried from day to day, and how many rows of groups stand."""

    rows: slice
    horses: Floats
    charts: Floats
    levels: Floats
    group_charts: Floats
    groups: Floats
    at: int = 0
    nature: Nature | None = None
    limits: Limits | None = None
    group_limits: Limits | None = None


def watch(readings: Readings, budget: Budget | None = None, known: Known | None = None, every: int = EVERY) -> Watched:
    """Walk through all readings.

    Args:
        readings: at least a few weeks of them, of any kinds.
        budget: what the yard can look at.
        known: what an earlier watch over the same yard has learned; nothing is then learned anew, and the walk points
            from its first day on.
        every: days after which what is known is learned anew.
    """
    budget = budget or Budget()
    barns = int(readings.barn.max(initial=-1)) + 1
    kinds = [_begun(readings, kind, barns) for kind in range(len(readings.kinds))]
    told = np.zeros((readings.day.size, of.TOLD))
    last = int(readings.day.max(initial=0))
    firsts = _firsts(readings)
    begins = firsts if known else firsts + FIRST
    learns = [{int(first)} if known else {int(first), *range(int(first) + FIRST, last + 1, every)} for first in firsts]
    starts = sorted(set().union(*learns))
    for start, end in zip(starts, [*starts[1:], last + 1], strict=True):
        for number, one in enumerate(kinds):
            if known:
                one.nature, one.limits = known.natures[number], known.limits[number]
                one.group_limits = known.group_limits[number]
            elif start in learns[number]:
                first = int(firsts[number])
                window = (first, first + FIRST - 1) if start == first else (max(first, start - WINDOW), start - 1)
                _learn(readings, number, one, told, window, _run_lengths(readings, kinds, window, budget), barns)
        for one in kinds:
            _walk(readings, one, told, start, end, barns)
    return Watched(
        readings, told, np.concatenate([one.groups[: one.at] for one in kinds]),
        np.repeat(np.arange(len(kinds)), [one.at for one in kinds]), barns,
        known or Known(
            tuple(one.nature for one in kinds if one.nature), tuple(one.limits for one in kinds if one.limits),
            tuple(one.group_limits for one in kinds if one.group_limits),
        ), begins,
    )  # fmt: skip


def learned(readings: Readings, budget: Budget | None = None) -> Known:
    """Return what all of some readings teach at once, with the limits of normal readings: for a yard of a few weeks.

    Args:
        readings: all there are.
        budget: what the yard can look at.
    """
    budget = budget or Budget()
    days = int(readings.day.max() - readings.day.min()) + 1 if readings.day.size else 1
    each = readings.day.size / days
    sides = [SIDES[kind.side] == 0 for kind in readings.kinds]
    return Known(
        tuple(nature_of(readings.where(readings.of(place)), kind) for place, kind in enumerate(readings.kinds)),
        tuple(normal_limits(max(each / budget.horses, 5.0), both=both) for both in sides),
        tuple(normal_limits(max(each / budget.groups, 20.0), both=both) for both in sides),
    )


def _firsts(readings: Readings) -> Ints:
    """Return the day from which each kind is learned: the first of all, or its own where it is read only later."""
    first = int(readings.day.min(initial=readings.day.max(initial=0)))
    own = [int(readings.day[readings.of(kind)].min(initial=readings.day.max(initial=0)))
           for kind in range(len(readings.kinds))]  # fmt: skip
    return np.array([first if one < first + FIRST // 2 else one for one in own], dtype=np.int64)


def _begun(readings: Readings, kind: int, barns: int) -> _Kind:
    rows = readings.of(kind)
    groups = 1 + barns + int(readings.device.max(initial=-1)) + 1
    horses = np.full((readings.foaled.size, of.STATE), np.nan)
    levels = np.zeros((groups, of.DEVICE))
    levels[:, of.LEVEL_DAY] = np.nan
    horses[:, of.SEEN] = np.nan
    day, columns = readings.day[rows], (readings.barn[rows], readings.device[rows])
    rows_of = [np.unique(day).size, *(np.unique(day * (groups + 1) + column).size for column in columns)]
    return _Kind(
        rows, horses, np.zeros((readings.foaled.size, of.CHART)), levels, np.zeros((groups, of.CHART)),
        np.zeros((sum(rows_of), of.G_TOLD)),
    )  # fmt: skip


def _run_lengths(
    readings: Readings, kinds: list[_Kind], window: tuple[int, int], budget: Budget
) -> tuple[float, float]:
    """Return readings to a false pointing at a horse, and days of groups to one at a group, of all kinds together."""
    days = window[1] - window[0] + 1
    read = np.count_nonzero((readings.day >= window[0]) & (readings.day <= window[1]))
    told = sum(int(np.count_nonzero(one.groups[: one.at, of.G_DAY] >= window[0])) for one in kinds)
    return max(float(read) / days / budget.horses, 5.0), max(told / days / budget.groups, 20.0)


def _learn(
    readings: Readings, number: int, one: _Kind, told: Floats, window: tuple[int, int], lengths: tuple[float, float],
    barns: int,
) -> None:  # fmt: skip
    """Learn a kind's nature and limits from a window of days."""
    kind = readings.kinds[number]
    side = SIDES[kind.side]
    day = readings.day[one.rows]
    a, b = np.searchsorted(day, [window[0], window[1] + 1]) + one.rows.start
    one.nature = nature_of(readings.where(slice(a, b)), kind)
    if not one.at:
        one.limits, one.group_limits = (normal_limits(length, both=side == 0) for length in lengths)
        return
    one.limits = own_limits(readings.horse[a:b], readings.day[a:b], told[a:b, of.Z].copy(), side, lengths[0])
    of_groups = one.groups[: one.at]
    of_groups = of_groups[(of_groups[:, of.G_DAY] >= window[0]) & (of_groups[:, of.G_GROUP] <= barns)]
    order = np.argsort(of_groups[:, of.G_DAY], kind="stable")
    group, when = (of_groups[order, column].astype(np.int64) for column in (of.G_GROUP, of.G_DAY))
    one.group_limits = own_limits(group, when, of_groups[order, of.G_Z].copy(), side, lengths[1])


def _walk(readings: Readings, one: _Kind, told: Floats, start: int, end: int, barns: int) -> None:
    """Walk a kind through the days from `start` to before `end`."""
    if one.nature is None or one.limits is None or one.group_limits is None:
        return
    a, b = np.searchsorted(readings.day[one.rows], [start, end]) + one.rows.start
    kind = readings.kinds[int(readings.kind[a])] if b > a else None
    if kind is None:
        return
    limits = [float(SIDES[kind.side])]
    for which in (one.limits, one.group_limits):
        limits += [which.single, which.width, which.total]
    rows = slice(a, b)
    one.at = int(
        walk(
            barns, readings.horse[rows], readings.barn[rows], readings.device[rows], readings.day[rows],
            readings.value[rows], readings.sd[rows], readings.foaled, np.r_[one.nature.array(), limits], one.horses,
            one.charts, one.levels, one.group_charts, told[rows], one.groups, one.at,
        )
    )  # fmt: skip
