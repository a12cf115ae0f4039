"""Another plan of a horse's work chosen: its days ordered in the diary, so that the next plan works round them."""

from dataclasses import replace
from datetime import date

from django.db import transaction

from upsides.books.diary.work import UNRIDDEN, Ordered
from upsides.books.models import Device, Horse, Person, Yard
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.queries.advice import advice
from upsides.books.queries.deadlines import runners
from upsides.books.queries.lots import done_on, orders
from upsides.books.queries.moments import Moment
from upsides.books.queries.morning import away_on
from upsides.books.queries.plan_laid import moves_laid
from upsides.books.queries.string_plan import chosen_orders
from upsides.books.queries.usual import filled_in
from upsides.books.services.lists import order
from upsides.errors import PlanNotChosenError
from upsides.errors.wording import gettext as _


@transaction.atomic
def choose_plan(
    horse: Horse, answer: int | None, place: int | None, author: Person, device: Device | None = None
) -> int:
    """Order the days on which one of a horse's other plans differs; return for how many days that is new.

    All of them or none: what the books have learned since the plan was made stands in the way of all.

    Args:
        horse: whose.
        answer: number of the answer that the plans stand in.
        place: of the plan among the others, 0 for the next best.
        author: who chooses it.
        device: where.

    Raises:
        PlanNotChosenError: it is not of the last plan, or does not fit what was written since; or what `record` raises.
    """
    Yard.objects.select_for_update().first()  # two tablets choose one after the other
    now = moments.now()
    row = moments.answer(PLAN, now)
    if row is None or row.pk != answer:
        raise PlanNotChosenError(horse.name, _("it has been worked out anew since"))
    wanted = {} if place is None else chosen_orders(moves_laid(now, row), horse.pk, place)
    if not wanted:
        raise PlanNotChosenError(horse.name, _("there is no such plan"))
    if min(wanted) < now.day:
        raise PlanNotChosenError(horse.name, _("a day on which the plans differ is past"))
    there = {day: ordered_for(now, day, horse.pk) for day in wanted}
    for day, (new, old) in wanted.items():
        _may_be(now, day, horse, new, old, there[day])
    made = 0
    for day, (new, _old) in wanted.items():
        before = there[day]
        meant = filled_in(now, day, horse.pk, new, away_on(now, day)) if before is None else laid_over(before, new)
        made += order(horse.pk, day, meant.typed(), author, device) is not None
    return made


def ordered_for(now: Moment, day: date, horse: int) -> Ordered | None:
    """Return what is ordered for a day."""
    found = orders(now, day).get(horse)
    return Ordered.kept_as(found.values) if found is not None else None


def _may_be(now: Moment, day: date, horse: Horse, new: Ordered, old: Ordered, there: Ordered | None) -> None:
    """Look whether a day may be ordered so.

    Raises:
        PlanNotChosenError: it may not.
    """
    held = advice(now, day).get(horse.pk)
    if horse.pk in done_on(now, day):
        reason = _("it has done its work of {day:%d %B}", day=day)
    elif there is not None and there.exercise not in {old.exercise, new.exercise}:
        reason = _("something else was ordered for {day:%d %B} since", day=day)
    elif held is not None and not held.allows(new.exercise):
        reason = _("the vet does not leave that open on {day:%d %B}", day=day)
    elif new.exercise != "race" and any(one.horse.pk == horse.pk for one in runners(now, day, day)):
        reason = _("it runs on {day:%d %B}", day=day)
    else:
        return
    raise PlanNotChosenError(horse.name, reason)


def laid_over(there: Ordered, new: Ordered) -> Ordered:
    """Return an order with lot, place and rider of the one that is there, as far as it is ridden."""
    if new.exercise in UNRIDDEN:
        return new
    return replace(new, lot=there.lot, place=there.place, rider=there.rider, text=there.text)
