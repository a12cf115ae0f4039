"""What a morning of the yard takes: said by the yard, assumed, by who rides; and as of an earlier moment."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from django.conf import settings

import worlds
from mornings import Hands, enter, only, who
from upsides.books.hours import read_hours
from upsides.books.jobs.plans import plan_all
from upsides.books.models import DayOff, Engagement, Gallop, Horse, Person, Post, Shift
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.planned_work import Wished, routine, to_work
from upsides.books.queries.string_limits import gallops_filled, string_limits
from upsides.books.services.staff import set_hours, take_off
from upsides.books.services.yard_limits import change_limits
from upsides.errors import WorkClashError
from upsides.planning.work.plans import plan_work
from upsides.planning.work.routine import Mornings

pytestmark = pytest.mark.django_db
DAWN = datetime(2026, 6, 20, 4, tzinfo=UTC)
MONDAY = date(2026, 6, 22)
ASSUMED = Mornings(0.5, 4)


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    Shift.objects.all().delete()
    return Hands(monkeypatch, DAWN)


@pytest.fixture
def riders(hands: Hands) -> list[Person]:
    """The yard's riders, who ride from Monday to Friday."""
    found = [post.person for post in Post.objects.filter(role="rider").order_by("person")]
    for one in found:
        set_hours(one, dict.fromkeys(range(5), read_hours("6-10", rides=True)), date(2026, 1, 5), who("trainer"))
    return found


def test_what_the_yard_does_not_say_is_assumed(riders: list[Person]) -> None:
    """Half of the string, rounded up, works fast; a rider rides four; nobody rides on a Sunday without hours."""
    found = string_limits(moments.now(), MONDAY, 7, 9, ASSUMED)
    assert found.workers == dict.fromkeys(range(7), 5)
    assert found.riders == {day: 4 * len(riders) if day < 5 else 0 for day in range(7)}
    assert not found.slots


def test_what_the_yard_says_goes_before(riders: list[Person], hands: Hands) -> None:
    """Its own numbers of weekday, rider and gallop; who is off does not ride; before it said so none of them holds."""
    gallop = Gallop.objects.create(name="Long Gallop", surface="turf")
    hands.to(DAWN + timedelta(minutes=30))
    change_limits([4] * 7, None, {}, who("trainer"))
    before = hands.at
    hands.to(DAWN + timedelta(hours=1))
    change_limits([None, 3, None, None, 2, None, None], 5, {gallop.pk: 12}, who("trainer"))
    take_off(riders[0], MONDAY, MONDAY, DayOff.Why.COURSE, who("trainer"))
    found = string_limits(moments.now(), MONDAY, 7, 9, ASSUMED)
    assert [found.workers[day] for day in range(7)] == [5, 3, 5, 5, 2, 5, 5]
    assert (found.riders[0], found.riders[1]) == (5 * (len(riders) - 1), 5 * len(riders))
    assert found.slots == {(gallop.pk, day): 12 for day in range(7)}
    assert found.names == {gallop.pk: gallop.name}
    then = string_limits(Moment(DAWN.date(), before), MONDAY, 7, 9, ASSUMED)
    assert (then.workers[1], then.slots) == (4, {})


def test_exercises_fill_the_gallop_where_they_mostly_go(hands: Hands) -> None:
    """Fast work that went to one gallop on most of four weeks' days fills it, as soon as that gallop has a limit."""
    (horse,) = only(1)
    one, other = (Gallop.objects.create(name=name, surface="turf") for name in ("Long Gallop", "Short Gallop"))
    for back, gallop in ((3, one), (10, one), (17, other), (40, other), (41, other), (42, other)):
        enter("exercise", horse, hands.back(days=back), exercise="fast", gallop=gallop.pk)
    assert gallops_filled(moments.now()) == {}
    change_limits([None] * 7, None, {one.pk: 12, other.pk: 12}, who("trainer"))
    assert gallops_filled(moments.now()) == {"fast": one.pk}


