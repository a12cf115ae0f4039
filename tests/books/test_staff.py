"""Who works when: hours as typed, dated patterns, days off, limits of work, what binds jockeys, the yard's lists.

The limits are those of the Working Time Regulations 1998 as amended in 2002 (SI 2002/3128: under 18 at most 8 hours a
day and 40 a week) and of the Health and Safety Executive's guidance on them (48 hours a week on average).
"""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.apps import apps
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from staff_week import LONDON, MONDAY, MORNING, all_week, day_of, someone
from upsides.books import clock
from upsides.books.hours import Span, read_hours, written
from upsides.books.models import DayOff, Person, Role, Shift, Skill, Yard
from upsides.books.queries import moments
from upsides.books.queries.staff import Rider, WorkDay, Worker, at_work, riders_on, week
from upsides.books.queries.working_limits import Held, ground, over_limits, week_held
from upsides.books.riding import Riding
from upsides.books.services import staff as writes
from upsides.books.services.people import add_person, change_person, erase
from upsides.errors import (
    DayOffTwiceError,
    EndBeforeStartError,
    FarDayError,
    HoursMissingError,
    HoursUnreadableError,
)
from upsides.rules import NONE, Limit

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_britain")]


@pytest.mark.parametrize(
    ("text", "spans"),
    [
        ("6-9:30, 10-12.30", "6:00–9:30, 10:00–12:30"),
        ("6am to 2pm", "6:00–14:00"),
        ("0600-1400", "6:00–14:00"),
        ("6 – 9 and 16 – 18", "6:00–9:00, 16:00–18:00"),
        ("6-12:30pm", "6:00–12:30"),
        ("12-6pm", "12:00–18:00"),
        ("16-18; 6-12", "6:00–12:00, 16:00–18:00"),
        ("12am-1am", "0:00–1:00"),
        ("", ""),
    ],
)
def test_hours_are_read_as_typed(text: str, spans: str) -> None:
    """Hours read as people write them, in order of the day, and are written back in one way."""
    assert written(read_hours(text)) == spans


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("25:00-26", "there is no 25:00"),
        ("6-24", "there is no 24:00"),
        ("6:75-9", "there is no 6:75"),
        ("6-2", "is not after"),
        ("6-6", "is not after"),
        ("22-6", "two days"),
        ("6-9, 8-10", "overlap"),
        ("6-9, 6-9", "overlap"),
        ("2-4pm", "morning or the afternoon"),
        ("13pm-14", "there is no 13 pm"),
        ("6", "from one time to another"),
        ("early", "from one time to another"),
        (",", "no hours"),
        ("6-9 " * 100, "too long"),
    ],
)
def test_hours_that_cannot_be_are_refused(text: str, reason: str) -> None:
    """An hour past the day's last, an end before its start, an overlap and a doubtful afternoon are each refused."""
    with pytest.raises(HoursUnreadableError, match=reason):
        read_hours(text)


@given(st.lists(st.integers(0, 1439), min_size=2, max_size=6, unique=True).filter(lambda cuts: len(cuts) % 2 == 0))
def test_written_hours_read_the_same(cuts: list[int]) -> None:
    """Whatever hours are written, reading them gives the same."""
    times = [time(*divmod(cut, 60)) for cut in sorted(cuts)]
    spans = tuple(Span(*pair) for pair in zip(times[::2], times[1::2], strict=True))
    assert read_hours(written(spans)) == spans


def test_new_hours_hold_from_their_day_and_end_the_old() -> None:
    """With new hours from next Monday this week stays as it was, and next week has the new hours only."""
    rider, by, change = someone("rider"), someone("trainer"), MONDAY + timedelta(days=7)
    writes.set_hours(rider, all_week("6-12", rides=True), MONDAY - timedelta(days=70), by)
    writes.set_hours(rider, {0: read_hours("7-11")}, change, by)
    assert written(day_of("rider", change - timedelta(days=3)).spans) == "6:00–12:00"
    assert written(day_of("rider", change).spans) == "7:00–11:00"
    assert not day_of("rider", change).rides
    assert day_of("rider", change + timedelta(days=1)).spans == ()
    assert set(Shift.objects.filter(first_day__lt=change).values_list("last_day", flat=True)) == {
        change - timedelta(days=1)
    }


