"""Under what circumstances horses worked: how gallops rode, and how warm it was."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from math import isfinite

from upsides.books import clock
from upsides.books.diary.yard import GallopState, Weather
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment

Goings = Mapping[tuple[int | None, date], str]
Airs = Mapping[date, Sequence[tuple[datetime, float]]]


def goings_of(moment: Moment, first: date) -> Goings:
    """Return how gallops rode, by gallop and day: what the diary says last."""
    zone = clock.place().zone
    found: dict[tuple[int | None, date], str] = {}
    rows = entries_of(moment, [GallopState.name], first, moment.day)
    for gallop, at, values in rows.values_list("gallop_id", "happened_at", "values"):
        if values.get("going"):
            found[gallop, at.astimezone(zone).date()] = values["going"]
    return found


def airs_of(moment: Moment, first: date) -> Airs:
    """Return how warm the diary says that it was, by day: when, and degrees Celsius."""
    zone = clock.place().zone
    found: dict[date, list[tuple[datetime, float]]] = {}
    rows = entries_of(moment, [Weather.name], first, moment.day)
    for at, values in rows.values_list("happened_at", "values"):
        found.setdefault(at.astimezone(zone).date(), []).append((at, values["air"]))
    return found


def air_at(airs: Airs, day: date, start_s: float, own_c: float | None) -> float | None:
    """Return how warm it was: what the diary says nearest in time that day, else the device's own thermometer.

    Args:
        airs: what the diary says.
        day: the day.
        start_s: when the work began, seconds since 1970.
        own_c: what the device read, degrees Celsius; None or NaN without one.
    """
    if day in airs:
        return min(airs[day], key=lambda one: abs(one[0].timestamp() - start_s))[1]
    return own_c if own_c is not None and isfinite(own_c) else None
