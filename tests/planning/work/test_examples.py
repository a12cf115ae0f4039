"""The worked examples of docs/planning.md, what must hold of each, and what any plan shows."""

from contextlib import suppress
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Final

import pytest

from planning.work.examples import EXAMPLES, MONDAY, brought_back, first_time_out, fortnight, missed, printed, sharpened
from planning.work.tiny_horses import PRICES, SETTINGS
from upsides.books.diary.work import ALLOWED
from upsides.errors import StoppedEarlyError, WorkClashError
from upsides.planning.solving import Watch
from upsides.planning.work.horse import Horse, Past, Plan, Race, Step, moved_on
from upsides.planning.work.orders import above
from upsides.planning.work.plans import adapt, plan_work
from upsides.planning.work.routine import Limit
from upsides.planning.work.said import plain
from upsides.planning.work.sentences import stages_told, told
from upsides.planning.work.shown import differences, weeks_shown
from upsides.planning.work.verifying import verify

PAGE: Final = Path(__file__).resolve().parents[3] / "docs" / "planning.md"


@pytest.mark.parametrize("title", EXAMPLES)
def test_the_page_prints_what_is_planned(title: str) -> None:
    """docs/planning.md shows each worked example as it is planned, proven and without a broken rule."""
    work = EXAMPLES[title]()
    assert work.proven
    assert verify(work.horse, work.plan, PRICES).broken == ()
    assert f"#### {title}\n\n{printed(work)}\n" in PAGE.read_text(encoding="utf-8")


def test_a_sprinters_fortnight_is_common_practice() -> None:
    """Fast work of 3 to 3.5 furlongs uphill, two days or more of canter between, long ones more. Common practice."""
    work = fortnight()
    orders = [work.horse.routine.orders[name] for name in work.plan.days]
    fast = [day for day, order in enumerate(orders) if order.fast]
    assert len(fast) == 4
    assert all(3.0 <= orders[day].fast_f <= 3.5 and orders[day].rise > 0 for day in fast)
    assert min(b - a for a, b in pairwise(fast)) >= 3
    long, hacked = (sum(one.exercise == word for one in orders) for word in ("steady_canter", "hack_canter"))
    assert long >= 2 * hacked
    assert not any(one.lesson for one in orders)


def test_the_vets_steps_are_kept_every_day() -> None:
    """Brought back by the vet's steps, a horse does nothing that the vet did not leave open; the vet is asked again."""
    work = brought_back()
    titles = {name: one.exercise for name, one in work.horse.routine.orders.items()}
    for day, name in enumerate(work.plan.days):
        assert titles[name] in (ALLOWED["walk"] if day <= 4 else ALLOWED["trot"])
    assert all(titles[name] not in {"half_speed", "fast"} for span in work.plan.later[:4] for name, _ in span.counts)
    assert any("ask the vet" in line for line in map(plain, told(work.horse, work.plan, PRICES)))


def test_a_first_time_two_year_old_has_its_lessons() -> None:
    """Three lessons stand before the first race although nobody rides on one of their days."""
    work = first_time_out()
    later = sum(span.of("stalls") for span in work.plan.later)
    assert work.plan.days.count("stalls") + later == 3


def test_a_gallop_that_is_shut_is_the_reason_told() -> None:
    """The day whose gallop is shut is told with that reason."""
    work = sharpened()
    (only,) = differences(work.horse, work.plan, PRICES)
    assert [reason.rule.kind for reason in only.reasons if reason.rule] == ["closed"]


def test_a_missed_day_changes_nothing_where_nothing_must() -> None:
    """After a missed day the nearest plan changes nothing, and says which race has no fast work before it."""
    near = adapt(missed(), PRICES)
    assert near.amounts.change == 0
    assert any("has no fast work" in line for line in map(plain, told(near.horse, near.plan, PRICES)))


def test_a_dragged_day_is_kept_and_the_rest_adapts() -> None:
    """Fast work dragged onto Wednesday stays there; Tuesday's gives way for the days between, and all else stands."""
    horse = Horse(1, MONDAY, SETTINGS.routine("sprinter"), (Race(24, 1200.0),))
    stood = plan_work(horse, PRICES)[0].plan.days
    dragged = replace(horse, stands=dict(enumerate(stood)), pins={2: "fast_3f"})
    found = adapt(dragged, PRICES)
    assert found.plan.days[2] == "fast_3f"
    changed = [day for day in range(10) if found.plan.days[day] != stood[day]]
    assert changed == [1, 2, 4]


