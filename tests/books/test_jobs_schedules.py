"""What is asked for again and again."""

from datetime import UTC, datetime, time, timedelta

import pytest

from upsides.books import clock
from upsides.books.models import Job, Schedule
from upsides.books.services import jobs as writes
from upsides.errors import ScheduleError

pytestmark = pytest.mark.django_db
State = Job.State


def at_every(minutes: int, first: str, last: str) -> list[datetime]:
    begin, end = (datetime.fromisoformat(text).replace(tzinfo=UTC) for text in (first, last))
    return [begin + timedelta(minutes=turn) for turn in range(0, int((end - begin).total_seconds()) // 60, minutes)]


@pytest.mark.parametrize("days", [("2026-03-27T12:00", "2026-03-31T12:00"), ("2026-10-23T12:00", "2026-10-27T12:00")])
@pytest.mark.parametrize("at", [time(1, 30), time(3, 30)])
def test_a_schedule_asks_once_a_day(days: tuple[str, str], at: time) -> None:
    """Over both changes of the clocks of the yard, a schedule asks once every day."""
    schedule = Schedule.objects.create(kind="fit", at=at)
    asked = []
    for moment in at_every(10, *days):
        for job in writes.due(moment):
            asked.append(moment.astimezone(clock.place().zone).date())
            assert job.schedule == schedule
            Job.objects.filter(pk=job.pk).update(state=State.DONE)
    assert len(asked) == len(set(asked)) == 4


def test_missed_days_are_asked_for_once() -> None:
    """After days in which nobody asked, the job is asked for once, and then at its next time."""
    schedule = Schedule.objects.create(kind="fit", at=time(3, 30), next_at=datetime(2026, 6, 1, 2, 30, tzinfo=UTC))
    now = datetime(2026, 6, 9, 12, 0, tzinfo=UTC)
    assert len(writes.due(now)) == 1
    assert writes.due(now) == []
    schedule.refresh_from_db()
    assert schedule.next_at == datetime(2026, 6, 10, 2, 30, tzinfo=UTC)


def test_a_schedule_that_is_off_does_not_ask() -> None:
    """Switched off, a schedule asks for nothing; one that was never looked at gets its first time and asks later."""
    off = Schedule.objects.create(kind="fit", at=time(3, 30), active=False, next_at=datetime(2026, 6, 1, tzinfo=UTC))
    fresh = Schedule.objects.create(kind="check", at=time(4, 30))
    assert writes.due(datetime(2026, 6, 9, 12, 0, tzinfo=UTC)) == []
    off.refresh_from_db()
    fresh.refresh_from_db()
    assert off.next_at == datetime(2026, 6, 1, tzinfo=UTC)
    assert fresh.next_at == datetime(2026, 6, 10, 3, 30, tzinfo=UTC)


def test_changing_a_schedule() -> None:
    """A change counts from now on; no day at all, and the time of another of its kind, are refused."""
    writes.usual_schedules()
    fit = Schedule.objects.get(kind="fit")
    writes.change_schedule(fit, time(5, 0), "5", active=True)
    fit.refresh_from_db()
    assert fit.next_at is not None
    local = fit.next_at.astimezone(clock.place().zone)
    assert (local.weekday(), local.time(), fit.next_at > clock.now()) == (5, time(5, 0), True)
    with pytest.raises(ScheduleError, match="no day of the week"):
        writes.change_schedule(fit, time(5, 0), "", active=True)
    Schedule.objects.create(kind="fit", at=time(6, 0))
    with pytest.raises(ScheduleError, match="asked for at 06:00"):
        writes.change_schedule(fit, time(6, 0), "5", active=True)
    writes.change_schedule(fit, time(5, 0), "", active=False)
    fit.refresh_from_db()
    assert fit.next_at is None


def test_what_is_usual_is_entered_once() -> None:
    """The nightly jobs are entered where there are none, and a changed one is left as it was changed."""
    writes.usual_schedules()
    Schedule.objects.filter(kind="fit").update(at=time(5, 0), active=False)
    writes.usual_schedules()
    assert sorted(Schedule.objects.values_list("kind", flat=True)) == [
        "backup", "chances", "check", "condition", "fit", "let_go", "plans", "reminders",
    ]  # fmt: skip
    assert Schedule.objects.get(kind="fit").at == time(5, 0)
