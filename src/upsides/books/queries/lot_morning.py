"""A morning as its planner takes it, gathered from the books: what is ordered, who rides, what stands in the way.

What the books do not say comes from planning/data/lots.toml or the yard's own copy of it, and is said with the plan.
"""

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, time
from math import inf
from pathlib import Path
from typing import Final

from upsides.books.diary.work import UNRIDDEN, Ordered
from upsides.books.models import Gallop, Horse, Person, Post, Role
from upsides.books.queries import moments
from upsides.books.queries.boxes import boxes, in_walking_order
from upsides.books.queries.lots import Against, Ride, lots
from upsides.books.queries.lots_gone import NONE, Gone, gone
from upsides.books.queries.moments import Moment
from upsides.books.queries.staff import at_work
from upsides.books.queries.usual import usual_riders
from upsides.books.queries.young_lots import Barred, barred_lots
from upsides.planning import morning as plans
from upsides.planning.defaults import Defaults, OfHorse, read_defaults
from upsides.planning.prices import SHIPPED, Parts, read_settings
from upsides.rules.working_time import GROWN, age_on

OWN_LOTS: Final = "lots.toml"
"""A copy of planning/data/lots.toml in the library's folder: the yard's own prices, lots, gallops and horses."""
SEX: Final = {"horse": "colt", "colt": "colt", "ridgling": "colt", "filly": "filly", "mare": "filly"}
STOPS: Final = {Against.ADVICE: "advice", Against.GALLOP_CLOSED: "closed"}
"""What keeps a horse out of a plan until its order is changed, in steady words."""
OVER: Final = frozenset({"done", "gone", "out"})
"""Why a horse is not planned where its rider has had that ride."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Prices, limits of the young, and what is assumed where the books say nothing."""

    prices: Parts
    young: plans.Young
    defaults: Defaults
    own: bool


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A horse whose ride is not planned: done, gone, out, advice, closed; or one without `other`: partner.

    Gone is with a lot of which a horse is written as done, out with one that pulled out by the clock.
    """

    horse: int
    why: str
    other: int | None = None


@dataclass(frozen=True)
class Gathered:
    """A day's morning with what its numbers are called.

    Attributes:
        day: the morning.
        morning: for the planner.
        settings: prices, and what is assumed.
        listed: the plan as the day's list has it, those rides that have a lot and a rider.
        rides: of the list, by number of the horse.
        horses, riders, gallops: names by number.
        left_out: horses of the list whose ride is not planned, and why.
        unsaid: names of riders of whom hours, weight or skill are not entered, by which of them.
        gone: which lots have gone out.
        barred: what the law's hours of work and rest keep riders under eighteen from, by their number.
    """

    day: date
    morning: plans.Morning
    settings: Settings
    listed: plans.Plan
    rides: Mapping[int, Ride]
    horses: Mapping[int, str]
    riders: Mapping[int, str]
    gallops: Mapping[int, str]
    left_out: tuple[LeftOut, ...]
    unsaid: Mapping[str, tuple[str, ...]]
    barred: Mapping[int, Barred]
    gone: Gone = NONE


def lot_settings(folder: Path) -> Settings:
    """Return the yard's own settings, or the shipped ones.

    Raises:
        MorningRefusedError: its file cannot be used; what is wrong is named.
    """
    own = (folder / OWN_LOTS).exists()
    path = folder / OWN_LOTS if own else SHIPPED
    return Settings(*read_settings(path), read_defaults(path), own)


def gather(folder: Path, moment: Moment, day: date, also: Collection[int] = ()) -> Gathered:
    """Return the morning of a day as the books have it.

    Args:
        folder: of the library, where the yard's own settings lie.
        moment: when to look from.
        day: the morning.
        also: numbers of people who are taken to ride although they are off.

    Raises:
        MorningRefusedError: the yard's own settings cannot be used.
    """
    settings = lot_settings(folder)
    string = set(moments.in_training(Moment(day, moment.at)).values_list("id", flat=True))
    rides = {ride.horse.pk: ride for lot in lots(moment, day) for ride in lot.rides if ride.horse.pk in string}
    found = {number: ride for number, ride in rides.items() if _ridden(ride.order)}
    left = gone(found.values(), moment, day, settings.defaults)
    out = {number: why for number, ride in found.items() if (why := _out(ride, left))}
    ridden = {number: ride for number, ride in found.items() if number not in out}
    done = Counter((found[number].done or found[number].order).rider for number in out if out[number] in OVER)
    where = _gallops(ridden)
    partners, lone = _partners(ridden, where)
    riders, unsaid, young = _riders(moment, day, settings.young, done, also)
    last = max((int(ride.order.lot) for ride in found.values() if ride.order.lot is not None), default=0)
    numbers = [number for number in range(1, max(last, settings.defaults.count) + 1) if number not in left.lots]
    lots_of_day = tuple(settings.defaults.lot(number) for number in numbers)
    barred = barred_lots(folder, moment, day, young, lots_of_day)
    riders = [replace(one, barred=barred[one.number].lots) if one.number in barred else one for one in riders]
    names = _gallop_names(moment, ridden)
    listed = _listed(ridden)
    return Gathered(
        day,
        plans.Morning(
            _horses(moment, day, settings, ridden, where, partners),
            tuple(riders),
            lots_of_day,
            tuple(_gallop(number, name, settings.defaults) for number, name in sorted(names.items())),
            settings.young,
            stands=listed if day <= moment.day and listed.rides else None,
        ),
        settings,
        listed,
        rides,
        {number: ride.horse.name for number, ride in rides.items()},
        _people(moment, {one.number for one in riders} | {ride.rider for ride in listed.rides if ride.rider}),
        names,
        (*(LeftOut(number, why) for number, why in out.items()), *lone),
        unsaid,
        barred,
        left,
    )


def _ridden(order: Ordered) -> bool:
    return order.exercise not in UNRIDDEN and order.exercise != "race"


def _out(ride: Ride, left: Gone) -> str:
    """Return why a horse is not planned, empty where it is; with one horse of a lot done its others are out too."""
    if ride.done is not None:
        return "done"
    if ride.order.lot in left.lots:
        return "gone" if ride.order.lot in left.written else "out"
    return next((STOPS[one] for one in ride.against if one in STOPS), "")


def _gallops(ridden: Mapping[int, Ride]) -> dict[int, int | None]:
    """Return where each horse goes: as is said, else with those that it works with."""
    where = {number: ride.order.gallop for number, ride in ridden.items()}
    beside = {(one, other) for one, ride in ridden.items() for other in ride.order.upsides if other in ridden}
    both = sorted(beside | {(other, one) for one, other in beside})
    while unsaid := [(one, other) for one, other in both if where[one] is None and where[other] is not None]:
        where[unsaid[0][0]] = where[unsaid[0][1]]
    return where


def _partners(
    ridden: Mapping[int, Ride], where: Mapping[int, int | None]
) -> tuple[dict[int, tuple[int, ...]], list[LeftOut]]:
    """Return with whom each horse works, and of whom that cannot be: not ridden that day, or on another gallop.

    Of two that cannot work together it is told once.
    """
    kept: dict[int, tuple[int, ...]] = {}
    lone: dict[frozenset[int], LeftOut] = {}
    for number, ride in ridden.items():
        others = [other for other in ride.order.upsides if other != number]
        kept[number] = tuple(one for one in others if one in ridden and where[one] == where[number])
        for other in others:
            if other not in kept[number]:
                lone.setdefault(frozenset((number, other)), LeftOut(number, "partner", other))
    return kept, list(lone.values())


def _horses(
    moment: Moment,
    day: date,
    settings: Settings,
    ridden: Mapping[int, Ride],
    where: Mapping[int, int | None],
    partners: Mapping[int, tuple[int, ...]],
) -> tuple[plans.Horse, ...]:
    usual = usual_riders(moment, day, ridden.keys())
    defaults = settings.defaults
    walked = in_walking_order([ride.horse for ride in ridden.values()], boxes(Moment(day, moment.at)))
    return tuple(
        _horse(
            horse,
            place,
            ridden[horse.pk],
            where[horse.pk],
            partners[horse.pk],
            usual.get(horse.pk),
            defaults,
        )
        for place, horse in enumerate(walked)
    )


def _horse(
    horse: Horse,
    place: int,
    ride: Ride,
    gallop: int | None,
    partners: tuple[int, ...],
    usual: int | None,
    defaults: Defaults,
) -> plans.Horse:
    asks = max((one.skill for one in ride.cautions), default=0)
    own = defaults.horses.get(horse.name, OfHorse())
    heaviest = min((one.heaviest_kg for one in ride.cautions if one.heaviest_kg is not None), default=inf)
    return plans.Horse(
        horse.pk,
        ride.order.exercise,
        gallop,
        partners,
        asks,
        heaviest if own.carries_kg is None else own.carries_kg,
        SEX.get(horse.sex, "gelding"),
        any(one.apart for one in ride.cautions) if own.apart is None else own.apart,
        place,
        usual,
        defaults.points[asks],
        own.saddle,
        ride.order.exercise in defaults.walker,
        tuple(one.apart_from_id for one in ride.cautions if one.apart_from_id is not None),
        frozenset(one.not_by_id for one in ride.cautions if one.not_by_id is not None),
        horse.name,
    )


def _riders(
    moment: Moment, day: date, young: plans.Young, done: Counter[int | None], also: Collection[int]
) -> tuple[list[plans.Rider], dict[str, tuple[str, ...]], dict[int, date]]:
    """Return who rides on a day, of whom something is not entered, and when the young were born.

    Without known hours one is taken to be there.
    """
    posts = set(moments.rows(Post, moment).filter(role=Role.RIDER).values_list("person", flat=True))
    there: dict[int, tuple[tuple[int, int], ...]] = {}
    for worker in at_work(moment, day):
        spans = tuple((_minute(one.starts), _minute(one.ends)) for one in worker.days[0].spans if one.rides)
        rides = worker.number in posts and not worker.known and not worker.days[0].away
        if spans or rides or worker.number in also:
            there[worker.number] = spans or plans.ALL_DAY
    people = moments.rows(Person, moment).filter(id__in=there)
    rows = sorted(people.values_list("id", "name", "born", "weight_kg", "skill"))
    unsaid = {
        "hours": tuple(name for number, name, *_ in rows if there[number] == plans.ALL_DAY),
        "weight": tuple(name for _, name, _, weight, _ in rows if weight is None),
        "skill": tuple(name for _, name, _, _, skill in rows if not skill),
        "born": tuple(name for _, name, born, _, _ in rows if born is None),
    }
    births = {number: born for number, _, born, *_ in rows if born is not None and age_on(born, day) < GROWN}
    found = []
    for number, name, _born, weight, skill in rows:
        is_young = number in births
        most = (young.lots if is_young else plans.Rider(0).most) - done[number]
        found.append(plans.Rider(number, weight, skill, there[number], None, is_young, max(most, 0), name=name))
    return found, unsaid, births


def _minute(at: time) -> int:
    return at.hour * 60 + at.minute


def _gallop(number: int, name: str, defaults: Defaults) -> plans.Gallop:
    return plans.Gallop(number, defaults.gallops.get(name, defaults.gallop_most), name)


def _gallop_names(moment: Moment, ridden: Mapping[int, Ride]) -> dict[int, str]:
    found = moments.names(Gallop, moment, (ride.order.gallop for ride in ridden.values()))
    return {number: name for number, name in found.items() if number is not None}


def _people(moment: Moment, numbers: Collection[int]) -> dict[int, str]:
    return {number: name for number, name in moments.names(Person, moment, numbers).items() if number is not None}


def _listed(ridden: Mapping[int, Ride]) -> plans.Plan:
    """Return what the list has of lots and riders, places counted anew from 1 in each lot."""
    whole = [one for one in ridden.items() if one[1].order.lot is not None and one[1].order.rider is not None]
    whole.sort(key=lambda one: (one[1].order.lot, one[1].order.place or inf, one[1].horse.name))
    places: Counter[int] = Counter()
    rides = []
    for number, ride in whole:
        lot = int(ride.order.lot or 0)
        places[lot] += 1
        rides.append(plans.Ride(number, lot, ride.order.rider, places[lot]))
    return plans.Plan(tuple(rides))
