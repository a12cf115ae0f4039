"""Reads of inside information: what is released to whom, and who looked at it."""

from datetime import date, datetime, time, timedelta

from django.db.models import Q, QuerySet

from upsides.books import clock
from upsides.books.models import Release, Role, Sight
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment


def standing(moment: Moment, *, person: int | None = None, roles: frozenset[Role] | None = None) -> list[Release]:
    """Return the releases that stood, oldest first; all, or those that reach a person of these roles."""
    rows = moments.rows(Release, moment).filter(ended_at=None)
    if person is not None:
        rows = rows.filter(Q(person=person) | Q(role__in=roles or ()))
    return list(rows.order_by("given_at", "id"))


def looked(
    *,
    person: int | None = None,
    what: str = "",
    horse: int | None = None,
    first_day: date | None = None,
    last_day: date | None = None,
) -> QuerySet[Sight]:
    """Return who was shown inside information, latest first, cut to what is asked for.

    Args:
        person: who looked.
        what: a value of `Inside`.
        horse: at which horse.
        first_day: from this day of the yard on.
        last_day: up to and with this day.
    """
    wanted: dict[str, object] = {
        "person": person,
        "what": what or None,
        "horse": horse,
        "at__gte": _morning(first_day) if first_day else None,
        "at__lt": _morning(last_day + timedelta(days=1)) if last_day else None,
    }
    chosen = {name: value for name, value in wanted.items() if value is not None}
    return Sight.objects.filter(**chosen).select_related("person", "horse")


def _morning(day: date) -> datetime:
    return datetime.combine(day, time(), clock.place().zone)
