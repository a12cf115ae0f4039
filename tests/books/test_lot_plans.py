"""Plans of lots made by a worker: kept, known as of a moment, taken into the list once, or refused."""

import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from mornings import DAY, Hands, enter, only, who
from upsides.books.jobs import lots as work
from upsides.books.jobs.running import run
from upsides.books.jobs.worker import make_ready
from upsides.books.lot_answers import PlannedLots, kept_lots, read_lots
from upsides.books.lot_solving import solve_lots
from upsides.books.lot_words import clash_words
from upsides.books.models import Answer, Caution, Entry, Horse, Job, Person, Post
from upsides.books.queries import moments
from upsides.books.queries.lot_morning import OWN_LOTS, Gathered, gather
from upsides.books.queries.lot_plans import asked_for, orders_as_planned, plan_numbered, plan_of, wanted
from upsides.books.queries.lots import orders
from upsides.books.services.jobs import ask, cancel
from upsides.books.services.lists import order, ride_done
from upsides.books.services.lots import take_lots
from upsides.errors import KindNotYoursError, LotsBrokenError, LotsClashError
from upsides.planning.lots import Lots
from upsides.planning.morning import Plan, Ride
from upsides.planning.prices import SHIPPED, Parts
from upsides.planning.rule import Clash, Rule
from upsides.planning.solving import Progress, Watch

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def hands(db: None, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch)


@pytest.fixture
def string(hands: Hands) -> list[Horse]:
    """Three horses, ordered to canter in the first lot; a second rider."""
    three = only(3)
    Post.objects.create(person=Person.objects.create(name="Q. Tallow", skill=4), role="rider")
    for place, horse in enumerate(three):
        values = {"exercise": "steady_canter", "lot": "1", "place": str(place + 1)}
        order(horse.pk, DAY, values, who("trainer"))
    return three


@pytest.fixture
def planned(folder: Path, seat: Any) -> Callable[..., Job]:
    """A function that plans a day as a worker would."""

    def done(day: date = DAY, without: int | None = None) -> Job:
        job = ask("lots", wanted(day, without))
        assert asked_for(day, without) == job
        run(job.pk)
        job.refresh_from_db()
        return job

    return done


def test_what_is_kept_reads_back() -> None:
    """A plan with a horse on the walker, its parts and a clash are after reading what they were before."""
    plan = Plan((Ride(1, 1, 7, 1), Ride(2)))
    for one in (
        PlannedLots(plan, Parts(usual=1), Parts(usual=10), 10.0),
        PlannedLots(Plan(), clash=Clash(((Rule("skill", (1,)),), (Rule("rider"),)), without=(Rule("rider"),))),
        PlannedLots(Plan(), clash=Clash(((Rule("skill", (1,)),),), any_one=True)),
    ):
        assert read_lots(kept_lots(one)) == one


def test_a_worker_plans_and_keeps_the_plan(string: list[Horse], hands: Hands, planned: Callable[..., Job]) -> None:
    """The job is done, its plan is there from that moment on and not before, and the same plan is kept once."""
    before = moments.as_of(hands.at)
    hands.to(hands.at + timedelta(minutes=5))
    job = planned()
    assert (job.state, asked_for(DAY)) == (Job.State.DONE, None), job.failure
    kept = plan_of(moments.now(), DAY)
    assert kept is not None
    assert kept.lots.proven
    assert {ride.horse for ride in kept.lots.plan.rides} == {one.pk for one in string}
    assert plan_of(before, DAY) is None
    assert plan_of(moments.as_of(hands.at), DAY) == kept
    planned()
    assert Answer.objects.filter(name="lots").count() == 1
    assert plan_numbered(kept.number, DAY) == kept
    assert plan_numbered(kept.number, DAY + timedelta(days=1)) is None


def test_a_plan_is_taken_once(string: list[Horse], folder: Path, planned: Callable[..., Job]) -> None:
    """Taking it orders lots, places and riders of the plan; taking it again writes nothing; a rider may not take it."""
    planned()
    kept = plan_of(moments.now(), DAY)
    assert kept is not None
    with pytest.raises(KindNotYoursError):
        take_lots(folder, DAY, kept.lots.plan, who("rider"))
    assert take_lots(folder, DAY, kept.lots.plan, who("trainer")) == 3
    count = Entry.objects.count()
    assert take_lots(folder, DAY, kept.lots.plan, who("trainer")) == 0
    assert Entry.objects.count() == count
    found = {horse: entry.values for horse, entry in orders(moments.now(), DAY).items()}
    for ride in kept.lots.plan.rides:
        told = found[ride.horse]
        assert (told["lot"], told["place"], told["rider"]) == (ride.lot, ride.place, ride.rider)
        assert told["exercise"] == "steady_canter"


