"""What changes of a plan that stands, day by day with its reason; and whether a plan is held to at all."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any, Final

import pytest

from planning.work.examples import dragged
from planning.work.tiny_horses import MONDAY, PRICES, SETTINGS
from upsides.books.diary.work import ALLOWED
from upsides.planning.rule import Rule
from upsides.planning.work.basis import basis, still_so
from upsides.planning.work.changed import better_told, changed_told, changes_of
from upsides.planning.work.horse import Horse, Past, Plan, Race, Step, moved_on
from upsides.planning.work.plans import adapt, plan_work
from upsides.planning.work.routine import Limit
from upsides.planning.work.said import plain
from upsides.planning.work.shared import Shared
from upsides.planning.work.shown import differences
from upsides.planning.work.string import StringWork, plan_string

SPRINTER: Final = Horse(1, MONDAY, SETTINGS.routine("sprinter"), (Race(24, 1200.0),), name="Almond")
STOOD: Final = dict(enumerate(plan_work(SPRINTER, PRICES)[0].plan.days))


def _told(horses: Sequence[Horse], plans: Sequence[Plan], found: StringWork | None = None) -> list[str]:
    pairs, shared = (found.pairs, found.shared) if found else ((), Shared())
    changes = changes_of(0, horses, plans, pairs, shared, PRICES)
    return [plain(changed_told(horses[0], one, shared)) for one in changes]


def test_a_moved_day_says_where_it_came_from_and_why_others_change() -> None:
    """Fast work moved from Friday to Saturday says so on both days; a day that gives way says the rule."""
    order, other = STOOD[4], STOOD[5]
    horse = replace(
        SPRINTER, stands=STOOD | {4: other, 5: order}, knew=STOOD, pins={5: order}, moved={5: 4}, least=True
    )
    plan = adapt(horse, PRICES).plan
    assert [day for day, name in STOOD.items() if plan.days[day] != name] == [4, 5]
    lines = _told([horse], [plan])
    assert len(lines) == 2
    departs = {one.first: one.reasons for one in differences(horse, plan, PRICES)}
    assert [reason.rule for reason in departs[4]] == [Rule("pin", (1, 5))], "the move is why it is not the routine's"
    assert lines[0].startswith("Fri 4 Dec: long steady canter, for its fast three and a half furlongs")
    assert lines[0].endswith("was moved by hand to Sat 5 Dec.")
    assert "moved there by hand from Fri 4 Dec; the plan before had long steady canter" in lines[1]


def test_a_day_off_that_is_moved_leaves_its_day() -> None:
    """A day off moved from Sunday to Saturday is exchanged with what stood there: the horse has one, not two.

    Moved to Wednesday the next seven days would be without one, so that Sunday's stays and says so by not changing.
    """
    near = adapt(dragged(SPRINTER, STOOD, 6, 5), PRICES).plan.days
    assert (near[5], near[6]) == ("off", STOOD[5])
    assert sum(name != STOOD[day] for day, name in enumerate(near)) == 2
    far = adapt(dragged(SPRINTER, STOOD, 6, 2), PRICES).plan.days
    assert [day for day, name in enumerate(far) if name != STOOD[day]] == [2]


def test_a_day_that_must_change_names_the_rule() -> None:
    """A gallop that is shut, or nobody to ride, is the reason of the one day that changes."""
    shut = replace(SPRINTER, stands=STOOD, unridden=frozenset({1}), least=True)
    lines = _told([shut], [adapt(shut, PRICES).plan])
    assert len(lines) == 1
    assert "Tue 1 Dec: walker, where the plan before had fast three furlongs" in lines[0]
    assert lines[0].endswith("because nobody rides Almond on Tue 1 Dec.")


def test_what_horses_share_is_a_reason_too() -> None:
    """Where a morning takes one less in fast work, the horse that gives way says the morning's limit."""
    two = [replace(SPRINTER, number=n, stands=STOOD, least=True) for n in (1, 2)]
    found = plan_string(two, Shared(workers={1: 1}), PRICES)
    assert (found.changes, found.least) == (1, 1)
    place = next(k for k, plan in enumerate(found.plans) if plan.days[1] != STOOD[1])
    order = [place, 1 - place]
    lines = _told([found.horses[k] for k in order], [found.plans[k] for k in order], found)
    assert lines[0].endswith("because no more than 1 does fast work on Tue 1 Dec.")


