"""Races let go over a season: which reasons cost most, by the chances as they stood."""

from datetime import timedelta

import pytest

import worlds
from medicine_yard import boosted
from programmed_yard import a_chance, code_of, forget, keep_chances, marked, race, take
from upsides.books import clock
from upsides.books.models import Horse, LetGo, Person, Yard
from upsides.books.queries import let_go, moments
from upsides.books.queries.let_go import reasons_of, week_to_show
from upsides.books.services.let_go import write_let_go

pytestmark = pytest.mark.django_db


def passed(code: str, prize: float, win: float | None, reason: str, horse: int = 0, currency: str = "GBP") -> None:
    """Let a race be passed by a horse twenty days ago, and say why, where a reason is given."""
    day, at = clock.today() - timedelta(days=20), clock.now() - timedelta(days=26)
    known = {"prize": prize, "currency": currency, "chance": None if win is None else {"win": win}}
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
    assert reasons_of(moments.now(), day - timedelta(days=20), day) == [], "they closed six days before they were run"
    assert found == [("ground", 1, {"GBP": pytest.approx(1800.0)}), ("cost", 2, {"GBP": pytest.approx(600.0)}),
                     ("", 1, {})]  # fmt: skip
    assert reasons_of(moments.now(), day - timedelta(days=10), day) == []


def test_prizes_in_several_currencies_are_not_compared(loaded: worlds.Yard) -> None:
    """A million yen forgone is no more than two thousand pounds: the reason of two races stands before that of one."""
    passed("a", 5_000_000.0, 0.2, "ground", currency="JPY")
    passed("b", 9000.0, 0.1, "cost")
    passed("c", 9000.0, 0.1, "cost")
    passed("d", 1000.0, 0.5, "cost", currency="EUR")
    day = clock.today()
    found = reasons_of(moments.now(), day - timedelta(days=60), day)
    assert [(reason, count) for reason, count, _lost in found] == [("cost", 3), ("ground", 1)]
    assert list(found[0][2].items()) == [("EUR", pytest.approx(500.0)), ("GBP", pytest.approx(1800.0))]
    assert found[1][2] == {"JPY": pytest.approx(1_000_000.0)}


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
    there = clock.today() - timedelta(days=26)
    assert week_to_show(moments.now(), monday) == there, "the day on which entries closed"
    first = there - timedelta(days=there.weekday())
    assert week_to_show(moments.now(), first) == first


def test_a_race_is_written_as_it_stood_when_entries_closed_however_late(
    loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Entries closed two days on at noon; the evening job comes to them two days late, when the horse has another mark
    and another chance: the row has the weight and the chance of then, and stands in the week of then. Of a horse whose
    chance nobody had kept it is worked out from that moment too."""
    both = [one.pk for one in Horse.objects.order_by("pk")[:2]]
    Horse.objects.exclude(pk__in=both).update(left="2026-01-01", joined="2025-01-01")
    first, second = (marked(Horse.objects.get(pk=number)) for number in both)
    for one in (first, second):
        one.save()
        boosted(one, clock.today() - timedelta(days=30))
    forget(loaded.library)
    shut, runs = clock.today() + timedelta(days=2), clock.today() + timedelta(days=8)
    take(loaded.library, [race("1", "Sedge Handicap", runs, "Highest weight 9-11", Ages="3yo+", Band="0-110",
                               Enter=f"{shut} 12:00")])  # fmt: skip
    code = code_of(loaded.library, "Sedge Handicap")
    keep_chances(code, {first.pk: a_chance(win=(0.2, 0.1, 0.3))})
    asked: list[object] = []
    monkeypatch.setattr(let_go, "chances_in", lambda _folder, moment, *_told: asked.append(moment) or {})
    began = clock.now()
    Yard.objects.update(fixed_day=clock.today() + timedelta(days=4))
    for mark in first.marks.all():
        mark.value -= 20
        mark.save()
    keep_chances(code, {first.pk: a_chance(win=(0.9, 0.8, 0.95))})
    Horse.objects.get(pk=first.pk).save()
    assert write_let_go(loaded.library, moments.now(), began, clock.now()) == 2
    rows = {row.horse_id: row for row in LetGo.objects.all()}
    assert rows[first.pk].known["weight"] == rows[second.pk].known["weight"], "both had one mark when entries closed"
    assert rows[first.pk].known["chance"]["win"] == 0.2
    assert [(one.day, one.at is not None) for one in asked] == [(shut, True)]  # type: ignore[attr-defined]  # moments
    assert {one.closed for one in let_go.let_go(moments.now(), shut, shut)} == {shut}
    assert let_go.let_go(moments.now(), runs, runs) == []
