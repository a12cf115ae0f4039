"""Writes about who works when: weekly hours from a day on, days off, what binds jockeys."""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.db.models import Q

from upsides.books import clock
from upsides.books.hours import Span
from upsides.books.models import Bond, DayOff, Person, Post, Role, Shift
from upsides.books.queries.bonds import country_meant
from upsides.errors import (
    BondRefusedError,
    DayOffTwiceError,
    EndBeforeStartError,
    FarDayError,
    HoursMissingError,
    PersonErasedError,
)
from upsides.errors.wording import gettext as _

FAR = timedelta(days=2 * 366)
ONE_DAY = timedelta(days=1)

Week = Mapping[int, Sequence[Span]]
"""Hours by day of the week, 0 for Monday; a day that is not there is free."""


@dataclass(frozen=True, slots=True)
class Replanned:
    """What new weekly hours change.

    Args:
        kept: rows that stay as they are.
        ended: rows that end the day before, as they will stand.
        gone: rows that would have begun later.
        begun: rows of the new hours, not written yet.
    """

    kept: tuple[Shift, ...]
    ended: tuple[Shift, ...]
    gone: tuple[Shift, ...]
    begun: tuple[Shift, ...]

    @property
    def after(self) -> tuple[Shift, ...]:
        """All rows as they will stand."""
        return (*self.kept, *self.ended, *self.begun)


def replanned(person: Person, week: Week, first_day: date) -> Replanned:
    """Return what it changes that somebody works these hours from a day on; nothing is written.

    Raises:
        HoursMissingError: there are no hours in it, and the person has none that could end.
        FarDayError: the day is a slip.
    """
    _near(first_day, "first_day")
    rows = tuple(Shift.objects.filter(person=person))
    kept = tuple(row for row in rows if row.last_day is not None and row.last_day < first_day)
    gone = tuple(row for row in rows if row.first_day >= first_day and row not in kept)
    ended = tuple(copy(row) for row in rows if row not in kept and row not in gone)
    for row in ended:
        row.last_day = first_day - ONE_DAY
    begun = tuple(
        Shift(person=person, weekday=day, starts=one.starts, ends=one.ends, rides=one.rides, first_day=first_day)
        for day, spans in sorted(week.items())
        for one in spans
    )
    if not begun and not ended and not gone:
        raise HoursMissingError
    return Replanned(kept, ended, gone, begun)


@transaction.atomic
def set_hours(person: Person, week: Week, first_day: date, by: Person) -> None:
    """Let somebody work these hours each week from a day on; hours that stood from then on end.

    The same hours entered again change nothing.

    Raises:
        HoursMissingError: there are no hours in it, and the person has none that could end.
        FarDayError: the day is a slip.
        PersonErasedError: the person was erased.
    """
    person = _held(person)
    if _stands(person, week, first_day):
        return
    change = replanned(person, week, first_day)
    for row in (*change.ended, *change.begun):
        _write(row, by)
    for row in change.gone:
        _drop(row, by)


@transaction.atomic
def take_off(person: Person, first_day: date, last_day: date, why: DayOff.Why, by: Person) -> DayOff:
    """Enter days on which somebody does not work; two kinds may overlap, as when somebody falls ill on holiday.

    Raises:
        EndBeforeStartError: they end before they begin.
        FarDayError: a day is a slip.
        DayOffTwiceError: some of these days stand as the same kind already.
        PersonErasedError: the person was erased.
    """
    person = _held(person)
    if last_day < first_day:
        raise EndBeforeStartError(first_day, last_day)
    _near(first_day, "first_day")
    _near(last_day, "last_day")
    same = DayOff.objects.filter(person=person, why=why, first_day__lte=last_day, last_day__gte=first_day).first()
    if same is not None:
        raise DayOffTwiceError(same.first_day, same.last_day)
    row = DayOff(person=person, first_day=first_day, last_day=last_day, why=why)
    _write(row, by)
    return row


@transaction.atomic
def off_sick(person: Person, day: date, by: Person) -> DayOff:
    """Enter that somebody is off sick on a day; it goes on from the day before, and said twice it is said once.

    Raises:
        PersonErasedError: the person was erased.
    """
    person = _held(person)
    sick = DayOff.objects.filter(person=person, why=DayOff.Why.SICK)
    stands = sick.filter(first_day__lte=day, last_day__gte=day).first()
    if stands is not None:
        return stands
    row = sick.filter(last_day=day - ONE_DAY).first()
    row = row or DayOff(person=person, first_day=day, why=DayOff.Why.SICK)
    row.last_day = day
    _write(row, by)
    return row