def test_hours_from_an_earlier_day_replace_what_was_planned_later() -> None:
    """Hours entered for this week end a change that was planned for next week, and what ended before stays."""
    rider, by = someone("rider"), someone("trainer")
    writes.set_hours(rider, all_week("5-9"), MONDAY - timedelta(days=70), by)
    writes.set_hours(rider, all_week("6-12"), MONDAY - timedelta(days=7), by)
    writes.set_hours(rider, all_week("7-11"), MONDAY + timedelta(days=7), by)
    writes.set_hours(rider, all_week("8-10"), MONDAY, by)
    mondays = [MONDAY + timedelta(weeks=n) for n in (-2, -1, 0, 1, 2)]
    assert [written(day_of("rider", day).spans) for day in mondays] == [
        "5:00–9:00", "6:00–12:00", "8:00–10:00", "8:00–10:00", "8:00–10:00",
    ]  # fmt: skip


def test_the_same_hours_twice_are_there_once() -> None:
    """Hours entered a second time write nothing; the same hours after a change are a change."""
    rider, by = someone("rider"), someone("trainer")
    for _ in range(2):
        writes.set_hours(rider, all_week("6-12"), MONDAY, by)
    assert Shift.objects.filter(person=rider).count() == 5
    assert Shift.history.filter(person=rider.pk).count() == 5
    writes.set_hours(rider, all_week("6-12", rides=True), MONDAY, by)
    assert Shift.objects.filter(person=rider, rides=True).count() == 5
    assert Shift.objects.filter(person=rider).count() == 5


def test_no_hours_end_the_hours_and_nobody_begins_with_none() -> None:
    """Hours can end from a day on; for somebody without any, none are refused; a far year is a slip."""
    rider, by = someone("rider"), someone("trainer")
    with pytest.raises(HoursMissingError):
        writes.set_hours(rider, {}, MONDAY, by)
    with pytest.raises(FarDayError):
        writes.set_hours(rider, all_week("6-12"), date(2206, 3, 23), by)
    assert not Shift.objects.exists()
    writes.set_hours(rider, all_week("6-12"), MONDAY - timedelta(days=7), by)
    writes.set_hours(rider, {}, MONDAY, by)
    assert day_of("rider", MONDAY - timedelta(days=7)).spans
    assert not [one for one in week(moments.now(), MONDAY) if one.number == rider.pk and one.known]


def test_not_entered_is_not_free() -> None:
    """Who has no hours entered is told from somebody who is free on that day."""
    writes.set_hours(someone("rider"), {0: MORNING}, MONDAY, someone("trainer"))
    known = {one.name: (one.known, one.days[0].spans) for one in at_work(moments.now(), MONDAY + timedelta(days=1))}
    assert known[someone("rider").name] == (True, ())
    assert known[someone("carer").name] == (False, ())
    assert someone("vet").name not in known
    assert someone("owner").name not in known


def test_days_off_over_a_weekend() -> None:
    """Friday to Monday off are four days on which nobody works, whatever the hours say, and Tuesday is worked."""
    rider, by, friday = someone("rider"), someone("trainer"), MONDAY + timedelta(days=4)
    writes.set_hours(rider, all_week("6-12", 7), MONDAY - timedelta(days=70), by)
    writes.take_off(rider, friday, friday + timedelta(days=3), DayOff.Why.HOLIDAY, by)
    days = [day_of("rider", friday + timedelta(days=n)) for n in range(-1, 5)]
    assert [bool(one.spans) for one in days] == [True, False, False, False, False, True]
    assert {one.away for one in days[1:5]} == {"holiday"}
    assert {one.away_until for one in days[1:5]} == {friday + timedelta(days=3)}


