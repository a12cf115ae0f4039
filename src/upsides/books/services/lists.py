"""Writing tomorrow's list, and that a lot did what was ordered."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, time, timedelta
from typing import Any, Final
from uuid import uuid4

from django.db import transaction

from upsides.books import clock
from upsides.books.diary.work import Exercise, Ordered
from upsides.books.models import Device, Entry, Person, Yard
from upsides.books.queries import moments
from upsides.books.queries.days import moment_on
from upsides.books.queries.lots import done_on, lots, orders
from upsides.books.queries.usual import usual
from upsides.books.services.diary import Draft, record
from upsides.errors import MorningRefusedError
from upsides.errors.wording import gettext as _

AT: Final = time(5)
"""The time of day that an order stands under."""
DONE_AT: Final = time(10)
"""The time of day under which stands what a lot did on a day before today: nobody says when."""
DONE_WITHIN: Final = 7
"""Days in which it can still be written with one tap that a lot did what was ordered. Our own choice."""


def refuse_past(day: date) -> None:
    """Refuse to order anything for a day that is over.

    Raises:
        MorningRefusedError: it is.
    """
    if day < clock.today():
        remedy = _("what was done is written in the diary; an order of that day is corrected at its own entry there")
        raise MorningRefusedError(_("day"), day, _("that morning is over"), remedy)


@transaction.atomic
def order(
    horse: int, day: date, values: Mapping[str, object], author: Person, device: Device | None = None
) -> Entry | None:
    """Order a horse's work for a day, in place of what was ordered before.

    Args:
        horse: number of the horse.
        day: the day that it is for.
        values: as typed.
        author: who orders it.
        device: where.

    Returns:
        The entry, None where the same was ordered before.

    Raises:
        What `record` raises.
    """
    Yard.objects.select_for_update().first()  # two tablets order one after the other
    before = orders(moments.now(), day).get(horse)
    if before is not None and Ordered.parse(values).kept() == before.values:
        return None
    supersedes = before.client_id if before else None
    at = moment_on(day, AT)
    return record(Draft(uuid4(), "ordered", horse, values, clock.now(), at, supersedes), author, device)


@transaction.atomic
def order_together(
    horse: int, day: date, values: Mapping[str, object], author: Person, device: Device | None = None
) -> list[int]:
    """Order a horse's work, and take those that it works upsides with along to its lot and gallop.

    They keep their riders, unless one has another horse in that lot. Who has no order, another exercise, or is done
    stays as it is, and so do all where the horse is ordered to no lot.

    Args:
        horse: as of `order`.
        day: likewise.
        values: likewise.
        author: likewise.
        device: likewise.

    Returns:
        Numbers of the horses that were taken along.

    Raises:
        MorningRefusedError: the day is over; or what `record` raises.
    """
    refuse_past(day)
    if order(horse, day, values, author, device) is None:
        return []
    now = moments.now()
    there = {number: Ordered.kept_as(entry.values) for number, entry in orders(now, day).items()}
    own, done, moved = there[horse], done_on(now, day), []
    for other in own.upsides if own.lot is not None else ():
        work = there.get(other)
        if work is None or other in done or work.exercise != own.exercise or horse not in work.upsides:
            continue
        if (work.lot, work.gallop) != (own.lot, own.gallop):
            busy = {one.rider for number, one in there.items() if one.lot == own.lot and number != other}
            beside = replace(work, lot=own.lot, gallop=own.gallop, place=own.place)
            beside = replace(beside, rider=None if work.lot != own.lot and work.rider in busy else work.rider)
            order(other, day, beside.typed(), author, device)
            moved.append(other)
    return moved


@transaction.atomic
def make_list(day: date, author: Person, away: Mapping[int, str], device: Device | None = None) -> int:
    """Order the usual for every horse in training that has no order for a day yet; return for how many.

    Raises:
        MorningRefusedError: the day is over.
    """
    refuse_past(day)
    Yard.objects.select_for_update().first()
    now = moments.now()
    there = orders(now, day)
    made = {horse: work for horse, work in usual(now, day, away).items() if horse not in there}
    for horse, work in made.items():
        record(Draft(uuid4(), "ordered", horse, work.typed(), clock.now(), moment_on(day, AT)), author, device)
    return len(made)


@transaction.atomic
def done_as_ordered(day: date, lot: int | None, author: Person, device: Device | None = None) -> int:
    """Write that the horses of a lot did what was ordered; return of how many that was not written yet.

    A horse of which something was written already stays as it is.

    Raises:
        MorningRefusedError: the day is to come, or more than `DONE_WITHIN` days ago.
    """
    today = clock.today()
    if not today - timedelta(days=DONE_WITHIN) <= day <= today:
        raise MorningRefusedError(_("day"), day, _("it is to come, or long past"), _("write it in the diary"))
    Yard.objects.select_for_update().first()
    now = moments.now()
    there, count = done_on(now, day), 0
    for one in lots(now, day):
        for ride in one.rides if one.number == lot else ():
            if ride.horse.pk not in there:
                at = None if day == today else moment_on(day, DONE_AT)
                draft = Draft(uuid4(), "exercise", ride.horse.pk, _did(ride.order), clock.now(), at)
                record(draft, author, device)
                count += 1
    return count


@transaction.atomic
def ride_done(day: date, horse: int, author: Person, device: Device | None = None) -> bool:
    """Write that one horse did what was ordered; return whether that was not written yet, and anything was ordered.

    Raises:
        What `record` raises.
    """
    Yard.objects.select_for_update().first()
    now = moments.now()
    ordered = orders(now, day).get(horse)
    if ordered is None or horse in done_on(now, day):
        return False
    did = _did(Ordered.kept_as(ordered.values))
    record(Draft(uuid4(), "exercise", horse, did, clock.now()), author, device)
    return True


def _did(order: Ordered) -> dict[str, Any]:
    """Return what was done where it is what was ordered, as it would be typed."""
    typed = order.typed()
    return {field.name: typed[field.name] for field in Exercise.fields if field.name in typed}
