"""When a schedule asks next."""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

WEEK = 7


def next_time(at: time, weekdays: str, after: datetime, zone: ZoneInfo) -> datetime | None:
    """Return the first moment after another at which a schedule asks.

    A time that the clocks skip in spring counts as if they had not been changed yet: 01:30 is then an hour later on
    the new clock. Of a time that comes twice in autumn the first is meant. So every chosen day asks once.

    Args:
        at: time of day on the yard's clock.
        weekdays: digits of the chosen days, Monday 0.
        after: the moment after which, with a zone.
        zone: the yard's zone.

    Returns:
        The moment in the yard's zone; None when no day is chosen.
    """
    today = after.astimezone(zone).date()
    for days in range(-1, WEEK + 2):
        day = today + timedelta(days=days)
        moment = datetime.combine(day, at, zone)
        if str(day.weekday()) in weekdays and moment.timestamp() > after.timestamp():
            return moment
    return None
