"""The clock of the books: the server's, or for an invented yard the server's on that yard's own day.

This is the only place in the books that asks what time it is.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from django.apps import apps

from upsides.errors import ClockWentBackError

SMALL_STEP = timedelta(minutes=2)
"""A clock set back by less than this is waited out: rows are stamped with the last row's time."""


_READ: Final[ContextVar[list["Place"] | None]] = ContextVar("read", default=None)
"""Where the yard stands, once it was read; None where nothing is kept."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a yard stands in time.

    Args:
        zone: its IANA time zone.
        fixed_day: the day on which its clock stands, None for a real yard.
    """

    zone: ZoneInfo
    fixed_day: date | None


def place() -> Place:
    """Return where the yard stands; UTC before there is a yard."""
    read = _READ.get()
    if read is None:
        return _place()
    if not read:
        read.append(_place())
    return read[0]


@contextmanager
def one_place() -> Iterator[None]:
    """Read once where the yard stands, for as long as nothing that is done here changes it."""
    token = _READ.set([])
    try:
        yield
    finally:
        _READ.reset(token)


def _place() -> Place:
    found = apps.get_model("books", "Yard").objects.values_list("zone", "fixed_day").first()
    zone, fixed_day = found or ("UTC", None)
    return Place(ZoneInfo(zone), fixed_day)


def now() -> datetime:
    """Return the moment, in UTC."""
    return moment_in(place(), datetime.now(UTC))


def today() -> date:
    """Return the yard's day."""
    return now().astimezone(place().zone).date()


def moment_in(where: Place, real: datetime) -> datetime:
    """Return a moment moved to the yard's fixed day, at the same time of day there; unmoved for a real yard."""
    if where.fixed_day is None:
        return real
    local = real.astimezone(where.zone)
    return datetime.combine(where.fixed_day, local.time(), where.zone).astimezone(UTC)


def stamp(last: datetime | None) -> datetime:
    """Return when a row is recorded: now, never before the last row that was.

    Args:
        last: when the last row was recorded, None for the first.

    Raises:
        ClockWentBackError: the clock says a time well before the last row; nothing may be recorded until it is set.
    """
    moment = now()
    if last is None or moment >= last:
        return moment
    if last - moment <= SMALL_STEP or place().fixed_day is not None:
        return last
    raise ClockWentBackError(moment, last)
