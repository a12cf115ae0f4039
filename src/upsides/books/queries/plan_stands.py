"""The plan that stands: what was told last of every horse, from which the next plan changes as little as it can."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Any, Final

from upsides.books.diary.work import Ordered
from upsides.books.models import Answer, Entry
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.queries.days import day_span
from upsides.books.queries.moments import Moment

JUST_BEFORE: Final = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class Stands:
    """The plan of a horse that stands.

    Attributes:
        days: its orders, as the routine names them.
        told: those that were told last; another where a day that was moved has been taken back since.
        basis: what it was made for, as of `upsides.planning.work.basis`; None where that was not kept.
        at: when it was kept.
        held: whether the next plan keeps to it: it was searched for, and not only soon had.
        orders: what each of its orders is, as the answer keeps it.
        moves: the days to which work was moved by hand that it was made round, each with the day that it came from;
            None where that was not kept.
    """

    days: Mapping[date, str]
    told: Mapping[date, str]
    basis: Mapping[str, Any] | None
    at: datetime
    held: bool = field(default=True)
    orders: Mapping[str, Any] = field(default_factory=dict)
    moves: frozenset[tuple[date, date]] | None = None


def plans_that_stand(moment: Moment, horses: Collection[int]) -> dict[int, Stands]:
    """Return the plan of each horse that has one, by its number.

    Where a move was taken back since the last plan, the one before that move stands. A horse that had no plan in the
    last answer has the one that it had before.
    """
    row = moments.answer(PLAN, moment)
    return {} if row is None else stand_in(moment, row, horses)


def stand_in(moment: Moment, row: Answer, horses: Collection[int]) -> dict[int, Stands]:
    """Return the same where the last answer is known."""
    found = {number: one for number in horses if (one := _stands(row, number)) is not None}
    for number, at in _taken_back(moment, row, horses).items():
        before = moments.answer(PLAN, Moment(moment.day, at - JUST_BEFORE))
        one = None if before is None else _stands(before, number)
        if one is not None:
            found[number] = replace(one, told=found[number].told if number in found else one.told)
    return found


def _stands(row: Answer, number: int) -> Stands | None:
    values, text = row.values, str(number)
    first = date.fromisoformat(values["first"])
    own = values["horses"].get(text)
    if own is None:
        stood = values.get("stood", {}).get(text)
        if stood is None:
            return None
        days = {date.fromisoformat(day): order for day, order in stood["days"]}
        return Stands(days, days, stood["basis"], row.recorded_at)
    days = {first + timedelta(days=day): order for day, (order, *_routine) in enumerate(own["days"])}
    moves = (
        None
        if "moves" not in own
        else frozenset((first + timedelta(days=to), first + timedelta(days=from_)) for to, from_ in own["moves"])
    )
    held = not values.get("soon", False)
    return Stands(days, days, own.get("basis"), row.recorded_at, held, values["orders"], moves)


def _taken_back(moment: Moment, row: Answer, horses: Collection[int]) -> dict[int, datetime]:
    """Return when the first of the moves was made that were taken back since an answer, by number of the horse.

    What was moved on counts from when it left the day that it came from.
    """
    every = Entry.objects.filter(kind=Ordered.name, horse__in=horses, happened_at__gte=day_span(moment.day)[0])
    every = every if moment.at is None else every.filter(recorded_at__lte=moment.at)
    gone = every.filter(
        withdrawn=True, recorded_at__gt=row.recorded_at, supersedes__recorded_at__lte=row.recorded_at,
        supersedes__values__moved_from__isnull=False,
    )  # fmt: skip
    found: dict[int, datetime] = {}
    for number, origin in gone.values_list("horse", "supersedes__values__moved_from"):
        moves = every.filter(horse=number, values__moved_from=origin).order_by("recorded_at", "pk")
        at = moves.values_list("recorded_at", flat=True)[0]
        found[number] = min(at, found.get(number, at))
    return found
