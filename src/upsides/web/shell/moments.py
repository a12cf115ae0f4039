"""The moment a page is asked for: `?as_of=2026-06-01T17:30` in the yard's own time, else now."""

from datetime import date, datetime, timedelta

from django.http import HttpRequest

from upsides.books import clock
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.errors import UnreadableError
from upsides.errors.wording import gettext
from upsides.trade.reading import LONGEST

FIRST, LAST = date(1900, 1, 1), date(2200, 12, 31)
"""Days that an address can ask for."""


def moment_of(request: HttpRequest) -> Moment:
    """Return the moment that a page is asked for.

    Raises:
        UnreadableError: the moment cannot be read.
    """
    text = request.GET.get("as_of", "").strip()
    if not text:
        return moments.now()
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise UnreadableError(gettext("moment"), text, "2026-06-01T17:30") from None
    if not FIRST <= at.date() <= LAST:
        raise UnreadableError(
            gettext("moment"), text, gettext("a moment from {first} to {last}", first=FIRST, last=LAST)
        )
    if at.tzinfo is None:
        at = at.replace(tzinfo=clock.place().zone)
    return moments.as_of(at)


def asked_day(text: str, moment: Moment, otherwise: date | None = None) -> date:
    """Return a day that an address or a form names: 2026-06-21, today, tomorrow; for nothing today, or another.

    Raises:
        UnreadableError: it is no day.
    """
    named = {"": otherwise or moment.day, "today": moment.day, "tomorrow": moment.day + timedelta(days=1)}
    plain = text.strip()[:LONGEST].lower()
    if plain in named:
        return named[plain]
    return read_day(text)


def read_day(text: str) -> date:
    """Return a day written 2026-06-21.

    Raises:
        UnreadableError: it is no day, or one that no yard has books of.
    """
    try:
        day = date.fromisoformat(text.strip()[:LONGEST])
    except ValueError:
        raise UnreadableError(gettext("day"), text, "2026-06-21") from None
    if not FIRST <= day <= LAST:
        raise UnreadableError(gettext("day"), text, gettext("a day from {first} to {last}", first=FIRST, last=LAST))
    return day
