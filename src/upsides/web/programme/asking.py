"""What is asked of the pages on races to come."""

from collections.abc import Mapping
from datetime import date, timedelta

from upsides.books.queries.moments import Moment
from upsides.books.queries.staff import monday_of
from upsides.web.shell.moments import asked_day


def monday_asked(query: Mapping[str, str], moment: Moment) -> date:
    """Return the Monday of the week that is asked for, the moment's where none is.

    Raises:
        UnreadableError: it is no day.
    """
    return monday_of(asked_day(query.get("week", ""), moment))


def weeks_around(monday: date) -> tuple[date, date]:
    """Return the Mondays before and after."""
    return monday - timedelta(days=7), monday + timedelta(days=7)
