"""What is due: each kind by the day that makes it so, in few reads, overdue first."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from medicine_yard import boosted, dose, engage, enter, horse, stands_in, treat
from upsides.books import clock
from upsides.books.models import Move
from upsides.books.queries import moments
from upsides.books.queries.due import Due, DueKind, due
from upsides.books.queries.isolation import arrivals
from upsides.rules import add_months, override

pytestmark = pytest.mark.django_db


def found(kind: DueKind, days: int = 7) -> list[Due]:
    return [one for one in due(moments.now(), days) if one.kind is kind]


def lasts(kind: DueKind, days: int = 7) -> list[tuple[int, date | None]]:
    return [(one.horse, one.last) for one in found(kind, days)]


def last_booster_ending(on: date) -> date:
    """Return the latest day of a booster whose six calendar months end on a day."""
    return max(day for n in range(190) if add_months(day := on - timedelta(days=n), 6) == on)


def test_a_booster_is_due_when_six_months_end_within_the_days_asked() -> None:
    """A booster lasts six calendar months (Britain since 15 January 2023); it is listed when they end soon."""
    today = stands_in("GB")
    first, later = today + timedelta(days=7), today + timedelta(days=8)
    for place, end in ((0, first), (1, later)):
        boosted(horse(place), last_booster_ending(end))
    assert lasts(DueKind.VACCINATION) == [(horse().pk, first)]
    assert lasts(DueKind.VACCINATION, 8) == [(horse().pk, first), (horse(1).pk, later)]
    assert lasts(DueKind.VACCINATION, 2) == []


@pytest.mark.parametrize(("days", "listed", "broken"), [(13, False, False), (14, True, False), (60, True, False),
                                                        (61, True, True)])  # fmt: skip
def test_a_second_dose_is_due_from_when_its_days_open(days: int, *, listed: bool, broken: bool) -> None:
    """A second dose belongs between the 21st and the 60th day (Racehorse Owners Association, 8 October 2021)."""
    today = stands_in("GB")
    given = today - timedelta(days=days)
    dose(horse(), given)
    items = found(DueKind.VACCINATION)
    assert bool(items) is listed
    if items:
        end = None if broken else given + timedelta(days=60)
        assert (items[0].last, items[0].overdue(today)) == (end, broken)


def test_what_is_overdue_stands_first() -> None:
    """What should have been done before today comes before all else, the rest by its last day."""
    today = stands_in("GB")
    enter(
        "farrier",
        horse(0),
        {"done": "new", "again": (today + timedelta(days=1)).isoformat()},
        today - timedelta(days=20),
    )
    enter(
        "farrier",
        horse(1),
        {"done": "new", "again": (today - timedelta(days=9)).isoformat()},
        today - timedelta(days=50),
    )
    dose(horse(2), today - timedelta(days=61))
    order = [(one.horse, one.overdue(today)) for one in due(moments.now())]
    assert order == [(horse(2).pk, True), (horse(1).pk, True), (horse(0).pk, False)]


@pytest.mark.parametrize(
    ("kind", "due_kind", "values"),
    [
        ("vet_finding", DueKind.VET, {"text": "Filling"}),
        ("farrier", DueKind.FARRIER, {"done": "new"}),
        ("teeth", DueKind.TEETH, {"text": "Rasped"}),
    ],
)
def test_who_named_a_day_is_waited_for_until_somebody_came(
    kind: str, due_kind: DueKind, values: dict[str, object]
) -> None:
    """A named day is due until one comes on it, at most three days early, or names another."""
    today = stands_in("GB")
    named = today + timedelta(days=2)
    enter(kind, horse(), values | {"again": named.isoformat()}, today - timedelta(days=30))
    enter(kind, horse(), values, today - timedelta(days=10))
    assert lasts(due_kind) == [(horse().pk, named)]
    assert lasts(due_kind, 1) == []
    enter(kind, horse(), values, today - timedelta(days=1))
    assert lasts(due_kind) == []
    enter(kind, horse(), values | {"again": today.isoformat()}, today - timedelta(days=1), hour=15)
    assert lasts(due_kind) == [(horse().pk, today)]


def test_a_course_ends_once_however_often_it_was_given() -> None:
    """A course is entered anew with every dose and ends once; one that ended yesterday is over, not overdue."""
    today = stands_in("GB")
    for days in (2, 1, 0):
        treat(horse(), today - timedelta(days=days), course_end=today.isoformat())
    treat(horse(1), today - timedelta(days=3), course_end=(today - timedelta(days=1)).isoformat())
    assert lasts(DueKind.COURSE_ENDS) == [(horse().pk, today)]


def test_eggs_are_counted_again_after_a_quarter_and_many_ask_for_a_word_with_the_vet() -> None:
    """A count is due three months after the last; 200 or more without a wormer since are told, fewer are not."""
    today = stands_in("GB")
    for place, days, eggs in ((0, 100, 50), (1, 10, 200), (2, 10, 199), (3, 10, 800)):
        enter("egg_count", horse(place), {"epg": str(eggs)}, today - timedelta(days=days))
    enter("worming", horse(3), {"product": "Marshpaste", "quantity": "one syringe"}, today - timedelta(days=9))
    assert lasts(DueKind.EGG_COUNT) == [(horse().pk, add_months(today - timedelta(days=100), 3))]
    assert [(one.horse, one.count) for one in found(DueKind.WORMING)] == [(horse(1).pk, 200)]
    known = {horse(place).pk for place in range(4)}
    assert known.isdisjoint(number for number, _name in due(moments.now()).uncounted)


def test_a_stand_down_is_listed_while_it_runs_with_the_race_that_it_reaches_over() -> None:
    """A corticosteroid into a joint keeps a horse from racing before D+15 (British Horseracing Authority 2017)."""
    today = stands_in("GB")
    given = today - timedelta(days=5)
    treat(horse(), given, what="corticosteroid", route="ia")
    race = engage(horse(), given + timedelta(days=14))
    engage(horse(), given + timedelta(days=15))
    (one,) = found(DueKind.STAND_DOWN, 2)
    assert (one.last, one.engagements) == (given + timedelta(days=15), (race,))
    assert not one.overdue(today)
    treat(horse(1), today - timedelta(days=15), what="corticosteroid", route="ia")
    assert len(found(DueKind.STAND_DOWN)) == 1


def test_an_engagement_abroad_is_held_against_the_rules_there() -> None:
    """Vaccinated in an Irish yard, a horse may run there after six free days and in France after four only."""
    today = stands_in("IE")
    dose(horse(), today)
    engage(horse(), today + timedelta(days=5), "FR")
    assert all(one.engagements == () for one in found(DueKind.STAND_DOWN))
    race = engage(horse(), today + timedelta(days=4), "FR")
    assert [one.engagements for one in found(DueKind.STAND_DOWN) if one.engagements] == [(race,)]


def test_a_booster_between_engagements_is_told_while_the_good_days_last() -> None:
    """In Ireland the dose must leave six free days before a race: the good days end on the seventh day before it."""
    today = stands_in("IE")
    end = today + timedelta(days=30)
    boosted(horse(), last_booster_ending(end))
    race = today + timedelta(days=12)
    engage(horse(), race, "IE")
    (one,) = found(DueKind.BOOSTER_BETWEEN)
    assert (one.since, one.last) == (today, race - timedelta(days=7))
    assert [(window.first, window.last) for window in one.best] == [
        (today, race - timedelta(days=7)), (race + timedelta(days=1), end),
    ]  # fmt: skip
    assert found(DueKind.BOOSTER_BETWEEN, 4) == []


def test_horses_without_any_dose_are_told_apart_and_only_where_doses_are_asked_for() -> None:
    """A horse of which no dose is entered is named, not called overdue; where no rule is known nobody is."""
    stands_in("GB")
    dose(horse(), clock.today())
    names = {number for number, _name in due(moments.now()).undosed}
    assert names == {one.pk for one in moments.in_the_yard(moments.now())} - {horse().pk}
    stands_in("XU")
    assert (due(moments.now()).diseases, due(moments.now()).undosed) == ((), ())


def test_rules_of_the_yards_own_are_asked_first() -> None:
    """A stand-down of the yard's own on a substance is listed like a published one."""
    today = stands_in("XU")
    treat(horse(), today, substance="Flunixin")
    own = override("stand-down", "house rule", "XU", "the trainer, 2030", treatment="flunixin", applies_to=["race"],
                   count=7, unit="days", counting="free", says="seven days free")  # fmt: skip
    assert found(DueKind.STAND_DOWN) == []
    (one,) = [each for each in due(moments.now(), 7, own) if each.kind is DueKind.STAND_DOWN]
    assert one.last == today + timedelta(days=8)