def test_partners_move_together() -> None:
    """Work upsides that is moved by hand takes the partner along, with as few days changed as that needs."""
    idle = SETTINGS.routine("miler")
    pair = [Horse(n, MONDAY, idle, figure=80.0, trip_m=1600.0, partners=True) for n in (1, 2)]
    stood = [dict(enumerate(plan.days)) for plan in plan_string(pair, Shared(), PRICES).plans]
    day = next(day for day, name in stood[0].items() if name.endswith("upsides"))
    swapped = stood[0] | {day: stood[0][day + 1], day + 1: stood[0][day]}
    moved = replace(pair[0], stands=swapped, knew=stood[0], pins={day + 1: stood[0][day]}, moved={day + 1: day},
                    beside={day + 1: frozenset({2})}, least=True)  # fmt: skip
    found = plan_string([moved, replace(pair[1], stands=stood[1], least=True)], Shared(), PRICES)
    assert found.plans[0].days[day + 1] == found.plans[1].days[day + 1] == stood[0][day]
    assert found.changes == 2, "both of the partner"
    lines = _told(found.horses[::-1], found.plans[::-1], found)
    assert lines[1].endswith(", to go with horse 1; the plan before had long steady canter.")


@pytest.mark.parametrize(
    ("since", "held"),
    [
        ({}, True),
        ({"past": (Past(-1, rest=True),)}, True),
        ({"pins": {3: "off"}, "closed": frozenset({(1, 0)}), "unridden": frozenset({2})}, True),
        ({"lessons": 1}, True),
        ({"lessons": 3}, False),
        ({"races": (Race(5, 1200.0), Race(23, 1200.0))}, False),
        ({"races": ()}, False),
        ({"steps": (Step(0, 3, ALLOWED["walk"]),)}, False),
        ({"routine": SETTINGS.routine("miler")}, False),
        ({"limits": (Limit(14.0, 7, 900.0),)}, False),
        ({"back": 10}, False),
    ],
)
def test_a_plan_is_held_to_while_it_was_made_for_what_is_so(since: dict[str, Any], held: bool) -> None:  # noqa: FBT001
    """A missed day or an order keep a plan; another race, the vet, a limit, a routine or a lay-up make it anew."""
    horse = replace(SPRINTER, lessons=2)
    later = replace(moved_on(horse, 1, Plan(tuple(STOOD.values()))), **since)
    assert still_so(basis(horse, PRICES), later, PRICES) is held
    assert not still_so(basis(later, PRICES), horse, PRICES), "a plan is not held to by a day before it"


def test_a_vets_step_that_goes_on_as_it_was_holds() -> None:
    """Until the vet's last day nothing new is known; when the vet ends it sooner, the plan is made anew."""
    held = replace(SPRINTER, steps=(Step(0, 5, ALLOWED["walk"]),))
    next_day = replace(held, first=MONDAY + timedelta(days=1), steps=(Step(0, 4, ALLOWED["walk"]),),
                       races=(Race(23, 1200.0),))  # fmt: skip
    assert still_so(basis(held, PRICES), next_day, PRICES)
    assert not still_so(basis(held, PRICES), replace(next_day, steps=(Step(0, 1, ALLOWED["walk"]),)), PRICES)


def test_a_better_plan_of_more_changed_days_is_told() -> None:
    """After an order by hand on the day of fast work the nearest plan has none; one more day changed has it again."""
    horse = replace(
        SPRINTER, races=(), stands=dict.fromkeys(range(10), "steady_canter") | {6: "off", 4: "fast_3_5f"}, least=True,
        pins={4: "walker"},
    )  # fmt: skip
    near, other = adapt(horse, PRICES), plan_work(horse, PRICES)[0]
    (line,) = map(plain, better_told(horse, near.plan, other.plan, PRICES))
    less = near.costs.total - near.costs.change - other.costs.total + other.costs.change
    more = round(other.amounts.change - near.amounts.change)
    assert less > 0
    assert line.startswith(f"With {more} more day")
    assert f"it would depart from the routine by {less:.1f} steps less: " in line
    for day, (old, new) in enumerate(zip(near.plan.days, other.plan.days, strict=True)):
        assert (horse.routine.orders[new].title in line) or old == new, day
    assert better_told(horse, other.plan, near.plan, PRICES) == ()
    assert better_told(horse, near.plan, near.plan, PRICES) == ()
