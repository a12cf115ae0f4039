"""Whom to look at first on a day, and why: horses that stand out, barns, devices, the yard, and what was not read."""

from collections.abc import Mapping
from typing import Final

import numpy as np

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.found import Findings, Group, GroupFinding, HorseFinding, Missed, Way
from upsides.condition.monitoring.readings import Floats, Ints
from upsides.condition.monitoring.swaps import swapped_on
from upsides.condition.monitoring.watching import Watched

STALE: Final = 14
"""What was last read longer ago than this many days says nothing of today. Our own choice."""
BACK: Final = 60
"""A horse has been off since a day within so many at most."""
RECENT: Final = 120
"""Days from which it is told how often a horse is usually read."""
LATE: Final = 2.5
"""A reading is missed when it is this many times as long ago as readings usually are apart. Our own choice."""
LAST_DAYS: Final = 3
"""A device's level now is the mean of so many days."""
SETTLING: Final = 14
"""Days for which a device that began to read otherwise is told of, though its level has been learned by then."""


def findings_on(watched: Watched, day: int, most: int, here: Mapping[int, int]) -> Findings:
    """Return what is found on a day.

    Args:
        watched: a watch that has gone up to that day at least; what is later is not looked at.
        day: days since 1970-01-01.
        most: how many horses the yard can look at.
        here: horses in the yard, with the day each came.
    """
    groups = _groups(watched, day)
    rows = _last_rows(watched, day, STALE)
    out = (watched.told[rows, of.WAY] != 0.0) & (np.abs(watched.told[rows, of.RATIO]) >= 1.0)
    rows = rows[out & (watched.readings.day[rows] >= watched.begins[watched.readings.kind[rows]])]
    standing = [_horse(watched, int(row), groups) for row in rows if int(watched.readings.horse[row]) in here]
    standing = [one for one in standing if _worth_a_walk(watched, one)]
    standing.sort(key=lambda one: (not (one.new and one.last == day), -one.nearness))
    order = list(dict.fromkeys(one.horse for one in standing))
    kept = {horse: place for place, horse in enumerate(order[:most])}
    shown = sorted((one for one in standing if one.horse in kept), key=lambda one: kept[one.horse])
    return Findings(
        tuple(shown), max(len(order) - most, 0), groups, _missed(watched, day, here), swapped_on(watched, day)
    )


def _worth_a_walk(watched: Watched, one: HorseFinding) -> bool:
    """Return whether a horse is off by what somebody would walk to its box for, and by what the instrument can tell."""
    kind = watched.readings.kinds[one.kind]
    return _off(one.way, one.lately - one.usual) >= max(kind.worth, kind.grain)


def _beyond_grain(watched: Watched, one: GroupFinding) -> bool:
    """Return whether a group is off by what the instrument can tell: less is not worth a word, however sure."""
    return _off(one.way, one.off) >= watched.readings.kinds[one.kind].grain


def _off(way: Way, off: float) -> float:
    return off if way == "above" else -off


def _last_rows(watched: Watched, day: int, days: int) -> Ints:
    """Return the row of each horse's last reading of each kind within some days up to a day."""
    readings = watched.readings
    found = []
    for kind in range(len(readings.kinds)):
        part = readings.of(kind)
        a, b = np.searchsorted(readings.day[part], [day - days + 1, day + 1]) + part.start
        last = np.full(readings.foaled.size, -1, dtype=np.int64)
        last[readings.horse[a:b]] = np.arange(a, b)
        found.append(last[last >= 0])
    return np.concatenate(found)


def _horse(watched: Watched, row: int, groups: tuple[GroupFinding, ...]) -> HorseFinding:
    readings, told = watched.readings, watched.told[row]
    horse, kind = int(readings.horse[row]), int(readings.kind[row])
    part = readings.of(kind)
    first = int(np.searchsorted(readings.day[part], readings.day[row] - BACK)) + part.start
    mine = np.flatnonzero(readings.horse[first : row + 1] == horse) + first
    since = mine[_begin(watched.told[mine, of.Z], float(told[of.WAY])) :]
    own = {Group("yard"), Group("barn", int(readings.barn[row])), Group("device", int(readings.device[row]))}
    way: Way = "above" if told[of.WAY] > 0.0 else "below"
    return HorseFinding(
        horse,
        kind,
        way,
        usual=float(told[of.OWN]),
        now=float(readings.value[row]),
        last=int(readings.day[row]),
        lately=float(readings.value[since].mean()),
        readings=since.size,
        since=int(readings.day[since[0]]),
        off_sd=float(told[of.Z]),
        nearness=float(abs(told[of.RATIO])),
        new=bool(told[of.BEGAN] == readings.day[row]),
        of_barn=float(told[of.OF_BARN]),
        of_all=float(told[of.SHARED]),
        with_it=tuple(one.group for one in groups if one.kind == kind and one.group in own),
    )


