"""A plan of lots asked for, and taken into the list of its day: entries, as the evening list writes them."""

from datetime import date
from pathlib import Path

from django.db import transaction

from upsides.books.lot_words import rule_words
from upsides.books.models import Device, Job, Person, Yard
from upsides.books.queries import moments
from upsides.books.queries.lot_morning import gather
from upsides.books.queries.lot_plans import left_to_take, orders_as_planned, wanted
from upsides.books.queries.staff import at_work
from upsides.books.services.jobs import ask
from upsides.books.services.lists import order, refuse_past
from upsides.errors import LotsBrokenError, MorningRefusedError
from upsides.errors.wording import gettext as _
from upsides.planning.morning import Plan
from upsides.planning.verifying import verify


def ask_lots(day: date, without: int | None, by: Person) -> Job:
    """Ask for a plan of a morning, or of it without a rider.

    Raises:
        MorningRefusedError: nobody of that number works in the yard then.
    """
    if without is not None and without not in {one.number for one in at_work(moments.now(), day)}:
        raise MorningRefusedError(
            _("rider"), without, _("nobody of this number rides this morning"), _("name one who does")
        )
    return ask("lots", wanted(day, without), by=by)


@transaction.atomic
def take_lots(folder: Path, day: date, plan: Plan, author: Person, device: Device | None = None) -> int:
    """Order what a plan says, where it differs from what is ordered; return for how many horses.

    The plan is held against the morning as the books have it now, however old it is. Taking it twice writes once.

    Raises:
        LotsBrokenError: it breaks a rule of the morning; each is named.
        MorningRefusedError: the day is over, the yard's own settings cannot be used; or what `record` raises.
    """
    refuse_past(day)
    Yard.objects.select_for_update().first()  # two tablets take plans one after the other
    found = gather(folder, moments.now(), day)
    left = left_to_take(found, plan)
    if broken := verify(found.morning, left, found.settings.prices).broken:
        raise LotsBrokenError(rule_words(rule, found, broken=True, plan=left) for rule in broken)
    wanted = orders_as_planned(found, left)
    return sum(order(horse, day, work.typed(), author, device) is not None for horse, work in wanted.items())