def test_off_sick_said_twice_is_said_once_and_goes_on() -> None:
    """A second tap writes nothing, and sick again on the day after makes the stretch a day longer."""
    rider, by = someone("rider"), someone("head_person")
    first = writes.off_sick(rider, MONDAY, by)
    assert writes.off_sick(rider, MONDAY, by).pk == first.pk
    writes.off_sick(rider, MONDAY + timedelta(days=1), by)
    writes.off_sick(rider, MONDAY + timedelta(days=4), by)
    assert list(DayOff.objects.filter(person=rider).values_list("first_day", "last_day")) == [
        (MONDAY, MONDAY + timedelta(days=1)),
        (MONDAY + timedelta(days=4), MONDAY + timedelta(days=4)),
    ]
    assert DayOff.history.filter(history_user=by).count() == 3


def test_sick_on_holiday_is_told_as_sick() -> None:
    """Of two kinds of days off on one day sickness is told; the same kind twice is refused."""
    rider, by = someone("rider"), someone("trainer")
    writes.take_off(rider, MONDAY, MONDAY + timedelta(days=6), DayOff.Why.HOLIDAY, by)
    writes.off_sick(rider, MONDAY, by)
    assert [day_of("rider", MONDAY + timedelta(days=n)).away for n in (0, 1)] == ["sick", "holiday"]
    with pytest.raises(DayOffTwiceError):
        writes.take_off(rider, MONDAY + timedelta(days=6), MONDAY + timedelta(days=8), DayOff.Why.HOLIDAY, by)
    with pytest.raises(EndBeforeStartError):
        writes.take_off(rider, MONDAY, MONDAY - timedelta(days=1), DayOff.Why.COURSE, by)
    with pytest.raises(FarDayError):
        writes.take_off(rider, MONDAY, date(2206, 1, 1), DayOff.Why.COURSE, by)
    assert DayOff.objects.count() == 2


def test_back_at_work_keeps_the_days_that_were() -> None:
    """Back on Wednesday leaves Monday and Tuesday as days off; days that lie ahead are taken back whole."""
    rider, by = someone("rider"), someone("trainer")
    row = writes.take_off(rider, MONDAY, MONDAY + timedelta(days=6), DayOff.Why.SICK, by)
    writes.back_from(row, MONDAY + timedelta(days=2), by)
    row.refresh_from_db()
    assert (row.first_day, row.last_day) == (MONDAY, MONDAY + timedelta(days=1))
    writes.back_from(row, MONDAY + timedelta(days=5), by)
    assert DayOff.objects.get().last_day == MONDAY + timedelta(days=1)
    writes.back_from(row, MONDAY, by)
    assert not DayOff.objects.exists()


def test_hours_of_the_night_on_which_the_clocks_change() -> None:
    """From midnight to six on the Sunday on which the clocks go forward are five hours, and one to two is none."""
    sunday = MONDAY + timedelta(days=6)
    assert WorkDay(sunday, read_hours("0-6")).hours(LONDON) == 5
    assert WorkDay(sunday, read_hours("1-2")).hours(LONDON) == 0
    assert WorkDay(sunday, read_hours("1:30-2")).hours(LONDON) == 0
    assert WorkDay(sunday - timedelta(days=1), read_hours("0-6")).hours(LONDON) == 6
    rider = someone("rider")
    writes.set_hours(rider, {6: read_hours("1:30-2, 6-12")}, MONDAY, someone("trainer"))
    assert held().over == {}


def held(monday: date = MONDAY, people: list[Worker] | None = None) -> Held:
    """Return a week held against the limits of Britain."""
    now = moments.now()
    return week_held(now, monday, people or week(now, monday), ground(now, NONE))


