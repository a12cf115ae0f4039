"""What the watch finds on a day, with the numbers and names of the books: made by a worker, kept as an answer.

horses    [{"horse", "kind", "way", "usual", "now", "last", "lately", "readings", "since", "nearness", "new",
           "of_barn", "of_all", "with": [[level, name], ...]}, ...]    of every horse that stands out
groups    [{"level", "name", "kind", "way", "off", "since", "last", "read", "beyond", "nearness", "new",
           "or_else": [level, name]}, ...]    most pressing first
missed    [{"horse", "kind", "days", "usual", "never"}, ...]    longest first
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

FEWEST: Final = 40
"""A kind with fewer readings in a year is not watched."""
ALL: Final = 10_000


def watched_on(read: YardReadings, day: date, budget: Budget | None = None) -> dict[str, Any]:
    """Return what is found on a day in every kind that is read often enough.

    Args:
        read: the readings of the year up to it.
        day: the day.
        budget: how much the yard can look at in vain; as `Budget` has it where it is None.
    """
    kind = read.readings.kind
    kinds = [place for place in range(len(KINDS)) if np.count_nonzero(kind == place) >= FEWEST]
    if not kinds:
        return {"horses": [], "groups": [], "missed": [], "swapped": []}
    told = findings_on(watch(_of_kinds(read, kinds), budget), day.toordinal() - EPOCH, ALL, read.here)
    return _plain(read, told, [KINDS[place].name for place in kinds])


def _of_kinds(read: YardReadings, kinds: list[int]) -> Readings:
    """Return the readings of some kinds, numbered by their places among these."""
    part = read.readings.where(np.isin(read.readings.kind, kinds))
    return replace(part, kind=np.searchsorted(kinds, part.kind), kinds=tuple(KINDS[place] for place in kinds))


def _plain(read: YardReadings, told: Findings, kinds: list[str]) -> dict[str, list[dict[str, Any]]]:
    return {
        "horses": [_horse(read, one, kinds[one.kind]) for one in told.horses],
        "groups": [_group(read, one, kinds[one.kind]) for one in told.groups],
        "missed": [
            {
                "horse": read.horses[one.horse],
                "kind": kinds[one.kind],
                "days": one.days,
                "usual": round(one.usual, 1),
                "never": one.never,
            }
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