def _begin(z: Floats, way: float) -> int:
    """Return from which on readings are most likely off: where their sum squared over their number is greatest.

    It is the likelihood ratio of a change of unknown size (Hinkley 1970, Biometrika 57:1), of one as large as the sums
    look for at the least.
    """
    number = np.arange(z.size, 0, -1)
    total = way * np.cumsum(z[::-1])[::-1]
    worth = np.where(total >= of.ALLOWANCE * number, total**2 / number, 0.0)
    return int(np.argmax(worth)) if worth.any() else z.size - 1


def _groups(watched: Watched, day: int) -> tuple[GroupFinding, ...]:
    """Return the groups that stand out; of two that cannot be told apart only the more pressing one."""
    rows = watched.groups
    recent = (rows[:, of.G_DAY] > day - STALE) & (rows[:, of.G_DAY] <= day)
    recent &= rows[:, of.G_DAY] >= watched.begins[watched.group_kind]
    last = {(int(watched.group_kind[row]), int(rows[row, of.G_GROUP])): int(row) for row in np.flatnonzero(recent)}
    out = (rows[:, of.G_WAY] != 0.0) & (np.abs(rows[:, of.G_RATIO]) >= 1.0)
    standing = [row for row in last.values() if out[row] or _settling(watched, row, day)]
    kept: list[GroupFinding] = []
    for one in sorted((_group(watched, row) for row in standing), key=lambda one: -one.nearness):
        if not _beyond_grain(watched, one):
            continue
        same = [other for other in kept if other.kind == one.kind]
        if not any(other.or_else == one.group and one.or_else == other.group for other in same):
            kept.append(one)
    return tuple(kept)


def _settling(watched: Watched, row: int, day: int) -> bool:
    """Return whether a device began to read otherwise not long ago."""
    began = watched.groups[row, of.G_BEGAN]
    begins = int(watched.begins[watched.group_kind[row]])
    return bool(watched.groups[row, of.G_GROUP] > watched.barns and began >= max(day - SETTLING, begins))


def _group(watched: Watched, row: int) -> GroupFinding:
    told, rows = watched.groups[row], watched.groups
    same = (watched.group_kind == watched.group_kind[row]) & (rows[:, of.G_GROUP] == told[of.G_GROUP])
    same &= rows[:, of.G_DAY] <= told[of.G_DAY]
    began = rows[same & (rows[:, of.G_DAY] == told[of.G_BEGAN])]
    first = began[0] if began.size else told
    way = 1.0 if first[of.G_RATIO] > 0.0 else -1.0
    upto = rows[same & (rows[:, of.G_DAY] > first[of.G_DAY] - BACK) & (rows[:, of.G_DAY] <= first[of.G_DAY])]
    since = float((upto[_begin(upto[:, of.G_Z], way)] if upto.size else first)[of.G_DAY])
    off = rows[same & (rows[:, of.G_DAY] >= since)]
    device = told[of.G_GROUP] > watched.barns
    bound = int(first[of.G_BOUND])
    return GroupFinding(
        _named(watched, int(told[of.G_GROUP])),
        int(watched.group_kind[row]),
        "above" if way > 0.0 else "below",
        off=float(_moved(off) if device else off[:, of.G_EFFECT].mean()),
        since=int(since),
        last=int(told[of.G_DAY]),
        read=int(told[of.G_READ]),
        beyond=int(told[of.G_BEYOND]),
        off_sd=float(told[of.G_Z]),
        nearness=float(max(abs(told[of.G_RATIO]), abs(first[of.G_RATIO]) if device else 0.0)),
        new=bool(told[of.G_BEGAN] == told[of.G_DAY]),
        or_else=_named(watched, bound) if bound >= 0 else None,
    )


def _moved(off: Floats) -> float:
    """Return by how much a device's level has moved since it has been off: the mean of its last days, less before."""
    return float(off[-LAST_DAYS:, of.G_LEVEL].mean() - off[0, of.G_LEVEL] + off[0, of.G_EFFECT])


def _named(watched: Watched, group: int) -> Group:
    if group == 0:
        return Group("yard")
    if group <= watched.barns:
        return Group("barn", group - 1)
    return Group("device", group - 1 - watched.barns)


def _missed(watched: Watched, day: int, here: Mapping[int, int]) -> tuple[Missed, ...]:
    readings, found = watched.readings, []
    for kind in range(len(readings.kinds)):
        part = readings.of(kind)
        a, b = np.searchsorted(readings.day[part], [day - RECENT, day + 1]) + part.start
        order = np.argsort(readings.horse[a:b], kind="stable")
        horse, when = readings.horse[a:b][order], readings.day[a:b][order]
        gaps = np.diff(when)[horse[1:] == horse[:-1]]
        present = np.intersect1d(horse, np.fromiter(here, dtype=np.int64, count=len(here)))
        if not gaps.size or 2 * present.size < len(here):
            continue
        usual = max(float(np.median(gaps)), 1.0)
        whole = slice(part.start, b)
        last = dict(zip(readings.horse[whole].tolist(), readings.day[whole].tolist(), strict=True))
        for one, came in here.items():
            days = day - max(last.get(one, came), came)
            if days > LATE * usual:
                found.append(Missed(one, kind, days, usual, one not in last))
    return tuple(sorted(found, key=lambda one: (-one.days / one.usual, one.horse, one.kind)))
