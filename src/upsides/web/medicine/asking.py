"""What the pages on medicines are asked for: a period, a number of days, a day, places."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final
from urllib.parse import urlencode

from django.http import QueryDict

from upsides.books.queries.moments import Moment
from upsides.errors import UnreadableError
from upsides.errors.wording import gettext
from upsides.rules import Overrides, jurisdictions
from upsides.rules.lookup import candidates
from upsides.web.shell.moments import read_day

MONTH: Final = 30
"""Days of a register where none were asked for."""
FURTHEST: Final = 366
"""Most days that contacts and lists reach over."""


@dataclass(frozen=True, slots=True)
class Period:
    """A register that was asked for: first and last day, both included, and one horse or all."""

    first: date
    last: date
    horse: int | None

    def address(self, as_of: str) -> str:
        """Return the query by which the same is found again."""
        asked = {"from": self.first.isoformat(), "to": self.last.isoformat(), "horse": self.horse or "", "as_of": as_of}
        return "?" + urlencode({name: value for name, value in asked.items() if value})


def period_of(query: QueryDict, moment: Moment) -> Period:
    """Return the period that is asked for, the last 30 days without one.

    Raises:
        UnreadableError: a day cannot be read, or the last lies before the first.
    """
    last = day_of(query.get("to", "")) or moment.day
    first = day_of(query.get("from", "")) or last - timedelta(days=MONTH - 1)
    if last < first:
        raise UnreadableError(
            gettext("period"),
            gettext("{first} to {last}", first=first, last=last),
            gettext("a first day that is not after the last"),
        )
    return Period(first, last, number_of(query.get("horse", "")))


def day_of(text: str) -> date | None:
    """Return a day as an address has it, None for none.

    Raises:
        UnreadableError: it is none.
    """
    return read_day(text) if text.strip() else None


def days_of(text: str, usual: int) -> int:
    """Return how many days are asked for, the usual number where none is.

    Raises:
        UnreadableError: it is no number from 1 to a year of them.
    """
    if not text.strip():
        return usual
    number = number_of(text.strip())
    if number is None or not 1 <= number <= FURTHEST:
        raise UnreadableError(gettext("days"), text, gettext("a number from 1 to {furthest}", furthest=FURTHEST))
    return number


def number_of(text: str) -> int | None:
    """Return a number of at most nine digits, None where the text is none."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 9 else None


def places_of(query: QueryDict, usual: list[str], known: list[str]) -> list[str]:
    """Return the jurisdictions that are asked for, the usual ones without any; unknown ones are left out."""
    asked = [place for place in query.getlist("in") if place in known or place in usual]
    return list(dict.fromkeys(asked or usual))


def ruled_places(overrides: Overrides) -> list[str]:
    """Return the jurisdictions for which a rule on stand-downs or vaccination is known."""
    return [
        place
        for place in dict.fromkeys([*sorted(overrides.places), *jurisdictions()])
        if candidates("stand-down", place, overrides) or candidates("vaccination", place, overrides)
    ]
