"""What horses did day by day, from all that the books and the library hold of it."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import nan
from pathlib import Path
from typing import Final

import polars as pl

from upsides.books import clock
from upsides.books.diary.clocked import Clocked
from upsides.books.diary.work import UNRIDDEN, Ordered
from upsides.books.diary.work import Exercise as Did
from upsides.books.models import Horse, Move, Outing
from upsides.books.outings import read
from upsides.books.queries import moments
from upsides.books.queries.condition_answers import usual_exercises
from upsides.books.queries.days import entries_of, told_in
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import starts_of, state_of
from upsides.books.queries.uncollected import uncollected
from upsides.condition.done.dates import Dates
from upsides.condition.done.days import Days
from upsides.condition.done.gathering import Outing as Tracked
from upsides.condition.done.gathering import Run, Said, gather, swims_of, tracked_rows, worked_on
from upsides.condition.done.summary import Yard, yard_of
from upsides.errors import UpsidesError
from upsides.recordings.stopwatch import sections
from upsides.recordings.work import Split, Work
from upsides.trade.units import FURLONG_M

LOOKED_BACK: Final = 1200
"""So many days of work are read: lay-ups of years ago say nothing."""
BESIDES: Final = UNRIDDEN - {"off", "box"}
"""Exercises that are done apart from the ridden outing, unless the yard's own table says otherwise."""
UNTIMED: Final = timedelta(minutes=30)
"""How long an outing is taken to last of which no file says when it ended."""


@dataclass(frozen=True, slots=True, eq=False)
class DoneByHorses:
    """What horses did.

    Args:
        yard: laid out for sums, horses in the order of `horses`.
        horses: their numbers.
        ran: the days on which each ran, by number, earliest first.
    """

    yard: Yard
    horses: tuple[int, ...]
    ran: Mapping[int, tuple[tuple[date, float], ...]]

    def place(self, horse: int) -> int:
        """Return a horse's place in the yard's sums."""
        return self.horses.index(horse)


@uncollected()
def done_by(library: Path, moment: Moment, horses: Sequence[Horse]) -> DoneByHorses:
    """Return what horses did up to a moment's day."""
    numbers = tuple(horse.pk for horse in horses)
    first = moment.day - timedelta(days=LOOKED_BACK)
    outings = tracked_of(moment, numbers, first)
    works, zone = _clocked(moment, numbers, first), clock.place().zone
    clocked = {(one.horse, one.when.astimezone(zone).date()) for one in works}
    comes_to = usual_exercises(library, moment)
    besides = {name for name, one in comes_to.exercises.items() if one.besides}
    said = said_of(moment, numbers, first, besides, clocked)
    runs = _runs(library, moment, horses)
    measured = {(one.horse, one.day) for one in outings}
    thumbs = [one for one in works if (one.horse, one.when.astimezone(zone).date()) not in measured]
    tracked = tracked_rows(numbers, outings)
    rows = gather(numbers, comes_to, zone, outings=tracked, works=thumbs, said=said, runs=runs)
    worked = worked_on(numbers, comes_to, zone, outings=tracked, works=thumbs, said=said, runs=runs)
    at = {number: place for place, number in enumerate(numbers)}
    ran = Dates.of([at[one.horse] for one in runs], [one.day.toordinal() for one in runs])
    known = _known_from(horses, [*((one.horse, one.day) for one in outings), *((one.horse, one.day) for one in said)])
    entered = _entered(moment, horses)
    yard = yard_of(Days.of(rows), ran, entered, known, swims_of(numbers, said), worked)
    by_horse = {
        number: tuple(sorted((one.day, one.metres) for one in runs if one.horse == number)) for number in numbers
    }
    return DoneByHorses(yard, numbers, by_horse)


def tracked_of(moment: Moment, horses: Collection[int], first: date) -> list[Tracked]:
    """Return what trackers measured; of two recordings of the same time the one that shows more."""
    rows = moments.standing(Outing, moment).filter(horse__in=horses, day__range=(first, moment.day))
    told = rows.order_by("-metres", "pk").values_list("horse_id", "day", "began", "recorded__ended", "measured__speeds")
    taken: dict[tuple[int, date], list[tuple[datetime, datetime]]] = {}
    found = []
    for horse, day, began, ended, speeds in told:
        span = (began, ended or began + UNTIMED)
        others = taken.setdefault((horse, day), [])
        if all(span[1] <= other[0] or other[1] <= span[0] for other in others):
            others.append(span)
            found.append(Tracked(horse, day, read({"speeds": speeds or {}}).speeds))
    return found


