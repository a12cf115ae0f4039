"""Vaccinations of runners on the day of their race, by dated rules of its country."""

from datetime import date, timedelta

import pytest

import worlds
from medicine_yard import boosted, dose, horse
from planned_races import a_race
from upsides.books import clock
from upsides.books.queries import moments
from upsides.books.queries.race_day_doses import DoseOnTheDay, doses_on
from upsides.rules import NONE
from upsides.web.programme.doses_words import doses_words

pytestmark = pytest.mark.django_db


def on(day: date, place: str, of: int = 0) -> tuple[DoseOnTheDay, ...]:
    race = a_race(day=day, jurisdiction=place)
    return doses_on(moments.now(), [(horse(of).pk, race)], NONE)[horse(of).pk]


def test_after_a_dose_days_are_kept_free_by_the_rule_of_the_country(loaded: worlds.Yard) -> None:
    """Dosed today, a horse may run in Britain from the eighth day on (BHA, 22 March 2024: not within seven days), in
    Ireland from the seventh (IHRB, 2019: six days free); before, that it may not is said, with the rule."""
    boosted(horse(), clock.today() - timedelta(days=150))
    dose(horse(), clock.today())
    for place, days in (("GB", 8), ("IE", 7)):
        found = next(one for one in on(clock.today() + timedelta(days=3), place) if one.disease == "equine influenza")
        assert (found.last, found.free_from) == (clock.today(), clock.today() + timedelta(days=days))
        words, by = doses_words([found], clock.today() + timedelta(days=3))[0]
        assert "it may not run before" in words
        assert found.off[0].rule.source in by
        later = doses_words([found], clock.today() + timedelta(days=days))[0][0]
        assert "it may run from" in later
        assert "says nothing of how it is" in later


def test_a_record_that_runs_out_before_the_race_is_told(loaded: worlds.Yard) -> None:
    """On a day that the record does not reach it is not in order as far as these rules know; where it does, by when the
    next dose is due; a dose of after the race counts for nothing; without any, to look in the passport."""
    last = clock.today() - timedelta(days=150)
    boosted(horse(), last)
    good, late = clock.today() + timedelta(days=5), clock.today() + timedelta(days=90)
    assert on(good, "GB")[0].due is not None
    assert on(good, "GB")[0].runs_until is not None
    assert "not in order on the day" in doses_words(on(late, "GB"), late)[0][0]
    assert on(last + timedelta(days=-1), "GB")[0].last != last
    assert "Look in the passport" in doses_words(on(good, "GB", 1), good)[0][0]
    assert doses_words(on(good, "GB"), good)[-1][0].endswith("ask the vet.")


def test_where_no_rule_is_known_it_says_so(loaded: worlds.Yard) -> None:
    """In a country of which no rule on vaccination is known nothing is promised: the code and the vet decide."""
    words = [one for one, _by in doses_words((), clock.today())]
    assert words[0] == "No rule on vaccination is known here for this country."
    assert words[1].endswith("ask the vet.")
