"""The clock of the books."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from upsides.books import clock
from upsides.books.clock import Place, moment_in, stamp
from upsides.books.models import Yard
from upsides.errors import ClockWentBackError

LONDON = ZoneInfo("Europe/London")
LAST = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("real", "moved"),
    [
        (datetime(2027, 1, 5, 6, 30, tzinfo=UTC), datetime(2026, 6, 20, 5, 30, tzinfo=UTC)),
        (datetime(2026, 7, 5, 23, 30, tzinfo=UTC), datetime(2026, 6, 19, 23, 30, tzinfo=UTC)),
    ],
)
def test_an_invented_yard_stands_on_its_day(real: datetime, moved: datetime) -> None:
    """The time of day in the yard's zone is kept, whatever the season, and the day is the yard's."""
    there = moment_in(Place(LONDON, date(2026, 6, 20)), real)
    assert there == moved
    assert there.astimezone(LONDON).date() == date(2026, 6, 20)
    assert there.astimezone(LONDON).time() == real.astimezone(LONDON).time()


def test_a_real_yard_has_the_real_time() -> None:
    """Without a fixed day nothing is moved."""
    assert moment_in(Place(LONDON, None), LAST) == LAST


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("now", "stamped"),
    [
        (LAST + timedelta(seconds=1), LAST + timedelta(seconds=1)),
        (LAST, LAST),
        (LAST - timedelta(seconds=90), LAST),
    ],
)
def test_a_stamp_never_goes_back(monkeypatch: pytest.MonkeyPatch, now: datetime, stamped: datetime) -> None:
    """Rows are stamped in the order in which they are written, also while a clock is set back by a little."""
    Yard.objects.update(fixed_day=None)
    monkeypatch.setattr(clock, "now", lambda: now)
    assert stamp(LAST) == stamped
    assert stamp(None) == now


@pytest.mark.django_db
def test_a_clock_far_back_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A clock well before the last row stops recording, in words that name both times and the remedy."""
    Yard.objects.update(fixed_day=None)
    monkeypatch.setattr(clock, "now", lambda: LAST - timedelta(days=400))
    with pytest.raises(ClockWentBackError, match=r"2025-01-25 09:00.*2026-03-01 09:00.*--accept-clock"):
        stamp(LAST)


@pytest.mark.django_db
def test_an_invented_yards_midnight_holds_nothing_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """An invented yard's day begins again after midnight: rows are stamped with the last one's time until then."""
    assert Yard.objects.get().fixed_day
    monkeypatch.setattr(clock, "now", lambda: LAST - timedelta(hours=20))
    assert stamp(LAST) == LAST