def test_a_plan_that_does_not_fit_any_more_is_refused(
    string: list[Horse], folder: Path, planned: Callable[..., Job]
) -> None:
    """Where a rider's skill no longer does for a new caution nothing of the plan is written, and the horse is named."""
    planned()
    kept = plan_of(moments.now(), DAY)
    assert kept is not None
    for horse in string:
        Caution.objects.create(horse=horse, about="riding", text="strong", skill=4, first_day=DAY)
    Person.objects.update(skill=1)
    count = Entry.objects.count()
    with pytest.raises(LotsBrokenError, match=string[0].name):
        take_lots(folder, DAY, kept.lots.plan, who("trainer"))
    assert Entry.objects.count() == count


def test_a_horse_on_the_walker_is_taken_once(string: list[Horse], folder: Path) -> None:
    """A horse that a plan leaves in is ordered onto the walker, and the same plan can be taken again."""
    order(string[0].pk, DAY, {"exercise": "walk", "lot": "1", "text": "x"}, who("trainer"))
    rider = who("rider").pk
    plan = Plan((Ride(string[1].pk, 1, rider, 1), Ride(string[2].pk, 2, rider, 1), Ride(string[0].pk)))
    assert take_lots(folder, DAY, plan, who("trainer")) == 3
    assert orders(moments.now(), DAY)[string[0].pk].values == {"exercise": "walker", "text": "x"}
    assert take_lots(folder, DAY, plan, who("trainer")) == 0


def test_without_a_rider_it_is_another_plan(string: list[Horse], planned: Callable[..., Job], folder: Path) -> None:
    """The plan without a rider is kept beside the other, and changes only what that rider had."""
    planned()
    kept = plan_of(moments.now(), DAY)
    assert kept is not None
    take_lots(folder, DAY, kept.lots.plan, who("trainer"))
    gone = kept.lots.plan.rides[0].rider
    assert planned(DAY, gone).state == Job.State.DONE
    left = plan_of(moments.now(), DAY, gone)
    assert left is not None
    assert plan_of(moments.now(), DAY) == kept
    assert gone not in {ride.rider for ride in left.lots.plan.rides}


