"""What the books' orders are in the routine's names, and which kind a horse is where nobody said it."""

from datetime import date

import pytest

from upsides.books.diary.work import EXERCISES, UNRIDDEN, Ordered
from upsides.books.queries.planned_work import order_like
from upsides.books.queries.work_kinds import back_in_work, kind_of
from upsides.condition.done.summary import Done, Week
from upsides.planning.work.settings import read_settings

ORDERS = read_settings().orders


@pytest.mark.parametrize(
    ("ordered", "name"),
    [
        (Ordered("hack_canter"), "hack_canter"),
        (Ordered("fast", furlongs=3.0), "fast_3f"),
        (Ordered("fast", furlongs=3.4, upsides=[7]), "fast_3_5f_upsides"),
        (Ordered("fast", furlongs=9.0), "fast_6f"),
        (Ordered("half_speed", upsides=[7]), "half_speed_upsides"),
    ],
)
def test_an_order_of_the_diary_is_the_nearest_of_the_routine(ordered: Ordered, name: str) -> None:
    """An order is the routine's of that exercise, the nearest in distance, in company where it was ordered so."""
    assert order_like(ordered, ORDERS) == name


def test_every_exercise_of_the_diary_is_an_order() -> None:
    """What can be ordered in the diary has a name in the routine."""
    assert all(order_like(Ordered(exercise), ORDERS) for exercise in EXERCISES)
    assert {one.exercise for one in ORDERS.values()} >= UNRIDDEN


@pytest.mark.parametrize(
    ("facts", "kind"),
    [
        ((2, False, 1200.0, None), "unraced_two_year_old"),
        ((2, True, 1200.0, None), "sprinter"),
        ((4, True, 1600.0, None), "miler"),
        ((4, True, 2000.0, None), "middle_distance"),
        ((4, True, 3200.0, None), "stayer"),
        ((5, True, 1200.0, 0), "returning"),
        ((3, False, None, None), "miler"),
    ],
)
def test_a_kind_is_told_by_age_trip_and_lay_up(facts: tuple[int, bool, float | None, int | None], kind: str) -> None:
    """Whoever comes back is returning; the young before their first race are that; else the race's distance tells."""
    age, raced, trip, back = facts
    assert kind_of(age, trip, back, raced=raced) == kind


@pytest.mark.parametrize(
    ("laid_up", "since", "back", "stage"),
    [
        (75, None, 0, "walking and trotting"),
        (None, 10, 70, "first works"),
        (None, 42, 102, "first works"),
        (None, 43, None, ""),
        (None, None, None, ""),
    ],
)
def test_who_was_laid_up_returns_by_stages(
    laid_up: int | None, since: int | None, back: int | None, stage: str
) -> None:
    """In a lay-up a horse begins at the first stage; for six weeks after its first fast work it is in the last one."""
    week = Week(0.0, 0.0, 0.0, 0.0)
    done = Done(0, date(2026, 3, 2), date(2026, 3, 2), (), week, None, None, 0, laid_up, None, since, 0, 0.0)
    assert back_in_work(done) == back
    if back is not None:
        assert read_settings().routine("returning").stage(back=back).name == stage