def test_nothing_is_planned_on_a_gallop_that_is_shut(hands: Hands, tmp_path: Path) -> None:
    """Where fast work goes to a gallop that was shut today, none is planned on it tomorrow; it may be the day after."""
    (horse,) = only(1)
    gallop, today = Gallop.objects.create(name="Long Gallop", surface="turf"), moments.now()
    for back in (3, 10, 17):
        enter("exercise", horse, hands.back(days=back), exercise="fast", gallop=gallop.pk)
    tomorrow, string = Wished(today.day + timedelta(days=1)), [horse]
    (before,) = to_work(tmp_path, today, string, tomorrow, routine(tmp_path, today))
    assert before.closed == frozenset()
    enter("gallop_state", None, hands.back(hours=1), gallop_row=gallop.pk, state="closed")
    ours = routine(tmp_path, today)
    (shut,) = to_work(tmp_path, today, string, tomorrow, ours)
    fast = {name for name, one in shut.routine.orders.items() if one.gallop == gallop.pk}
    assert fast
    assert shut.closed == {(gallop.pk, 0)}
    assert shut.gallops == {gallop.pk: "Long Gallop"}
    fixed = replace(shut, pins={0: min(fast)}, past=(), gap=1)
    with pytest.raises(WorkClashError, match="gallop Long Gallop is shut on"):
        plan_work(fixed, ours.prices)
    assert plan_work(replace(fixed, pins={1: min(fast)}), ours.prices)


def test_a_race_needs_no_rider_of_the_yard(riders: list[Person], tmp_path: Path) -> None:
    """On a Sunday on which nobody rides a horse is not ridden, but it runs where it is declared, and has a plan."""
    ran, other = only(2)
    sunday = DAWN.date() + timedelta(days=1)
    Engagement.objects.create(horse=ran, race="Coombe Stakes", course="Coombe", zone="Europe/London",
                              day=sunday, distance_m=1200, state="declared")  # fmt: skip
    now = moments.now()
    ours = routine(tmp_path, now)
    found = to_work(tmp_path, now, [ran, other], Wished(sunday), ours)
    assert [0 in one.unridden for one in found] == [False, True]
    assert plan_work(found[0], ours.prices)[0].plan.days[0] == "race"


def test_the_nightly_plan_keeps_to_the_yards_limits(hands: Hands, riders: list[Person]) -> None:
    """With one horse in fast work a morning no day of the kept plan has two; days that bind, and gallops, are kept."""
    here = only(4)
    Horse.objects.update(left="2026-06-01")
    Horse.objects.filter(pk__in=[one.pk for one in here]).update(joined="2026-01-05", left=None)
    for one in here:
        for back in range(14, 0, -1):
            enter("exercise", one, hands.back(days=back), exercise="off" if back % 7 == 6 else "hack_canter")

    def fast() -> list[int]:
        values = moments.answer(PLAN, moments.now()).values  # type: ignore[union-attr]
        exercises = {name: row[1] for name, row in values["orders"].items()}
        days = [one["days"] for one in values["horses"].values()]
        return [sum(exercises[own[day][0]] in {"fast", "half_speed"} for own in days) for day in range(10)]

    told: Callable[[float, str], None] = lambda _share, _doing: None  # noqa: E731 - nobody listens
    folder = settings.UPSIDES_LIBRARY
    plan_all(folder, DAWN.date(), told)
    assert max(fast()) == 2, "half of four horses"
    change_limits([1] * 7, None, {}, who("trainer"))
    plan_all(folder, DAWN.date(), told)
    assert max(fast()) == 1
    values = moments.answer(PLAN, moments.now()).values  # type: ignore[union-attr]
    assert {row[0] for row in values["tight"]} >= {"workers"}
    assert all(row[3] < row[4] for row in values["tight"])
    gallop = Gallop.objects.create(name="Long Gallop", surface="turf")
    for one in here:
        for exercise in ("fast", "half_speed"):
            enter("exercise", one, hands.back(days=20), exercise=exercise, gallop=gallop.pk)
    change_limits([1] * 7, None, {gallop.pk: 12}, who("trainer"))
    plan_all(folder, DAWN.date(), told)
    values = moments.answer(PLAN, moments.now()).values  # type: ignore[union-attr]
    filled = {row[4] for row in values["orders"].values() if row[1] in {"fast", "half_speed"}}
    assert filled == {gallop.pk}, "the kept plan says which gallop its work fills"
