"""Tomorrow's list by default: what is planned for each horse, or what it usually does on such a day.

Either holds as far as nothing stands against it. Planned is what tonight's plan has for the day, but no fast work after
fast work on the day before, which the plan may not have known. The usual is what it did most often on that weekday of
the last four weeks, fast work, stalls and races left out: those are ordered anew each time. Lot, place and rider are
those of its last order under a rider; where that rider is away the horse has its usual one, if he is free in that lot.
The gallop is the plan's, else that of this order where it did the same, else the one that such work mostly went to.
Those that work upsides go in one lot, beside each other, to one gallop.
"""

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Final

from upsides.books.diary.work import ALLOWED, EXERCISES, FAST, UNRIDDEN, Ordered
from upsides.books.models import Entry
from upsides.books.queries import moments
from upsides.books.queries.advice import Advised, advice
from upsides.books.queries.days import entries_of
from upsides.books.queries.deadlines import runners
from upsides.books.queries.gallops_gone import gallops_gone_to
from upsides.books.queries.lots import closed_gallops, done_on, orders
from upsides.books.queries.moments import Moment
from upsides.books.queries.pairs import in_pairs
from upsides.books.queries.string_plan import planned_orders

WEEKS: Final = 4
RECENT: Final = 14
"""Days in which a horse's last order is looked for."""
ANEW: Final = FAST | {"stalls"}
"""Exercises that are never taken over from another day."""
WITHOUT_HISTORY: Final = "walk"


def usual(moment: Moment, day: date, away: Mapping[int, str]) -> dict[int, Ordered]:
    """Return what would be ordered for a day if nothing were changed, of every horse in training on it, by its number.

    Args:
        moment: when to look from.
        day: the day that is planned.
        away: who does not work that day, by number of the person.
    """
    string = [horse.pk for horse in moments.in_training(replace(moment, day=day))]
    did = _did(moment, day, string)
    last = {number: Ordered.kept_as(entry.values) for number, entry in _last(moment, day, string).items()}
    held, raced = advice(moment, day), done_on(moment, day - timedelta(days=1))
    runs, planned = {one.horse.pk for one in runners(moment, day, day)}, planned_orders(moment, day)
    went = gallops_gone_to(moment, closed_gallops(moment, day)) if planned else {}
    found = {}
    for number in string:
        ran = number in raced and raced[number].exercise == "race"
        exercise = "race" if number in runs else "walk" if ran else did.get(number, WITHOUT_HISTORY)
        own = planned.get(number)
        spent = number in raced and raced[number].exercise in FAST
        if own is None or number in runs or ran or (spent and own.exercise in FAST):
            own = Ordered(exercise)
        allowed = _allowed(own.exercise, held.get(number))
        found[number] = _ordered(own if allowed == own.exercise else Ordered(allowed), last.get(number), away, went)
    there = {number: Ordered.kept_as(entry.values) for number, entry in orders(moment, day).items()}
    return in_pairs(_ridden(found, usual_riders(moment, day, string), away), there)


def _ridden(found: Mapping[int, Ordered], own: Mapping[int, int], away: Mapping[int, str]) -> dict[int, Ordered]:
    """Return orders in which a horse whose last rider is away has its usual one, if he is there and free in its lot."""
    busy = {(one.lot, one.rider) for one in found.values() if one.rider is not None}
    orders = dict(found)
    for number, one in found.items():
        rider = own.get(number)
        if one.lot is None or one.rider is not None or rider is None or rider in away or (one.lot, rider) in busy:
            continue
        orders[number] = replace(one, rider=rider)
        busy.add((one.lot, rider))
    return orders


def filled_in(moment: Moment, day: date, horse: int, wanted: Ordered, away: Mapping[int, str]) -> Ordered:
    """Return what a horse shall do on a day with lot, place, rider and gallop as the list of that day would have them.

    Args:
        moment: when to look from.
        day: the day that it is for.
        horse: number of the horse.
        wanted: what it shall do.
        away: as of `usual`.
    """
    last = _last(moment, day, [horse]).get(horse)
    went = gallops_gone_to(moment, closed_gallops(moment, day))
    return _ordered(wanted, Ordered.kept_as(last.values) if last else None, away, went)


def _last(moment: Moment, day: date, string: list[int]) -> dict[int, Entry]:
    """Return the last order of each horse under a rider: on a day off nobody says lot or rider."""
    found = entries_of(moment, ["ordered"], day - timedelta(days=RECENT), day - timedelta(days=1), string)
    ridden = (entry for entry in found if entry.values["exercise"] not in UNRIDDEN | {"race"})
    return {entry.horse_id: entry for entry in ridden if entry.horse_id is not None}


def _did(moment: Moment, day: date, string: list[int]) -> dict[int, str]:
    """Return the usual exercise of each horse on that weekday, and where it has none, of the last fortnight."""
    same: dict[int, Counter[str]] = {}
    any_day: dict[int, Counter[str]] = {}
    first, wanted = day - timedelta(days=7 * WEEKS), set(string)
    zone_days = entries_of(moment, ["exercise"], first, day - timedelta(days=1)).values_list(
        "horse", "happened_at", "values"
    )
    for horse, at, values in zone_days:
        exercise = values["exercise"]
        if horse in wanted and exercise not in ANEW:
            any_day.setdefault(horse, Counter())[exercise] += 1
            if (day - at.date()).days % 7 == 0:
                same.setdefault(horse, Counter())[exercise] += 1
    return {horse: (same.get(horse) or counts).most_common(1)[0][0] for horse, counts in any_day.items()}


def _allowed(exercise: str, held: Advised | None) -> str:
    """Return the exercise, or the most that the vet's advice leaves open where that is less."""
    if held is None or held.allows(exercise):
        return exercise
    return [one for one in EXERCISES if one in ALLOWED[held.finding.advice or "as_usual"]][-1]


def _ordered(wanted: Ordered, last: Ordered | None, away: Mapping[int, str], went: Mapping[str, int]) -> Ordered:
    if wanted.exercise in UNRIDDEN or wanted.exercise == "race":
        return wanted
    same = last is not None and last.exercise == wanted.exercise
    gallop = next((one for one in (wanted.gallop, last.gallop if last and same else None) if one is not None), None)
    wanted = replace(wanted, gallop=went.get(wanted.exercise) if gallop is None else gallop)
    if last is None:
        return wanted
    return replace(
        wanted,
        lot=last.lot,
        place=last.place,
        rider=None if last.rider in away else last.rider,
        furlongs=last.furlongs if same and wanted.furlongs is None else wanted.furlongs,
    )


def usual_riders(moment: Moment, day: date, string: Collection[int]) -> dict[int, int]:
    """Return who rode each horse most often in the four weeks before a day, by its number; of two the lower number."""
    rode: dict[int, Counter[int]] = {}
    found = entries_of(moment, ["exercise"], day - timedelta(days=7 * WEEKS), day - timedelta(days=1))
    for horse, values in found.values_list("horse", "values"):
        if horse in string and values.get("rider") is not None:
            rode.setdefault(horse, Counter())[values["rider"]] += 1
    return {horse: min(counts, key=lambda rider: (-counts[rider], rider)) for horse, counts in rode.items()}
