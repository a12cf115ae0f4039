"""Reads of phones and computers: which there are, and whose names stand on a barn phone."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import DateTimeField, Max, OuterRef, Q, QuerySet, Subquery

from upsides.books.models import Device, Entry, Person, PinTry
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import BARN_ROLES

UPLOAD_PREFIX = "upload-"
"""What keys for recordings begin with, and what the books hold of them."""
_KEYS = Q(token_hash__startswith=UPLOAD_PREFIX)


@dataclass(frozen=True, slots=True)
class Listed:
    """One phone or computer.

    Args:
        number: of the device.
        name: what it is called.
        added_at: when it was entered.
        added_by: who entered it.
        last_used: when somebody last gave the right PIN on it, or an entry came from it; None for never.
    """

    number: int
    name: str
    added_at: datetime
    added_by: str
    last_used: datetime | None


@dataclass(frozen=True, slots=True)
class Name:
    """A name on a barn phone.

    Args:
        number: of the person.
        name: the name.
        here: whether the person works in the phone's barn.
        last_used: when the person last used this phone, None for never.
    """

    number: int
    name: str
    here: bool
    last_used: datetime | None


def barn_phones(moment: Moment) -> list[Listed]:
    """Return the barn phones that had not been ended."""
    return _listed(_standing(moment).filter(shared=True).exclude(_KEYS))


def upload_keys(moment: Moment) -> list[Listed]:
    """Return the keys for recordings that had not been ended. When one was last used is not known."""
    return _listed(_standing(moment).filter(_KEYS))


def devices_of(number: int, moment: Moment) -> list[Listed]:
    """Return one person's own phones and computers that had not been ended."""
    return _listed(_standing(moment).filter(person=number))


def on_barn_phones() -> QuerySet[Person]:
    """Return those who may use a barn phone: they work with horses, have a PIN, and their sign-in is open."""
    return Person.objects.filter(is_active=True, posts__role__in=BARN_ROLES).exclude(pin="").distinct()


def names_on(phone: Device) -> list[Name]:
    """Return the names on a barn phone: those of its barn first, in each part who used it last first.

    A phone belongs to the barn whose name stands in its own.
    """
    used = PinTry.objects.filter(device=phone, right=True).values_list("person").annotate(last=Max("at"))
    last = dict(used)
    names = [
        Name(
            number,
            name,
            bool(barn) and barn.casefold() in phone.name.casefold(),
            last.get(number),
        )
        for number, name, barn in on_barn_phones().values_list("pk", "name", "barn")
    ]
    names.sort(key=lambda one: one.name.casefold())
    names.sort(key=lambda one: one.last_used.timestamp() if one.last_used else 0.0, reverse=True)
    return sorted(names, key=lambda one: not one.here)


def _standing(moment: Moment) -> QuerySet[Device]:
    if moment.at is None:
        return Device.objects.filter(revoked_at=None)
    return Device.objects.filter(Q(revoked_at=None) | Q(revoked_at__gt=moment.at), added_at__lte=moment.at)


def _listed(devices: QuerySet[Device]) -> list[Listed]:
    tapped = _latest(PinTry.objects.filter(right=True), "at")
    entered = _latest(Entry.objects.all(), "recorded_at")
    rows = devices.annotate(tapped=tapped, entered=entered).select_related("added_by")
    return [
        Listed(
            row.pk,
            row.name,
            row.added_at,
            row.added_by.name,
            max((one for one in (row.tapped, row.entered) if one), default=None),
        )
        for row in rows
    ]


def _latest(rows: QuerySet[PinTry] | QuerySet[Entry], field: str) -> Subquery:
    """Return the latest of a field among rows of the outer query's device."""
    mine = rows.filter(device=OuterRef("pk")).order_by().values("device").annotate(latest=Max(field))
    return Subquery(mine.values("latest"), output_field=DateTimeField())