def test_more_horses_cost_no_more_reads() -> None:
    """The list of a yard takes as many reads for thirty horses with entries as for one."""
    today = stands_in("GB")

    def fill(place: int) -> None:
        boosted(horse(place), today - timedelta(days=179))
        treat(horse(place), today, what="corticosteroid", route="ia", course_end=today.isoformat())
        enter("farrier", horse(place), {"done": "new", "again": today.isoformat()}, today - timedelta(days=9))
        engage(horse(place), today + timedelta(days=9))

    def reads() -> int:
        with CaptureQueriesContext(connection) as told:
            due(moments.now())
        return len(told)

    fill(0)
    first = reads()
    for place in range(1, 12):
        fill(place)
    assert reads() == first
    assert first <= 16


def test_who_came_lately_is_asked_for_two_temperatures_a_day() -> None:
    """A horse that joined or came back lately is listed, each day with what was measured before and after noon."""
    today = stands_in("GB")
    new, back, old = horse(), horse(1), horse(2)
    new.joined = today - timedelta(days=1)
    new.save()
    for to, days in (("turned_out", 40), ("training", 2)):
        Move.objects.create(horse=back, to=to, first_day=today - timedelta(days=days))
    Move.objects.create(horse=old, to="training", first_day=today - timedelta(days=1))
    enter("temperature", new, {"celsius": "37.9"}, today - timedelta(days=1), hour=7)
    enter("temperature", new, {"celsius": "38.2"}, today - timedelta(days=1), hour=17)
    enter("temperature", new, {"celsius": "38.0"}, today, hour=6)
    first, second = arrivals(moments.now())
    assert (first.horse, first.back, first.until) == (new.pk, None, today + timedelta(days=12))
    assert [(each.morning, each.evening, each.missing) for each in first.days] == [(38.0, None, 1), (37.9, 38.2, 0)]
    assert (second.horse, second.came, second.back) == (back.pk, today - timedelta(days=2), Move.To.TURNED_OUT)
    assert not first.apart
