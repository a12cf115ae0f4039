"""The lots of a morning: what was ordered for each horse, what was done, and what stands in the way of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from math import inf

from upsides.books.diary.work import FAST, UNRIDDEN, Exercise, Ordered
from upsides.books.diary.yard import GallopState
from upsides.books.models import Caution, Entry, Gallop, Horse, Person
from upsides.books.queries import moments
from upsides.books.queries.advice import Advised, advice
from upsides.books.queries.boxes import Stood, boxes
from upsides.books.queries.days import day_span, entries_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.pairs import same_work


class Against(StrEnum):
    """What may stand in the way of an order."""

    ADVICE = "advice"
    RIDER_AWAY = "rider_away"
    RIDER_TWICE = "rider_twice"
    NO_RIDER = "no_rider"
    SKILL = "skill"
    WEIGHT = "weight"
    NOT_BY = "not_by"
    GALLOP_CLOSED = "gallop_closed"
    RAN_YESTERDAY = "ran_yesterday"
    FAST_TWICE = "fast_twice"
    PARTNER = "partner"


@dataclass(frozen=True, slots=True)
class Ride:
    """One horse in one morning.

    Args:
        horse: its row of the books.
        stood: its box, None for none.
        order: what was ordered.
        entry: the entry that orders it.
        rider: name of the rider, empty for none.
        gallop: name of the gallop, empty for none.
        company: names of those that it works with.
        otherwise: of those the names of horses that are ordered another exercise or distance.
        done: what it did, None where nothing was written yet.
        done_by: name of who rode it then, empty for none.
        done_on: name of the gallop then, empty for none.
        anew: the order that was replaced after the horse was done or after that day, None for none.
        mended: the entry of what it did that was corrected since, None for none.
        against: what stands in the way.
        advised: the vet's advice that holds, None for none.
        cautions: what whoever rides it must know.
    """

    horse: Horse
    stood: Stood | None
    order: Ordered
    entry: Entry
    rider: str
    gallop: str
    company: tuple[str, ...]
    done: Exercise | None
    against: tuple[Against, ...]
    advised: Advised | None
    cautions: tuple[Caution, ...]
    done_by: str = ""
    done_on: str = ""
    anew: Entry | None = None
    mended: Entry | None = None
    otherwise: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Unasked:
    """What a horse did without an order.

    Args:
        horse: its row of the books.
        done: what it did.
        rider, gallop: names, empty for none.
    """

    horse: Horse
    done: Exercise
    rider: str
    gallop: str


@dataclass(frozen=True, slots=True)
class Lot:
    """Horses that go out together.

    Args:
        number: which lot, None for those that go out in none.
        rides: in string order, those without a place last by name.
    """

    number: int | None
    rides: tuple[Ride, ...]

    @property
    def out(self) -> bool:
        """Return whether something was written of every horse of the lot."""
        return all(ride.done is not None for ride in self.rides)


def orders(moment: Moment, day: date) -> dict[int, Entry]:
    """Return what was ordered for a day, the last word of each horse, by its number."""
    return _last(moment, "ordered", day)


def done_on(moment: Moment, day: date) -> dict[int, Exercise]:
    """Return what each horse did on a day, the last that was written, by its number."""
    return {number: Exercise.kept_as(entry.values) for number, entry in _last(moment, "exercise", day).items()}


def _last(moment: Moment, kind: str, day: date) -> dict[int, Entry]:
    found = entries_of(moment, [kind], day, day).select_related("supersedes")
    return {entry.horse_id: entry for entry in found if entry.horse_id is not None}


def lots(moment: Moment, day: date, away: Mapping[int, str] | None = None) -> list[Lot]:
    """Return the lots of a day in order, those that go out in none last.

    Args:
        moment: when to look from.
        day: the morning.
        away: who does not work that day, by number of the person.
    """
    ordered = orders(moment, day)
    horses = {horse.pk: horse for horse in moments.rows(Horse, moment).filter(id__in=ordered)}
    read = {number: Ordered.kept_as(entry.values) for number, entry in ordered.items() if number in horses}
    wrote = _last(moment, "exercise", day)
    done = {number: Exercise.kept_as(entry.values) for number, entry in wrote.items()}
    names = _Names(moment, read, done)
    stands, held = boxes(Moment(day, moment.at)), advice(moment, day)
    before = done_on(moment, day - timedelta(days=1))
    closed, cautions = closed_gallops(moment, day), cautions_on(moment, day)
    twice = _twice(read)
    rides = []
    for number, order in read.items():
        own, did, entry = cautions.get(number, ()), done.get(number), wrote.get(number)
        against = [
            *_against_horse(order, held.get(number), before.get(number)),
            *_against_rider(order, own, names.people, away or {}, twice),
            *([Against.GALLOP_CLOSED] if order.gallop in closed else []),
            *([Against.PARTNER] if _parted(order, read) else []),
        ]
        rides.append(
            Ride(
                horses[number],
                stands.get(number),
                order,
                ordered[number],
                names.person(order.rider),
                names.gallops.get(order.gallop, ""),
                tuple(names.horses.get(other, "") for other in order.upsides),
                did,
                tuple(against),
                held.get(number),
                own,
                names.person(did.rider) if did else "",
                names.gallops.get(did.gallop, "") if did else "",
                replaced_late(ordered[number], day, entry),
                entry.supersedes if entry else None,
                names.called(other for other in order.upsides if _otherwise(order, read.get(other))),
            )
        )
    return _by_lot(rides)


def replaced_late(ordered: Entry, day: date, done: Entry | None) -> Entry | None:
    """Return the order that stood when a horse was done, or when its day ended, where it was replaced since."""
    limit = day_span(day)[1] if done is None else min(day_span(day)[1], _first_of(done).recorded_at)
    before = ordered
    while before.supersedes is not None and before.recorded_at > limit:
        before = before.supersedes
    return None if before is ordered else before


def _first_of(entry: Entry) -> Entry:
    while entry.supersedes is not None:
        entry = entry.supersedes
    return entry


def unasked(moment: Moment, day: date) -> list[Unasked]:
    """Return what horses did on a day without an order for it, by name."""
    ordered = orders(moment, day)
    done = {number: one for number, one in done_on(moment, day).items() if number not in ordered}
    horses = moments.rows(Horse, moment).filter(id__in=done)
    names = _Names(moment, {}, done)
    found = [
        Unasked(horse, done[horse.pk], names.person(done[horse.pk].rider), names.gallops.get(done[horse.pk].gallop, ""))
        for horse in horses
    ]
    return sorted(found, key=lambda one: (one.done.lot or inf, one.horse.name.casefold()))


def closed_gallops(moment: Moment, day: date) -> set[int]:
    """Return the gallops that are closed by the last word of the day or the day before."""
    found = entries_of(moment, ["gallop_state"], day - timedelta(days=1), day)
    last = {entry.gallop_id: GallopState.kept_as(entry.values) for entry in found if entry.gallop_id is not None}
    return {number for number, state in last.items() if state.state == "closed"}


def cautions_on(moment: Moment, day: date) -> dict[int, tuple[Caution, ...]]:
    """Return the cautions that hold on a day, by number of the horse."""
    found: dict[int, tuple[Caution, ...]] = {}
    for one in moments.rows(Caution, moment).filter(first_day__lte=day):
        if one.last_day is None or one.last_day >= day:
            found[one.horse_id] = (*found.get(one.horse_id, ()), one)
    return found


class _Names:
    """People, gallops and horses that orders and what was done name."""

    def __init__(self, moment: Moment, orders: Mapping[int, Ordered], done: Mapping[int, Exercise]) -> None:
        both: list[Ordered | Exercise] = [*orders.values(), *done.values()]
        riders = {one.rider for one in both if one.rider is not None}
        self.people = {person.pk: person for person in moments.rows(Person, moment).filter(id__in=riders)}
        self.gallops = moments.names(Gallop, moment, (one.gallop for one in both))
        self.horses = moments.names(Horse, moment, (other for order in orders.values() for other in order.upsides))

    def called(self, horses: Iterable[int]) -> frozenset[str]:
        return frozenset(self.horses[one] for one in horses if one in self.horses)

    def person(self, number: int | None) -> str:
        return self.people[number].name if number in self.people else ""


def _twice(orders: Mapping[int, Ordered]) -> set[tuple[int | None, float | None]]:
    """Return riders and lots that have more than one horse."""
    pairs = [(order.rider, order.lot) for order in orders.values() if order.rider is not None and order.lot is not None]
    return {pair for pair in pairs if pairs.count(pair) > 1}


def _against_horse(order: Ordered, held: Advised | None, before: Exercise | None) -> list[Against]:
    found = [Against.ADVICE] if held is not None and not held.allows(order.exercise) else []
    if before is not None and order.exercise in FAST and before.exercise in FAST:
        found.append(Against.RAN_YESTERDAY if before.exercise == "race" else Against.FAST_TWICE)
    return found


def _otherwise(order: Ordered, other: Ordered | None) -> bool:
    return other is not None and not same_work(order, other)


def _parted(order: Ordered, orders: Mapping[int, Ordered]) -> bool:
    """Return whether a horse that another works with is not ridden that day, or in another lot or on another gallop."""
    there = [orders.get(other) for other in order.upsides if order.exercise not in UNRIDDEN]
    return any(
        one is None
        or one.exercise in UNRIDDEN | {"race"}
        or one.lot != order.lot
        or (one.gallop != order.gallop and None not in {one.gallop, order.gallop})
        for one in there
    )


def _against_rider(
    order: Ordered,
    cautions: tuple[Caution, ...],
    people: Mapping[int, Person],
    away: Mapping[int, str],
    twice: set[tuple[int | None, float | None]],
) -> list[Against]:
    if order.exercise in UNRIDDEN or order.exercise == "race":
        return []
    if order.rider is None:
        return [Against.NO_RIDER] if order.lot is not None else []
    found = []
    rider = people.get(order.rider)
    wanted = max((one.skill for one in cautions), default=0)
    if order.rider in away:
        found.append(Against.RIDER_AWAY)
    if (order.rider, order.lot) in twice:
        found.append(Against.RIDER_TWICE)
    if rider is not None and wanted and 0 < rider.skill < wanted:
        found.append(Against.SKILL)
    weights = [one.heaviest_kg for one in cautions if one.heaviest_kg is not None]
    if rider is not None and rider.weight_kg is not None and weights and rider.weight_kg > min(weights):
        found.append(Against.WEIGHT)
    if order.rider in {one.not_by_id for one in cautions}:
        found.append(Against.NOT_BY)
    return found


def _by_lot(rides: list[Ride]) -> list[Lot]:
    numbers = sorted({int(ride.order.lot) for ride in rides if ride.order.lot is not None})
    found = [Lot(number, _in_order([ride for ride in rides if ride.order.lot == number])) for number in numbers]
    alone = _in_order([ride for ride in rides if ride.order.lot is None])
    return [*found, Lot(None, alone)] if alone else found


def _in_order(rides: list[Ride]) -> tuple[Ride, ...]:
    far = 10**6
    return tuple(sorted(rides, key=lambda ride: (ride.order.place or far, ride.horse.name.casefold())))