@pytest.mark.parametrize(("ends", "limits"), [("14:30", []), ("14:31", [Limit.WEEK, Limit.DAY])])
def test_under_18_a_minute_more_is_over(ends: str, limits: list[Limit]) -> None:
    """At 17 five days of eight hours are within day and week, and one minute more on a Friday is over both."""
    rider = someone("rider")
    change_person(
        rider, someone("trainer"), name="R", roles=["rider"], login="rider", riding=Riding(born=date(2008, 9, 1))
    )
    days = all_week("6-10, 10:30-14:30", 4) | {4: read_hours(f"6-10, 10:30-{ends}")}
    writes.set_hours(rider, days, MONDAY, someone("trainer"))
    found = held().over.get(rider.pk, ())
    assert sorted(one.limit for one in found) == sorted(limits)
    if limits:
        day = next(one for one in found if one.limit is Limit.DAY)
        assert (day.first, round(day.value * 60)) == (MONDAY + timedelta(days=4), 481)


def test_on_the_eighteenth_birthdays_week_the_limits_of_adults_come() -> None:
    """Who is 18 on the Monday is held to an adult's limits in that week, and to a young worker's in the one before."""
    rider = someone("rider")
    Person.objects.filter(pk=rider.pk).update(born=MONDAY.replace(year=MONDAY.year - 18))
    writes.set_hours(rider, all_week("6-10, 10:30-15"), MONDAY - timedelta(days=70), someone("trainer"))
    assert held().over == {}
    before = held(MONDAY - timedelta(days=7)).over[rider.pk]
    assert {one.limit for one in before} == {Limit.DAY, Limit.WEEK}


def test_days_off_do_not_count_as_work() -> None:
    """A young worker's long week is within the limits once one of its days is off."""
    rider, by = someone("rider"), someone("trainer")
    Person.objects.filter(pk=rider.pk).update(born=date(2008, 9, 1))
    writes.set_hours(rider, all_week("6-10, 10:30-14:30", 6), MONDAY, by)
    assert {one.limit for one in held().over[rider.pk]} == {Limit.WEEK, Limit.WEEKLY_REST}
    writes.take_off(rider, MONDAY + timedelta(days=4), MONDAY + timedelta(days=5), DayOff.Why.DAY_OFF, by)
    assert held().over == {}


def test_one_long_week_is_not_a_long_average() -> None:
    """An adult's week of 54 hours is told where it is the average, and is not after 16 weeks of 30."""
    rider, by = someone("rider"), someone("trainer")
    long = all_week("6-10, 10:30-15:30", 6)
    writes.set_hours(rider, long, MONDAY, by)
    assert [(one.limit, one.value, one.allowed) for one in held().over[rider.pk]] == [(Limit.AVERAGE, 54, 48)]
    Shift.objects.all().delete()
    writes.set_hours(rider, all_week("6-12", 5), MONDAY - timedelta(weeks=16), by)
    writes.set_hours(rider, long, MONDAY, by)
    assert held().over == {}
    assert [one.value for one in held(MONDAY + timedelta(weeks=16)).over[rider.pk]] == [54]


def test_rest_between_sunday_and_monday_is_looked_at() -> None:
    """Late before early is short of rest in the week of the late day, by an hour more where the clocks go forward."""
    rider, by = someone("rider"), someone("trainer")
    writes.set_hours(rider, {6: read_hours("18-22"), 0: read_hours("6-10")}, MONDAY, by)
    sunday = MONDAY + timedelta(days=6)
    found = held().over[rider.pk]
    assert [(one.limit, one.first, one.value) for one in found] == [(Limit.DAILY_REST, sunday, 8)]
    writes.set_hours(rider, {5: read_hours("18-22"), 6: read_hours("6-10, 10:30-14")}, MONDAY, by)
    found = held().over[rider.pk]
    assert [(one.limit, one.first, one.value) for one in found] == [(Limit.DAILY_REST, sunday - timedelta(days=1), 7)]


def test_a_country_without_limits_is_said_to_have_none() -> None:
    """Where no limit is known the answer says so, and not that nothing is over."""
    writes.set_hours(someone("rider"), all_week("4-20", 7), MONDAY, someone("trainer"))
    Yard.objects.update(jurisdiction="HK")
    assert not held().ruled
    Yard.objects.update(jurisdiction="GB")
    assert held().ruled
    assert someone("rider").pk in held().ageless


