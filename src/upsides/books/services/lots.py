"""A plan of lots taken into the list of its day: entries of the diary, as the evening list writes them."""

from datetime import date
from pathlib import Path

from django.db import transaction

from upsides.books.lot_words import rule_words
from upsides.books.models import Device, Person, Yard
from upsides.books.queries import moments
from upsides.books.queries.lot_morning import gather
from upsides.books.queries.lot_plans import as_planned, left_to_take
from upsides.books.services.lists import order, refuse_past
from upsides.errors import LotsBrokenError
from upsides.planning.morning import Plan
from upsides.planning.verifying import verify


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
    wanted = [(ride.horse, as_planned(found.rides[ride.horse].order, ride)) for ride in left.rides]
    return sum(order(horse, day, work.typed(), author, device) is not None for horse, work in wanted)