def test_a_stop_keeps_the_best_so_far(
    string: list[Horse], planned: Callable[..., Job], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stopped while it searches, a job ends as stopped, and the best plan that it had is kept with its bound."""

    def stopped(found: Gathered, without: int | None, watch: Watch) -> Lots:
        cancel(Job.objects.get())
        watch.tell(Progress(60.0, 40.0, 1))
        assert watch.stop()
        return replace(solve_lots(found, without), bound=-5.0)

    monkeypatch.setattr(work, "solve_lots", stopped)
    assert planned().state == Job.State.CANCELLED
    kept = plan_of(moments.now(), DAY)
    assert kept is not None
    assert (kept.lots.bound, kept.lots.proven) == (-5.0, False)


def test_a_clash_is_kept_as_the_answer(string: list[Horse], planned: Callable[..., Job]) -> None:
    """Where no plan keeps all rules, the job is done and its answer names rules that clash."""
    Person.objects.update(skill=1)
    Caution.objects.create(horse=string[0], about="riding", text="strong", skill=4, first_day=DAY)
    assert planned().state == Job.State.DONE
    kept = plan_of(moments.now(), DAY)
    assert kept is not None
    assert kept.lots.clash.any_one
    assert set(kept.lots.clash.rules) == {Rule("rider"), Rule("skill", (string[0].pk,))}


def test_too_few_riders_are_counted(string: list[Horse], planned: Callable[..., Job], folder: Path) -> None:
    """Where riders who are there have fewer rides than horses must be ridden, the clash says both numbers."""
    (folder / OWN_LOTS).write_text(SHIPPED.read_text().replace("count = 5", "count = 1"))
    Post.objects.filter(role="rider").exclude(person=who("rider")).delete()
    assert planned().state == Job.State.DONE
    kept = plan_of(moments.now(), DAY)
    assert kept is not None
    said = clash_words(kept.lots.clash, gather(folder, moments.now(), DAY))
    assert "has a rider: 3 have to be ridden, riders have room for 1 (1 there that morning)" in said


def test_riders_are_counted_for_lots_in_turn(string: list[Horse], folder: Path) -> None:
    """Of lots that are out at one time a rider has room in one: so many are said to be had."""
    Post.objects.filter(role="rider").exclude(person=who("rider")).delete()
    text = SHIPPED.read_text(encoding="utf-8").replace("minutes = 50", "minutes = 500")
    (folder / OWN_LOTS).write_text(text, encoding="utf-8")
    with pytest.raises(LotsClashError) as told:
        solve_lots(gather(folder, moments.now(), DAY))
    assert "3 have to be ridden, riders have room for 1 (1 there that morning)" in str(told.value)


def test_one_ride_is_written_as_done_once(string: list[Horse], hands: Hands) -> None:
    """One horse did what was ordered; pressed again, or where something was written already, nothing is added."""
    assert ride_done(DAY, string[0].pk, who("rider"))
    assert not ride_done(DAY, string[0].pk, who("rider"))
    enter("exercise", string[1], hands.at, exercise="walk")
    assert not ride_done(DAY, string[1].pk, who("rider"))
    assert not ride_done(DAY + timedelta(days=1), string[2].pk, who("rider"))
    entry = Entry.objects.get(kind="exercise", horse=string[0])
    assert (entry.values["exercise"], entry.values["lot"]) == ("steady_canter", 1)


def test_a_quick_worker_has_its_solver_loaded(monkeypatch: pytest.MonkeyPatch) -> None:
    """A worker for quick jobs loads what plans lots as it starts, so that the first morning does not wait for it."""
    monkeypatch.delitem(sys.modules, "upsides.books.jobs.lots", raising=False)
    make_ready()
    assert "upsides.books.jobs.lots" in sys.modules
    assert "highspy" in sys.modules


def test_a_plan_without_a_rider_keeps_the_string_on_the_wall(
    hands: Hands, folder: Path, planned: Callable[..., Job]
) -> None:
    """Of horses that stay in their lot no place is written anew, not by barns and not where one left or was done."""
    four = only(4)
    riders = [who("rider"), *(Person.objects.create(name=f"R. {n}", skill=4) for n in "ABCD")]
    for rider in riders[1:]:
        Post.objects.create(person=rider, role="rider")
    for place, (horse, rider) in enumerate(zip(reversed(four), riders[:4], strict=True), start=1):
        values = {"exercise": "steady_canter", "lot": "1", "place": str(2 * place), "rider": str(rider.pk)}
        order(horse.pk, DAY, values, who("trainer"))
    before = {horse: entry.values for horse, entry in orders(moments.now(), DAY).items()}
    assert planned(DAY, riders[1].pk).state == Job.State.DONE
    kept = plan_of(moments.now(), DAY, riders[1].pk)
    assert kept is not None
    assert take_lots(folder, DAY, kept.lots.plan, who("trainer")) == 1
    after = {horse: entry.values for horse, entry in orders(moments.now(), DAY).items()}
    changed = [horse for horse in after if after[horse] != before[horse]]
    assert changed == [four[2].pk]
    assert after[four[2].pk] == before[four[2].pk] | {"rider": riders[4].pk}


def test_who_is_new_in_a_lot_pushes_on_only_those_behind(string: list[Horse], folder: Path) -> None:
    """A horse put between two others takes a place after the first; the second is written only where it must move."""
    riders = [who("rider"), *(Person.objects.create(name=f"R. {n}", skill=4) for n in "AB")]
    for rider in riders[1:]:
        Post.objects.create(person=rider, role="rider")
    for horse, lot, place, rider in zip(string, (1, 1, 2), (2, 5, 1), riders, strict=True):
        values = {"exercise": "steady_canter", "lot": str(lot), "place": str(place), "rider": str(rider.pk)}
        order(horse.pk, DAY, values, who("trainer"))
    one, two, new = (horse.pk for horse in string)
    rides = (Ride(one, 1, riders[0].pk, 1), Ride(new, 1, riders[2].pk, 2), Ride(two, 1, riders[1].pk, 3))
    made = orders_as_planned(gather(folder, moments.now(), DAY), Plan(rides))
    assert {horse: work.place for horse, work in made.items()} == {one: 2, new: 3, two: 5}
    assert take_lots(folder, DAY, Plan(rides), who("trainer")) == 1


def test_what_went_out_as_planned_is_taken_already(string: list[Horse], hands: Hands, folder: Path) -> None:
    """A plan whose first lot pulled out as it has it can still be taken; one that has it otherwise is refused."""
    a, b, c = string
    rider, other = who("rider").pk, Person.objects.get(name="Q. Tallow").pk
    for horse, own, lot in ((a, rider, "1"), (b, other, "1"), (c, rider, "2")):
        order(horse.pk, DAY, {"exercise": "steady_canter", "lot": lot, "rider": str(own)}, who("trainer"))
    plan = Plan((Ride(a.pk, 1, rider, 1), Ride(b.pk, 1, other, 2), Ride(c.pk, 2, other, 1)))
    hands.to(hands.at + timedelta(minutes=6))
    with pytest.raises(LotsBrokenError):
        take_lots(folder, DAY, Plan((Ride(a.pk, 2, rider, 1), *plan.rides[1:])), who("trainer"))
    assert take_lots(folder, DAY, plan, who("trainer")) == 1
    assert take_lots(folder, DAY, plan, who("trainer")) == 0
