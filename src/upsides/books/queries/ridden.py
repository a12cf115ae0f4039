"""What was said after races, as the model of trips takes it: the trip that a horse wants, and whether it was asked."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from pathlib import Path

import polars as pl

from upsides.books import clock
from upsides.books.diary.raced import RaceReport
from upsides.books.models import Engagement, Horse
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import starts_of, state_of
from upsides.books.queries.told_of_runs import UNASKED
from upsides.errors import UpsidesError

Ridden = tuple[tuple[tuple[float, str], ...], tuple[date, ...]]
"""Metres of the race and the trip wanted, race by race; the days of races in which it was not asked."""


def ridden(library: Path, moment: Moment, horses: Iterable[Horse]) -> dict[int, Ridden]:
    """Return what was said of the races of some horses up to a moment, by number of the horse.

    A report counts from the moment it was recorded. How far a race was is known by what the horse was engaged for that
    day, so the same evening, else by the results; a racecourse gallop or a trial by its own report. One of which nobody
    wrote how far it was says nothing here.
    """
    keys = {one.pk: one.horse_key for one in horses}
    rows = moments.entries(moment).filter(kind=RaceReport.name, horse__in=list(keys)).order_by("happened_at", "pk")
    zone = clock.place().zone
    told = [(number, at.astimezone(zone).date(), values) for number, at, values in
            rows.values_list("horse_id", "happened_at", "values")]  # fmt: skip
    raced = {number: keys[number] for number, _day, values in told if values.get("what") == "race"}
    far = _metres(library, moment, raced) if raced else {}
    said: dict[int, list[tuple[float, str]]] = defaultdict(list)
    eased: dict[int, list[date]] = defaultdict(list)
    for number, day, values in told:
        race = values.get("what") == "race"
        metres = far.get((number, day)) if race else values.get("metres")
        if values.get("wants") and metres:
            said[number].append((float(metres), values["wants"]))
        if race and values.get("asked") in UNASKED:
            eased[number].append(day)
    return {number: (tuple(said[number]), tuple(eased[number])) for number in {*said, *eased}}


def _metres(library: Path, moment: Moment, keys: dict[int, str]) -> dict[tuple[int, date], float]:
    """Return how far each race was, by number of the horse and day."""
    found: dict[tuple[int, date], float] = {}
    numbers = {key: number for number, key in keys.items()}
    try:  # the starts of all that the books ever held are read once, whichever of them are asked for
        starts = starts_of(state_of(library), frozenset(Horse.objects.values_list("horse_key", flat=True)))
        starts = starts.filter(pl.col("date") < moment.day, pl.col("horse_key").is_in(list(numbers)))
        for key, day, metres in starts.select("horse_key", "date", "distance_m").drop_nulls().iter_rows():
            found[numbers[key], day] = metres
    except UpsidesError:
        pass
    rows = moments.rows(Engagement, moment).filter(horse__in=list(keys), day__lte=moment.day, distance_m__isnull=False)
    rows = rows.exclude(state=Engagement.State.WITHDRAWN)
    meant = {(number, day): float(metres) for number, day, metres in
             rows.values_list("horse_id", "day", "distance_m") if metres is not None}  # fmt: skip
    return meant | found