def with_exercises(moment: Moment, outings: Sequence[Tracked], first: date) -> list[Tracked]:
    """Return outings with what was ordered or done on their days."""
    words = {(one.horse, one.day): one.exercise for one in said_of(moment, {one.horse for one in outings}, first)}
    return [Tracked(one.horse, one.day, one.speeds, words.get((one.horse, one.day), "")) for one in outings]


def _clocked(moment: Moment, horses: Collection[int], first: date) -> list[Work]:
    entries = entries_of(moment, [Clocked.name], first, moment.day, horses)
    found = []
    for horse, at, values in entries.values_list("horse_id", "happened_at", "values"):
        clocked = sections(Clocked.kept_as(values).splits)
        splits = tuple(
            Split(float(end - begin), float(seconds), float(sd))
            for begin, end, seconds, sd in zip(
                clocked.begin_m, clocked.end_m, clocked.seconds, clocked.sd_s, strict=True
            )
        )  # fmt: skip
        found.append(Work(horse, at, "thumb", splits=splits))
    return found


def said_of(
    moment: Moment,
    horses: Collection[int],
    first: date,
    besides: Collection[str] = BESIDES,
    clocked: Collection[tuple[int, date]] = (),
) -> list[Said]:
    """Return what was done, or else ordered, of each horse and day, what was done besides the ridden outing first.

    An order stands unless other work was told of its day: a walk in hand besides takes nothing from it. One of today
    says nothing yet, unless the horse was clocked, which tells that it went out.

    Args:
        moment: when to look from.
        horses: their numbers.
        first: day.
        besides: exercises that are done apart from the ridden outing.
        clocked: horse and day of works by thumb.
    """
    orders: dict[tuple[int, date], Said] = {}
    done: dict[tuple[int, date], Said] = {}
    more: dict[tuple[int, date, str], Said] = {}
    for one in _told(moment, Did.name, first, horses):
        if one.exercise in besides:
            more[one.horse, one.day, one.exercise] = one
        else:
            done[one.horse, one.day] = one
    for one in _told(moment, Ordered.name, first, horses):
        if one.day < moment.day or (one.horse, one.day) in clocked:
            orders[one.horse, one.day] = one
    return [*more.values(), *(one for key, one in orders.items() if key not in done and not _twice(one, more)),
            *done.values()]  # fmt: skip


def _twice(order: Said, more: Mapping[tuple[int, date, str], Said]) -> bool:
    """Return whether what was ordered is what was done besides, so that it does not count twice."""
    return (order.horse, order.day, order.exercise) in more


def _told(moment: Moment, kind: str, first: date, horses: Collection[int]) -> Iterator[Said]:
    """Yield what entries of one kind say of a horse and a day, in the order in which it was so."""
    for horse, day, (exercise, furlongs) in told_in(
        entries_of(moment, [kind], first, moment.day, horses), "exercise", "furlongs"
    ):
        if horse is not None:
            yield Said(horse, day, exercise, nan if furlongs is None else float(furlongs) * FURLONG_M)


def _runs(library: Path, moment: Moment, horses: Sequence[Horse]) -> list[Run]:
    """Return the runs that the library holds; of a library that cannot be read there are none."""
    numbers = {horse.horse_key: horse.pk for horse in horses}
    keys = frozenset(Horse.objects.values_list("horse_key", flat=True))  # one table for all pages that show starts
    try:
        starts = starts_of(state_of(library), keys)
    except UpsidesError:
        return []
    mine = starts.filter(pl.col("horse_key").is_in(list(numbers)), pl.col("date") < moment.day)
    rows = mine.select("horse_key", "date", "distance_m", "time_s").iter_rows()
    return [
        Run(numbers[key], day, float(metres), nan if seconds is None else float(seconds))
        for key, day, metres, seconds in rows
        if metres
    ]


def _known_from(horses: Sequence[Horse], told: Sequence[tuple[int, date]]) -> list[date | None]:
    """Return from which day on the yard knows what each horse did."""
    first: dict[int, date] = {}
    for horse, day in told:
        first[horse] = min(day, first.get(horse, day))
    return [max(horse.joined, first[horse.pk]) if horse.pk in first else None for horse in horses]


def _entered(moment: Moment, horses: Sequence[Horse]) -> list[date | None]:
    """Return the day on which each entered training: when it came, or came back into it; None while it is away."""
    moves = moments.rows(Move, moment).filter(horse__in=[horse.pk for horse in horses], first_day__lte=moment.day)
    entered: dict[int, date | None] = {horse.pk: horse.joined for horse in horses}
    for move in moves.order_by("first_day", "id"):
        back = move.to == Move.To.TRAINING
        if not back or entered.get(move.horse_id) is None:
            entered[move.horse_id] = move.first_day if back else None
    return [entered[horse.pk] for horse in horses]
