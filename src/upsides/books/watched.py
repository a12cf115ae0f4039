"""What the watch finds on a day, with the numbers and names of the books: made by a worker, kept as an answer.

horses    [{"horse", "kind", "way", "usual", "now", "last", "lately", "readings", "since", "nearness", "new",
           "of_barn", "of_all", "with": [[level, name], ...]}, ...]    of every horse that stands out
groups    [{"level", "name", "kind", "way", "off", "since", "last", "read", "beyond", "nearness", "new",
           "or_else": [level, name]}, ...]    most pressing first
missed    [{"horse", "kind", "days", "usual"}, ...]    longest first
swapped   [{"one", "other", "chance"}, ...]
"""

from dataclasses import replace
from datetime import date
from typing import Any, Final

import numpy as np

from upsides.books.queries.condition_watch import EPOCH, YardReadings
from upsides.condition.monitoring.budget import Budget
from upsides.condition.monitoring.findings import findings_on
from upsides.condition.monitoring.found import Findings, Group, GroupFinding, HorseFinding
from upsides.condition.monitoring.kinds import KINDS
from upsides.condition.monitoring.readings import Readings
from upsides.condition.monitoring.watching import watch

LATE: Final = 30
"""A kind whose readings began so many days after the first one's is watched apart, from its own beginning on."""
FEWEST: Final = 40
"""A kind with fewer readings in a year is not watched."""
SHARES: Final = (0.8, 0.2)
"""Of false pointings: the kinds that were read all year, and those that began later."""
ALL: Final = 10_000


def watched_on(read: YardReadings, day: date) -> dict[str, Any]:
    """Return what is found on a day in every kind that is read often enough."""
    found: dict[str, Any] = {"horses": [], "groups": [], "missed": [], "swapped": []}
    for kinds, share in zip(_kinds(read), SHARES, strict=True):
        if not kinds:
            continue
        part = _of_kinds(read, kinds)
        told = findings_on(watch(part, Budget(share, 0.1 * share)), day.toordinal() - EPOCH, ALL, read.here)
        for name, rows in _plain(read, told, [KINDS[place].name for place in kinds]).items():
            found[name] += rows
    found["horses"] = [one for one in found["horses"] if _worth(one, one["lately"] - one["usual"])]
    found["groups"] = [one for one in found["groups"] if _worth(one, one["off"])]
    found["horses"].sort(key=lambda one: (not one["new"], -one["nearness"]))
    return found


def _worth(found: dict[str, Any], off: float) -> bool:
    """Return whether something is off by more than what rounding and handling alone do, so that it is worth a walk."""
    way = off if found["way"] == "above" else -off
    return way >= next(one.grain for one in KINDS if one.name == found["kind"])


def _kinds(read: YardReadings) -> tuple[list[int], list[int]]:
    """Return the kinds that were read all year, and those that began later."""
    kind, day = read.readings.kind, read.readings.day
    often = [place for place in range(len(KINDS)) if np.count_nonzero(kind == place) >= FEWEST]
    begins = {place: int(day[kind == place].min()) for place in often}
    early = [place for place in often if begins[place] < min(begins.values()) + LATE]
    return early, [place for place in often if place not in early]


def _of_kinds(read: YardReadings, kinds: list[int]) -> Readings:
    """Return the readings of some kinds, from the day on which all of them were read."""
    readings = read.readings
    begin = max(int(readings.day[readings.kind == place].min()) for place in kinds)
    part = readings.where(np.isin(readings.kind, kinds) & (readings.day >= begin))
    places = np.searchsorted(kinds, part.kind)
    return replace(part, kind=places, kinds=tuple(KINDS[place] for place in kinds))


def _plain(read: YardReadings, told: Findings, kinds: list[str]) -> dict[str, list[dict[str, Any]]]:
    return {
        "horses": [_horse(read, one, kinds[one.kind]) for one in told.horses],
        "groups": [_group(read, one, kinds[one.kind]) for one in told.groups],
        "missed": [
            {"horse": read.horses[one.horse], "kind": kinds[one.kind], "days": one.days, "usual": round(one.usual, 1)}
            for one in told.missed
        ],
        "swapped": [
            {"one": read.horses[one.one], "other": read.horses[one.other], "chance": round(one.chance, 3)}
            for one in told.swapped
        ],
    }


def _horse(read: YardReadings, one: HorseFinding, kind: str) -> dict[str, Any]:
    numbers = {
        name: round(getattr(one, name), 3) for name in ("usual", "now", "lately", "nearness", "of_barn", "of_all")
    }
    return numbers | {
        "horse": read.horses[one.horse],
        "kind": kind,
        "way": one.way,
        "last": _date(one.last),
        "since": _date(one.since),
        "readings": int(one.readings),
        "new": one.new,
        "with": [_named(read, group) for group in one.with_it],
    }


def _group(read: YardReadings, one: GroupFinding, kind: str) -> dict[str, Any]:
    level, name = _named(read, one.group)
    return {
        "level": level,
        "name": name,
        "kind": kind,
        "way": one.way,
        "off": round(one.off, 3),
        "since": _date(one.since),
        "last": _date(one.last),
        "read": one.read,
        "beyond": one.beyond,
        "nearness": round(one.nearness, 3),
        "new": one.new,
        "or_else": _named(read, one.or_else) if one.or_else else None,
    }


def _named(read: YardReadings, group: Group) -> list[str]:
    names = {"yard": (), "barn": read.barns, "device": read.devices}[group.level]
    return [group.level, names[group.code] if names else ""]


def _date(day: int) -> str:
    return str(date.fromordinal(day + EPOCH))
