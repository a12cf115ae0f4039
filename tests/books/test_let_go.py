"""Races let go over a season: which reasons cost most, by the chances as they stood."""

from datetime import timedelta

import pytest

import worlds
from upsides.books import clock
from upsides.books.models import Horse, LetGo, Person
from upsides.books.queries import moments
from upsides.books.queries.let_go import reasons_of, week_to_show

pytestmark = pytest.mark.django_db


def passed(code: str, prize: float, win: float | None, reason: str, horse: int = 0) -> None:
    """Let a race be passed by a horse twenty days ago, and say why, where a reason is given."""
    day, at = clock.today() - timedelta(days=20), clock.now() - timedelta(days=26)
    known = {"prize": prize, "currency": "GBP", "chance": None if win is None else {"win": win}}
    of = {
        "horse": Horse.objects.order_by("pk")[horse],
        "race_code": code,
        "race": code,
        "course": "Larkmoor",
        "day": day,
    }
    LetGo.objects.create(**of, known=known, recorded_at=at)
    if reason:
        by = Person.objects.get(login="trainer")
        LetGo.objects.create(**of, known={}, recorded_at=at, by=by, reason=reason)


def test_the_reason_that_cost_most_stands_first(loaded: worlds.Yard) -> None:
    """Prizes by the chances of then, added up by hand: one race passed for the ground cost 0.2 of 9,000, two for the
    cost of getting there 0.1 of 3,000 each; of those passed without a word, or of which no chance was known, the count
    alone."""
    passed("a", 9000.0, 0.2, "ground")
    passed("b", 3000.0, 0.1, "cost")
    passed("c", 3000.0, 0.1, "cost")
    passed("d", 5000.0, None, "")
    day = clock.today()
    found = reasons_of(moments.now(), day - timedelta(days=60), day)
    assert found == [("ground", 1, {"GBP": pytest.approx(1800.0)}), ("cost", 2, {"GBP": pytest.approx(600.0)}),
                     ("", 1, {})]  # fmt: skip
    assert reasons_of(moments.now(), day - timedelta(days=10), day) == []


def test_a_race_that_many_passed_costs_what_the_best_of_them_might_have_earned(loaded: worlds.Yard) -> None:
    """A race of 9,000 passed by chances of 0.2, 0.2 and 0.1 cost 0.2 of 9,000, by hand 2/5, 2/5 and 1/5 of 1,800; a
    reason counts the race once.
    """
    for horse, (win, reason) in enumerate([(0.2, "ground"), (0.2, "ground"), (0.1, "cost")]):
        passed("a", 9000.0, win, reason, horse)
    day = clock.today()
    assert reasons_of(moments.now(), day - timedelta(days=60), day) == [
        ("ground", 1, {"GBP": pytest.approx(1440.0)}), ("cost", 1, {"GBP": pytest.approx(360.0)}),
    ]  # fmt: skip


def test_the_page_opens_where_something_was_let_go(loaded: worlds.Yard) -> None:
    """A week without any gives way to that of the races written last; a week that has some stands; without any, as it
    is.
    """
    monday = clock.today() - timedelta(days=clock.today().weekday())
    assert week_to_show(moments.now(), monday) == monday
    passed("a", 9000.0, 0.2, "")
    there = clock.today() - timedelta(days=20)
    assert week_to_show(moments.now(), monday) == there
    first = there - timedelta(days=there.weekday())
    assert week_to_show(moments.now(), first) == first