def test_a_clash_is_told_in_words() -> None:
    """A race within what a vet forbids is a clash of the two, and says so."""
    horse = Horse(1, MONDAY, SETTINGS.routine("miler"), (Race(5, 1600.0),), steps=(Step(0, 8, ALLOWED["trot"]),))
    with pytest.raises(WorkClashError) as refused:
        plan_work(horse, PRICES)
    assert refused.value.rules == (("race", (1, 5)), ("vet", (1, 0)))
    assert refused.value.words[0] == "horse 1 runs on Sat 7 Mar"
    assert "any one of them" in str(refused.value)


def test_exposure_that_is_spent_adds_no_more() -> None:
    """Where past days have spent the trainer's metres, no fast work is planned until they leave the window."""
    past = (Past(-3, fast=True, metres=(*[0.0] * 28, 1000.0)),)
    horse = Horse(1, MONDAY, SETTINGS.routine("sprinter"), past=past, limits=(Limit(14.0, 7, 1000.0),))
    (found,) = plan_work(horse, PRICES)
    orders = horse.routine.orders
    assert not any(orders[name].fast for name in found.plan.days[:4])


def test_a_limit_gives_way_to_a_race() -> None:
    """A race that is longer than the trainer's metres is run all the same, with no more fast work, and it is told."""
    horse = Horse(1, MONDAY, SETTINGS.routine("sprinter"), (Race(5, 1200.0),), limits=(Limit(14.0, 7, 500.0),))
    (found,) = plan_work(horse, PRICES)
    orders = horse.routine.orders
    quick = [day for day, name in enumerate(found.plan.days) if above(orders[name].profile, 14.0) > 0 and day != 5]
    assert found.plan.days[5] == "race"
    assert not [day for day in quick if day <= 5]
    lines = [plain(one) for one in told(horse, found.plan, PRICES)]
    assert any("beyond 500 m at 14 m/s or faster in 7 days: the race is fixed" in line for line in lines)
    roomy = replace(horse, limits=(Limit(14.0, 7, 9000.0),))
    assert not any("the race is fixed, so the limit" in plain(one) for one in told(roomy, found.plan, PRICES))


def test_distances_by_speed_add_up() -> None:
    """A week's metres by speed are those of its orders and races, and so are its furlongs."""
    work = first_time_out()
    orders = work.horse.routine.orders
    for week in weeks_shown(work.horse, work.plan):
        metres = sum(n * orders[name].profile.sum() for name, n in week.orders.items() if name != "race")
        metres += sum(orders["race"].over(1000.0).sum() for name in week.orders.elements() if name == "race")
        assert week.metres.sum() == pytest.approx(metres)
        assert week.fast_f == pytest.approx(sum(n * orders[name].fast_f for name, n in week.orders.items()))


def test_stages_say_where_they_come_from() -> None:
    """Every stage on the way is told with its source, the taper as one found in people."""
    stayer = Horse(1, MONDAY, SETTINGS.routine("stayer"), (Race(24, 2800.0),))
    lines = [plain(one) for one in stages_told(stayer)]
    assert [line.split(": ")[1].split(" (")[0] for line in lines] == ["sharpening", "race week"]
    assert "people" in lines[1]


def test_same_facts_and_seed_give_the_same_plan() -> None:
    """Planning twice gives one plan."""
    horse = first_time_out().horse
    assert plan_work(horse, PRICES, 3, seed=5) == plan_work(horse, PRICES, 3, seed=5)


def test_a_stop_keeps_what_there_is() -> None:
    """Whoever stops at once has the plan that was there already and no second one, or is told that there is none."""
    horse = Horse(1, MONDAY, SETTINGS.routine("stayer"), (Race(40, 2800.0),), closed=frozenset({(1, 1)}))
    with suppress(StoppedEarlyError):
        assert len(plan_work(horse, PRICES, 3, watch=Watch(stop=lambda: True))) == 1


def test_a_horse_moves_on_with_all_its_days() -> None:
    """Two days later every fact lies on the date on which it lay, and what the plan had is what stands."""
    horse = Horse(
        1, MONDAY, SETTINGS.routine("sprinter"), (Race(1, 1000.0), Race(8, 1200.0)), (Past(-1),),
        (Step(2, 4, ALLOWED["walk"]),), closed=frozenset({(1, 3)}), unridden=frozenset({5}), pins={6: "off", 0: "off"},
        back=10,
    )  # fmt: skip
    plan = Plan(tuple("abcdefghij"))
    later = moved_on(horse, 2, plan)
    assert later.first.isoformat() == "2026-03-04"
    assert (later.races, later.past) == ((Race(6, 1200.0),), (Past(-3),))
    assert later.steps == (Step(0, 2, ALLOWED["walk"]),)
    assert (later.closed, later.unridden, later.pins) == (frozenset({(1, 1)}), frozenset({3}), {4: "off"})
    assert (later.back, later.stands[0], len(later.stands)) == (12, "c", 8)