def test_a_plan_can_be_held_before_it_is_kept() -> None:
    """What new hours would go over is told from rows that are not written yet."""
    rider = someone("rider")
    plan = writes.replanned(rider, all_week("6-10, 10:30-15"), MONDAY).after
    over = over_limits(plan, [], date(2008, 9, 1), MONDAY, ground(moments.now(), NONE))
    assert {one.limit for one in over} == {Limit.DAY, Limit.WEEK}
    assert not Shift.objects.exists()


def test_riders_of_a_day() -> None:
    """Who rides on the day is there with weight, skill and the hours ridden; who is off, free or on foot is not."""
    by = someone("trainer")
    rides, walks = all_week("6-12", rides=True), all_week("6-12")
    for login, hours in (("rider", rides), ("carer", rides), ("assistant", rides), ("head_person", walks)):
        writes.set_hours(someone(login), hours, MONDAY - timedelta(days=70), by)
    writes.set_hours(someone("secretary"), {1: MORNING}, MONDAY, by)
    Person.objects.filter(login="rider").update(weight_kg=58.0, skill=Skill.MOST)
    writes.off_sick(someone("carer"), MONDAY, by)
    erased = add_person("Gone", [Role.RIDER])
    writes.set_hours(erased, rides, MONDAY, by)
    erase(erased, by)
    now = moments.now()
    with CaptureQueriesContext(connection) as asked:
        found = riders_on(now, MONDAY)
    assert [(one.name, one.weight_kg, one.skill, written(one.spans)) for one in found] == [
        (someone("assistant").name, None, Skill.UNKNOWN, "6:00–12:00"),
        (someone("rider").name, 58.0, Skill.MOST, "6:00–12:00"),
    ]
    assert len(asked) == 3


def test_the_number_of_reads_does_not_grow_with_people() -> None:
    """At work on a day, and a week with its limits, take as many reads for many people as for few."""

    def reads() -> tuple[int, int]:
        now = moments.now()
        with CaptureQueriesContext(connection) as one:
            at_work(now, MONDAY)
        with CaptureQueriesContext(connection) as other:
            week_held(now, MONDAY, week(now, MONDAY), ground(now, NONE))
        return len(one), len(other)

    by = someone("trainer")
    writes.set_hours(someone("rider"), all_week("6-12"), MONDAY, by)
    before = reads()
    for n in range(8):
        writes.set_hours(add_person(f"Extra {n}", [Role.RIDER]), all_week("6-12"), MONDAY, by)
    assert reads() == before
    assert before[0] == 4


def test_as_of_a_moment_the_hours_are_as_they_were(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hours and days off that were changed later are, as of the moment before, what they were."""
    at = datetime(2026, 3, 25, 9, tzinfo=UTC)
    Yard.objects.update(fixed_day=None)
    Person.history.update(history_date=at - timedelta(days=400))
    apps.get_model("books", "HistoricalPost").objects.update(history_date=at - timedelta(days=400))
    rider, by = someone("rider"), someone("trainer")
    monkeypatch.setattr(clock, "now", lambda: at)
    writes.set_hours(rider, all_week("6-12", rides=True), MONDAY, by)
    row = writes.off_sick(rider, MONDAY + timedelta(days=3), by)
    then = at + timedelta(minutes=1)
    monkeypatch.setattr(clock, "now", lambda: at + timedelta(hours=1))

    def told() -> tuple[object, object, list[Rider]]:
        past = moments.as_of(then)
        return at_work(past, MONDAY), week(past, MONDAY), riders_on(past, MONDAY)

    before = told()
    writes.set_hours(rider, all_week("8-9"), MONDAY, by)
    writes.back_from(row, MONDAY, by)
    assert told() == before
    assert [one.number for one in before[2]] == [rider.pk]
    assert written(day_of("rider", MONDAY).spans) == "8:00–9:00"
