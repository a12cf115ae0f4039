"""Clocked work: what is ordered of a morning to be clocked, over which marks, and what was clocked on a day."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from upsides.books.diary.clocked import INSTRUCTION_OF, Clocked
from upsides.books.diary.work import FAST, Ordered
from upsides.books.models import Gallop, Horse, Person
from upsides.books.queries import moments, names
from upsides.books.queries.days import entries_of
from upsides.books.queries.diary import Written, written
from upsides.books.queries.lots import orders
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.trade.units import FURLONG_M


@dataclass(frozen=True, slots=True)
class Runner:
    """A horse of a work.

    Args:
        horse: its number.
        name: its name.
        rider: number of the person, None where none is ordered.
        instruction: of `INSTRUCTIONS`.
    """

    horse: int
    name: str
    rider: int | None
    instruction: str


@dataclass(frozen=True, slots=True)
class Work:
    """A work that is ordered: one horse, or two upsides.

    Args:
        lot: which lot, None for none.
        gallop: its number, None where none is ordered.
        furlongs: how far at that pace, None where nothing is said.
        exercise: of `EXERCISES`.
        runners: one or two.
    """

    lot: int | None
    gallop: int | None
    furlongs: float | None
    exercise: str
    runners: tuple[Runner, ...]


def works(moment: Moment, day: date) -> list[Work]:
    """Return the canters and works of a day: those upsides first, of them fast ones first, by lot and place."""
    read = {number: Ordered.kept_as(entry.values) for number, entry in orders(moment, day).items()}
    ridden = {number: order for number, order in read.items() if order.exercise in INSTRUCTION_OF}
    called = moments.names(Horse, moment, ridden)
    found, done = [], set[int]()
    for number in sorted(ridden.keys() & called.keys(), key=lambda one: _rank(ridden[one])):
        if number in done:
            continue
        pair = (number, *_partner(number, ridden, done | (ridden.keys() - called.keys())))
        done |= set(pair)
        found.append(_work(ridden[number], tuple(_runner(one, ridden, called) for one in pair)))
    return sorted(found, key=lambda work: len(work.runners) == 1)


def marks(moment: Moment) -> dict[int, list[float]]:
    """Return where each gallop in use can be clocked, metres from its start: at its marks, else at furlongs."""
    used = moments.rows(Gallop, moment).filter(used=True)
    return {gallop.pk: _marks(gallop.marks, gallop.length_m or 0) for gallop in used}


def weights(moment: Moment) -> dict[int, float]:
    """Return what those who ride weigh, kg, by number of the person; without those of whom it is not known."""
    riders = [number for number, _, roles in names.people(moment) if "rider" in roles]
    known = moments.rows(Person, moment).filter(id__in=riders, weight_kg__gt=0)
    return dict(known.values_list("id", "weight_kg"))  # type: ignore[arg-type]  # those without are left out


def clocked_on(moment: Moment, day: date, who: Visitor) -> list[tuple[Written, Clocked]]:
    """Return what was clocked on a day and stands, the last first."""
    found = entries_of(moment, ["clocked"], day, day).select_related("author")
    rows = written(reversed(found), moment, who)
    return [(row, Clocked.kept_as(row.entry.values)) for row in rows]


def _marks(known: Sequence[float], length_m: float) -> list[float]:
    if known:
        return [float(metres) for metres in known if metres > 0]
    return [round(n * FURLONG_M, 1) for n in range(1, int(length_m / FURLONG_M + 0.01) + 1)]


def _rank(order: Ordered) -> tuple[float, ...]:
    far = 10**6
    return (order.exercise not in FAST, order.lot or far, order.place or far)


def _partner(number: int, ridden: Mapping[int, Ordered], done: set[int]) -> tuple[int, ...]:
    """Return the horse that one works with, as a tuple; none where it works alone or its partner has one already."""
    beside = (other for other in ridden[number].upsides if other in ridden and other not in done and other != number)
    return tuple(beside)[:1]


def _runner(number: int, ridden: Mapping[int, Ordered], called: Mapping[int | None, str]) -> Runner:
    order = ridden[number]
    return Runner(number, called[number], order.rider, INSTRUCTION_OF[order.exercise])


def _work(order: Ordered, runners: tuple[Runner, ...]) -> Work:
    lot = None if order.lot is None else int(order.lot)
    return Work(lot, order.gallop, order.furlongs, order.exercise, runners)