@transaction.atomic
def back_from(row: DayOff, day: date, by: Person) -> None:
    """Let somebody be back on a day: the days off end the day before, and go where none are left."""
    _end_before(DayOff.objects.select_for_update().get(pk=row.pk), day, by)


@transaction.atomic
def bind(
    person: Person,
    kind: Bond.Kind,
    first_day: date,
    last_day: date | None,
    by: Person,
    *,
    owner: Person | None = None,
    country: str = "",
) -> Bond:
    """Enter that a jockey is retained by an owner, or suspended.

    Args:
        person: the jockey.
        kind: which of the two.
        first_day: from.
        last_day: to, None for a retainer without an end.
        by: who enters it.
        owner: whom a retained jockey rides for first.
        country: where it holds, as the yard writes it; empty for everywhere.

    Raises:
        EndBeforeStartError: it ends before it begins.
        BondRefusedError: a retainer without an owner, a suspension without an end, a country that is none, or the same
            twice.
        FarDayError: it begins on a day that is a slip.
        PersonErasedError: the person was erased.
    """
    person = _held(person)
    _near(first_day, "first_day")
    if last_day is not None and last_day < first_day:
        raise EndBeforeStartError(first_day, last_day)
    if country.strip() and country_meant(country) is None:
        raise BondRefusedError("country", _("no such country is known; write one like Britain, GB or IRE, or none"))
    row = Bond(person=person, kind=kind, first_day=first_day, last_day=last_day, country=" ".join(country.split()))
    if kind == Bond.Kind.RETAINER:
        row.owner = _retaining(owner)
    elif last_day is None:
        raise BondRefusedError("last_day", _("a suspension has a last day; write the one that the notice gives"))
    _not_twice(row)
    _write(row, by)
    return row


@transaction.atomic
def unbind(row: Bond, day: date, by: Person) -> None:
    """End a retainer or suspension: its last day is the day before, and it goes where none are left."""
    _end_before(Bond.objects.select_for_update().get(pk=row.pk), day, by)


def _end_before(row: DayOff | Bond, day: date, by: Person) -> None:
    """Let a row end the day before a day, unless it ends earlier; drop it where no day is left."""
    if row.last_day is not None and day > row.last_day:
        return
    if day <= row.first_day:
        _drop(row, by)
        return
    row.last_day = day - ONE_DAY
    _write(row, by)


def _stands(person: Person, week: Week, first_day: date) -> bool:
    """Return whether just these hours stand from the day on, without an end."""
    later = Shift.objects.filter(Q(last_day=None) | Q(last_day__gte=first_day), person=person)
    if later.filter(Q(first_day__gt=first_day) | ~Q(last_day=None)).exists():
        return False
    has = set(later.values_list("weekday", "starts", "ends", "rides"))
    return bool(has) and has == {(day, one.starts, one.ends, one.rides) for day, spans in week.items() for one in spans}


def _retaining(owner: Person | None) -> Person:
    if owner is None or not Post.objects.filter(person=owner, role=Role.OWNER).exists():
        raise BondRefusedError(_("owner"), _("a retainer is somebody's; choose the owner who retains the jockey"))
    return owner


def _not_twice(row: Bond) -> None:
    same = Bond.objects.filter(person=row.person, kind=row.kind, owner=row.owner, country=row.country)
    same = same.filter(Q(last_day=None) | Q(last_day__gte=row.first_day))
    if (same if row.last_day is None else same.filter(first_day__lte=row.last_day)).exists():
        raise BondRefusedError("first_day", _("the same stands already on some of these days; end that first"))


def _near(day: date, field: str) -> None:
    if abs(day - clock.today()) > FAR:
        raise FarDayError(day, field)


def _held(person: Person) -> Person:
    held = Person.objects.select_for_update().get(pk=person.pk)
    if held.erased_at is not None:
        raise PersonErasedError(held.pk)
    return held


def _write(row: Shift | DayOff | Bond, by: Person) -> None:
    row._history_user = by  # type: ignore[union-attr]  # simple_history reads it
    row.save()


def _drop(row: Shift | DayOff | Bond, by: Person) -> None:
    row._history_user = by  # type: ignore[union-attr]  # simple_history reads it
    row.delete()
