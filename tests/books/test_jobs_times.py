"""When schedules ask. Times of the clock changes are those of the tz database that Python ships as tzdata."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.books.jobs.times import next_time

LONDON = ZoneInfo("Europe/London")
EVERY_DAY = "0123456"
ZONES = ["Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Hong_Kong", "America/Santiago", "UTC"]


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("after", "at", "wanted"),
    [
        # 29 March 2026: at 01:00 GMT the clocks of London go to 02:00 BST.
        ("2026-03-28T12:00", time(3, 30), "2026-03-29T02:30"),
        ("2026-03-28T12:00", time(1, 30), "2026-03-29T01:30"),
        ("2026-03-28T12:00", time(0, 30), "2026-03-29T00:30"),
        ("2026-03-29T02:30", time(3, 30), "2026-03-30T02:30"),
        # 25 October 2026: at 02:00 BST they go back to 01:00 GMT, so 01:30 comes twice.
        ("2026-10-24T12:00", time(1, 30), "2026-10-25T00:30"),
        ("2026-10-25T00:30", time(1, 30), "2026-10-26T01:30"),
        ("2026-10-25T00:45", time(1, 30), "2026-10-26T01:30"),
        ("2026-10-24T12:00", time(3, 30), "2026-10-25T03:30"),
    ],
)
def test_both_changes_of_the_clocks(after: str, at: time, wanted: str) -> None:
    """A time of day is kept across both changes; a skipped time comes late and a doubled one asks once."""
    found = next_time(at, EVERY_DAY, utc(after), LONDON)
    assert found is not None
    assert found.astimezone(UTC) == utc(wanted)


def test_only_chosen_days() -> None:
    """A schedule of Mondays and Thursdays asks on those, and one without a day never."""
    first = next_time(time(3, 30), "03", utc("2026-06-20T12:00"), LONDON)
    assert first is not None
    second = next_time(time(3, 30), "03", first, LONDON)
    assert second is not None
    assert [first.date(), second.date()] == [date(2026, 6, 22), date(2026, 6, 25)]
    assert next_time(time(3, 30), "", utc("2026-06-20T12:00"), LONDON) is None


@given(
    zone=st.sampled_from(ZONES).map(ZoneInfo),
    at=st.times().map(lambda at: at.replace(microsecond=0, fold=0)),
    after=st.datetimes(datetime(2022, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001 (UTC is put on)
)
def test_every_day_asks_exactly_once(zone: ZoneInfo, at: time, after: datetime) -> None:
    """In any zone and at any time of day, a year of a schedule of every day has each day once, in order."""
    moments = []
    for _ in range(370):
        found = next_time(at, EVERY_DAY, after, zone)
        assert found is not None
        assert found.timestamp() > after.timestamp()
        moments.append(found)
        after = found
    days = [moment.date() for moment in moments]
    assert days == [days[0] + timedelta(days=turn) for turn in range(370)]
    assert days[0] - after.astimezone(zone).date() <= timedelta(days=1)
