"""A yard's clock moved by hand, and entries written as people write them."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest

from upsides.books import clock
from upsides.books.models import Entry, Horse, Person, Yard
from upsides.books.services.diary import Draft, record

DAY = date(2030, 5, 1)
"""A Wednesday in summer time: 5 UTC is 6 in London."""
DAWN = datetime(2030, 5, 1, 5, tzinfo=UTC)
EVE = datetime(2026, 6, 20, 19, tzinfo=UTC)
"""The evening of the invented yard's own day."""


class Hands:
    """A clock that is moved by hand, in a yard whose own clock does not stand still."""

    def __init__(self, patch: pytest.MonkeyPatch, at: datetime = DAWN) -> None:
        self.at = at
        patch.setattr(clock, "now", lambda: self.at)
        patch.setattr(clock, "today", lambda: clock.now().astimezone(clock.place().zone).date())
        Yard.objects.update(fixed_day=None)

    def to(self, at: datetime) -> datetime:
        self.at = at
        return at

    def back(self, **by: float) -> datetime:
        return self.at - timedelta(**by)


def who(login: str) -> Person:
    return Person.objects.get(login=login)


def horses(count: int) -> list[Horse]:
    return list(Horse.objects.order_by("name")[:count])


def only(count: int) -> list[Horse]:
    """Return the first horses by name, all others gone."""
    here = horses(count)
    Horse.objects.exclude(pk__in=[one.pk for one in here]).update(left=DAY)
    return here


def enter(kind: str, horse: Horse | None, at: datetime, login: str = "trainer", **values: Any) -> Entry:
    """Write now an entry of what was so, and made, at a moment."""
    typed = {name: str(value) for name, value in values.items() if name != "gallop_row"}
    about = {"horse": horse.pk if horse else None, "gallop": values.get("gallop_row")}
    draft = Draft(uuid4(), kind, about["horse"], typed, at, at, gallop=about["gallop"])
    return record(draft, who(login))
