"""Horses on the path to the starting stalls: their lessons, where each stands, and what to mind before a race."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf
from pathlib import Path
from typing import Final

from upsides.books import clock
from upsides.books.diary.raced import RaceReport
from upsides.books.diary.work import Exercise as Did
from upsides.books.diary.work import Ordered
from upsides.books.diary.work import Stalls as Taught
from upsides.books.models import Engagement, Horse
from upsides.books.queries.days import entries_of
from upsides.books.queries.diary import Written, open_to, written
from upsides.books.queries.engaged import Engaged, engaged
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import raced, state_of
from upsides.books.queries.visitors import Visitor
from upsides.errors import UpsidesError
from upsides.planning.work.said import Said
from upsides.planning.work.stalls import Lesson, Reminder, Standing, quiet, reminder, standing

LESSONS_FROM: Final = 1000
"""Days back in which lessons at the stalls are looked for."""
AHEAD: Final = 70
"""The next race is looked for in so many days."""


@dataclass(frozen=True, slots=True)
class AtStalls:
    """A horse on the path.

    Args:
        where: on the path.
        lessons: its lessons, the earliest first.
        entries: their rows of the diary, the latest first.
        last_run: when it last ran, None for never.
    """

    where: Standing
    lessons: tuple[Lesson, ...]
    entries: tuple[Written, ...]
    last_run: date | None


def at_stalls_page(library: Path, moment: Moment, horse: Horse, reader: Visitor) -> AtStalls:
    """Return a horse on the path, as a reader may see it."""
    own = lessons(moment, [horse.pk]).get(horse.pk, [])
    ran = last_runs(library, moment, [horse]).get(horse.pk)
    rows = entries_of(moment, [Taught.name], moment.day - timedelta(days=LESSONS_FROM), moment.day, [horse.pk])
    entries = written(list(open_to(reader, rows.select_related("author")))[::-1], moment, reader)
    return AtStalls(standing(own, last_run=ran), tuple(own), tuple(entries), ran)


def next_race(library: Path, moment: Moment, horse: Horse) -> Engaged | None:
    """Return the next race that a horse is entered or declared for, else one that it is meant for; None for none."""
    runs = engaged(library, moment, moment.day, moment.day + timedelta(days=AHEAD), [horse.pk])
    runs = [one for one in runs if one.engagement.state != Engagement.State.WITHDRAWN]
    return min(runs, key=lambda one: (one.engagement.state == Engagement.State.MEANT, one.race.day), default=None)


def reminders(library: Path, moment: Moment, runs: Sequence[Engaged], reader: Visitor) -> dict[int, Reminder]:
    """Return what to mind at the stalls of horses in races, by number of the engagement, as a reader may know it."""
    horses = {one.horse.pk: one.horse for one in runs}
    taught, ran = lessons(moment, horses), last_runs(library, moment, horses.values())
    slow, found = slow_away(moment, ran, reader), {}
    for one in runs:
        number, metres = one.horse.pk, one.race.distance_m or one.engagement.distance_m
        where = standing(taught.get(number, []), last_run=ran.get(number))
        far = inf if metres is None else float(metres)
        said = reminder(where, one.race.day, far, one.race.to_bend_m, ran.get(number), slow_away=number in slow)
        if said is not None:
            found[one.engagement.pk] = said
    return found


def calm(library: Path, moment: Moment, one: Engaged, reader: Visitor) -> Said | None:
    """Return why there is nothing to mind at the stalls of a horse in a race; None where nobody knows how far it is."""
    metres = one.race.distance_m or one.engagement.distance_m
    if metres is None:
        return None
    taught, ran = lessons(moment, [one.horse.pk]), last_runs(library, moment, [one.horse])
    last = standing(taught.get(one.horse.pk, []), last_run=ran.get(one.horse.pk)).last
    slow = bool(slow_away(moment, ran, reader)) or (last is not None and last.broke == "slow")
    return quiet(float(metres), one.race.to_bend_m, straight=one.race.bend == "straight", slow=slow)


def lessons(moment: Moment, horses: Collection[int]) -> dict[int, list[Lesson]]:
    """Return lessons at the stalls by number of the horse, the earliest first.

    One was in company where its entry says so, or where work upsides was written down for stalls that day.
    """
    first, zone = moment.day - timedelta(days=LESSONS_FROM), clock.place().zone
    rows = entries_of(moment, [Taught.name, Did.name, Ordered.name], first, moment.day, horses)
    beside: set[tuple[int, date]] = set()
    taught = []
    for kind, number, at, values in rows.values_list("kind", "horse_id", "happened_at", "values"):
        day = at.astimezone(zone).date()
        if kind == Taught.name:
            taught.append((number, day, Taught.kept_as(values)))
        elif values.get("exercise") == "stalls" and values.get("upsides"):
            beside.add((number, day))
    found = defaultdict(list)
    for number, day, one in taught:
        found[number].append(Lesson(day, frozenset(one.done), one.how, (number, day) in beside, one.broke))
    return dict(found)


def lessons_written(moment: Moment) -> bool:
    """Return whether any lesson at the stalls was written down in this yard."""
    return entries_of(moment, [Taught.name], moment.day - timedelta(days=LESSONS_FROM), moment.day).exists()


def last_runs(library: Path, moment: Moment, horses: Iterable[Horse]) -> dict[int, date]:
    """Return the last day on which horses ran, by number; of a library that cannot be read there is none."""
    keys = frozenset(Horse.objects.values_list("horse_key", flat=True))  # one table for all pages that show starts
    try:
        ran = raced(state_of(library), keys, moment.day)
    except UpsidesError:
        return {}
    return {one.pk: ran[one.horse_key].last["date"] for one in horses if one.horse_key in ran}


def slow_away(moment: Moment, ran: Mapping[int, date], reader: Visitor | None = None) -> set[int]:
    """Return the horses of which somebody said that they were slow away in their last run, as far as a reader may know.

    Args:
        moment: when to look from.
        ran: the last run's day, by number of the horse.
        reader: who reads it; None for the office.
    """
    if not ran:
        return set()
    rows = entries_of(moment, [RaceReport.name], min(ran.values()), moment.day, ran.keys())
    rows = rows if reader is None else open_to(reader, rows)
    zone, found = clock.place().zone, set()
    for number, at, values in rows.values_list("horse_id", "happened_at", "values"):
        if at.astimezone(zone).date() >= ran[number] and "slow_away" in RaceReport.kept_as(values).trouble:
            found.add(number)
    return found
