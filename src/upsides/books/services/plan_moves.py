"""A day of a horse's plan moved by hand to another, and taken back: orders in the diary that the next plan keeps."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from uuid import uuid4

from django.db import transaction

from upsides.books import clock
from upsides.books.diary.work import UNRIDDEN, Ordered
from upsides.books.models import Device, Entry, Horse, Person, Yard
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.queries.advice import advice
from upsides.books.queries.deadlines import runners
from upsides.books.queries.lots import done_on, orders
from upsides.books.queries.moments import Moment
from upsides.books.queries.morning import away_on
from upsides.books.queries.plan_laid import moved_away, moves_laid
from upsides.books.queries.string_limits import riding
from upsides.books.queries.string_plan import day_orders
from upsides.books.queries.usual import filled_in
from upsides.books.services.diary import withdraw
from upsides.books.services.lists import order
from upsides.books.services.plans import laid_over
from upsides.errors.planning import WorkNotMovedError
from upsides.errors.wording import gettext as _


@dataclass(frozen=True, slots=True)
class Moved:
    """What was moved: the order, from which day to which, and whether an order of the first day was taken back."""

    work: Ordered
    from_: date
    to: date
    freed: bool


@transaction.atomic
def move_day(
    horse: Horse, answer: int | None, days: tuple[date, date], author: Person, device: Device | None = None
) -> Moved:
    """Order by hand for one day what a horse's plan has on another; the next plan works round it.

    What was ordered by hand for the first day is moved, and no longer stands there; moved on, what was ordered there
    before is ordered again. An order says from which day of the plan it came; moved back there it is taken back.

    Args:
        horse: whose.
        answer: number of the answer that the plan stands in.
        days: from which, and to which.
        author: who moves it.
        device: where.

    Raises:
        WorkNotMovedError: it is not of the last plan, or cannot be done on that day; or what `record` raises.
    """
    Yard.objects.select_for_update().first()  # two tablets move one after the other
    now, (from_, to) = moments.now(), days
    row = moments.answer(PLAN, now)
    if row is None or row.pk != answer:
        raise WorkNotMovedError(horse.name, _("its plan has been worked out anew since"))
    values = moves_laid(now, row)
    planned = day_orders(values, horse.pk)
    there = {day: orders(now, day).get(horse.pk) for day in days}
    entry, there_to = there[from_], there[to]
    if from_ not in planned or to not in planned or min(days) <= now.day:
        raise WorkNotMovedError(horse.name, _("its plan has no such day that is still to come"))
    before = Ordered.kept_as(there_to.values) if there_to is not None else None
    work = planned[from_] if entry is None else Ordered.kept_as(entry.values)
    has = planned[to] if before is None else before
    origin = work.moved_from or str(from_)
    _may_stand(horse, moved_away(values, horse.pk), days, origin, has)
    _may_move(now, horse, work, has, days)
    _may_ride(now, horse, work, to, list(planned))
    freed = entry is not None
    if entry is not None:
        _taken_back(entry, author, device)
        freed = work.moved_from is None or not _ordered_again(entry, from_, author, device)
    if origin != str(to):
        new = work if entry is None else replace(work, lot=None, place=None, rider=None)
        meant = filled_in(now, to, horse.pk, new, away_on(now, to)) if before is None else laid_over(before, new)
        order(horse.pk, to, replace(meant, moved_from=origin).typed(), author, device)
    elif there_to is not None:
        order(horse.pk, to, replace(work, moved_from=None).typed(), author, device)
    return Moved(work, from_, to, freed=freed)


def _may_stand(horse: Horse, gone: Mapping[date, date], days: tuple[date, date], origin: str, has: Ordered) -> None:
    """Look whether the plan that stands can have two days exchanged: moved work can only be moved on, or back.

    Raises:
        WorkNotMovedError: it cannot.
    """
    from_, to = days
    day = next((day for day in days if day in gone and (day == from_ or origin != str(to))), None)
    if day is not None:
        reason = _(
            "its work of {day:%d %B} was moved to {to:%d %B}, and the plan round that is not made yet; move it on from "
            "there, or take that back", day=day, to=gone[day],
        )  # fmt: skip
    elif has.moved_from == str(from_):
        reason = _("its work of {day:%d %B} was moved there; take that back instead", day=from_)
    else:
        return
    raise WorkNotMovedError(horse.name, reason)


def _may_move(now: Moment, horse: Horse, work: Ordered, has: Ordered, days: tuple[date, date]) -> None:
    """Look whether work may be done on another day.

    Raises:
        WorkNotMovedError: it may not.
    """
    from_, to = days
    held = advice(now, to).get(horse.pk)
    runs = {day for day in days if any(one.horse.pk == horse.pk for one in runners(now, day, day))}
    if "race" in {work.exercise, has.exercise} or runs:
        day = min(runs, default=from_ if work.exercise == "race" else to)
        reason = _("it runs on {day:%d %B}, and a race is not moved by hand", day=day)
    elif from_ == to or (work.exercise, work.furlongs) == (has.exercise, has.furlongs):
        reason = _("it does the same on {day:%d %B} already", day=to)
    elif held is not None and not held.allows(work.exercise):
        reason = _("the vet does not leave that open on {day:%d %B}", day=to)
    elif horse.pk in done_on(now, to):
        reason = _("it has done its work of {day:%d %B}", day=to)
    else:
        return
    raise WorkNotMovedError(horse.name, reason)


def _may_ride(now: Moment, horse: Horse, work: Ordered, to: date, days: list[date]) -> None:
    """Look whether anybody rides on the day that ridden work is moved to, where somebody does on others.

    Raises:
        WorkNotMovedError: nobody does.
    """
    people = dict(zip(days, riding(now, days), strict=True))
    if work.exercise not in UNRIDDEN and any(people.values()) and not people[to]:
        raise WorkNotMovedError(horse.name, _("nobody rides on {day:%d %B}", day=to))


@transaction.atomic
def take_back_move(horse: Horse, day: date, author: Person, device: Device | None = None) -> Moved:
    """Take back that work was moved to a day; what was ordered there before is ordered again.

    Raises:
        WorkNotMovedError: nothing was moved there; or what `record` raises.
    """
    Yard.objects.select_for_update().first()
    now = moments.now()
    entry = orders(now, day).get(horse.pk)
    work = Ordered.kept_as(entry.values) if entry is not None else None
    if day == date.min:
        raise WorkNotMovedError(horse.name, _("it was not said from which day"))
    if entry is None or work is None or work.moved_from is None or day <= now.day:
        raise WorkNotMovedError(horse.name, _("nothing was moved by hand to {day:%d %B}", day=day))
    _taken_back(entry, author, device)
    again = _ordered_again(entry, day, author, device)
    return Moved(work, date.fromisoformat(work.moved_from), day, freed=not again)


def _ordered_again(entry: Entry, day: date, author: Person, device: Device | None) -> bool:
    """Order again what stood on a day before work was moved there; return whether anything did."""
    old = entry.supersedes
    while old is not None and (old.withdrawn or "moved_from" in old.values):
        old = old.supersedes
    if old is None or entry.horse_id is None:
        return False
    order(entry.horse_id, day, Ordered.kept_as(old.values).typed(), author, device)
    return True


def _taken_back(entry: Entry, author: Person, device: Device | None) -> None:
    withdraw(entry, author, device, client_id=uuid4(), made_at=clock.now())
