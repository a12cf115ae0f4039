"""Writes of addresses at which calendar programs read somebody's deadlines."""

import hashlib
import secrets

from django.db import transaction

from upsides.books import clock
from upsides.books.models import CalendarAddress, Person
from upsides.errors import CalendarGoneError

MOST = 5
"""Addresses that one person may have at a time; the oldest is ended for another."""


@transaction.atomic
def make_address(person: Person) -> str:
    """Make a new address for somebody's calendar; return its secret part, which is not kept."""
    token = secrets.token_urlsafe(32)
    rows = CalendarAddress.objects.select_for_update().filter(person=person, ended_at=None).order_by("made_at", "pk")
    spare = list(rows.values_list("pk", flat=True))[: max(0, rows.count() - MOST + 1)]
    CalendarAddress.objects.filter(pk__in=spare).update(ended_at=clock.now())
    CalendarAddress.objects.create(person=person, token_hash=hashed(token), made_at=clock.now())
    return token


def end_address(number: int, person: Person) -> None:
    """End an address of one's own.

    Raises:
        CalendarGoneError: there is no such address, or it is another's, or it was ended.
    """
    mine = CalendarAddress.objects.filter(pk=number, person=person, ended_at=None)
    if not mine.update(ended_at=clock.now()):
        raise CalendarGoneError


def hashed(token: str) -> str:
    """Return what is kept of an address."""
    return hashlib.sha256(token.encode()).hexdigest()
